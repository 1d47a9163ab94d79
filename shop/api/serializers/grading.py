"""Criteria of grades and readings of new cells, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import CellProtection
from shop.models import CellModel, GradeCriteria, NewCell

from .fields import TermField, number, sure, whole


class CriteriaIn(serializers.Serializer[Any]):
    """A whole version of the criteria: every number by its key, in the unit its key names, and why."""

    values = serializers.DictField(child=number())
    reason = serializers.CharField(max_length=300)


class CriteriaOut(serializers.Serializer[Any]):
    """The criteria that count now; version 0 is what counts until the shop sets its own."""

    version = serializers.IntegerField()
    values = serializers.DictField(child=number())


class CriteriaSet(serializers.ModelSerializer[GradeCriteria]):
    """A version that was set."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = GradeCriteria
        fields = ["number", "facts", "reason", "at", "by"]


class NewCellIn(serializers.Serializer[Any]):
    """What a new cell of a model reads."""

    cell_model = serializers.SlugRelatedField(slug_field="name", queryset=CellModel.objects.all())
    dc_resistance_uohm = whole()
    method = serializers.CharField(max_length=80)
    temperature_mdegc = serializers.IntegerField(min_value=-1_000_000, max_value=1_000_000)
    protection = TermField(CellProtection, default=CellProtection.UNKNOWN)
    source = serializers.CharField(max_length=160)  # type: ignore[assignment]  # DRF has one of its own
    sure = sure()


class NewCellOut(serializers.ModelSerializer[NewCell]):
    """What a new cell of a model reads, as it was stated."""

    cell_model = serializers.CharField(source="cell_model.name", read_only=True)
    protection = TermField(CellProtection)
    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = NewCell
        fields = ["cell_model", "dc_resistance_uohm", "method", "temperature_mdegc", "protection", "source", "at", "by"]
