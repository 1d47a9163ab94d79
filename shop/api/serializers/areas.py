"""Limits of places, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import Area
from shop.bridge.areas import Room
from shop.models import AreaLimit

from .fields import TermField


def _large() -> serializers.IntegerField:
    """Return a field for what a whole building may hold; the operation bounds it."""
    return serializers.IntegerField(required=False, allow_null=True, min_value=1, max_value=10**15)


class AreaLimitIn(serializers.Serializer[Any]):
    """What a kind of place may hold, and who says so; what is left out has no limit."""

    area = TermField(Area)
    energy_mwh = _large()
    mass_mg = _large()
    volume_mm3 = _large()
    said_by = serializers.CharField(max_length=300)


class AreaLimitOut(serializers.ModelSerializer[AreaLimit]):
    """Limits that were set."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = AreaLimit
        fields = ["id", "area", "energy_mwh", "mass_mg", "volume_mm3", "said_by", "at", "by"]


class FilledOut(serializers.Serializer[Any]):
    """One bulk of a place: how much is counted, of how much, and in words what could not be counted."""

    bulk = serializers.CharField()
    amount = serializers.DecimalField(max_digits=24, decimal_places=3)
    limit = serializers.DecimalField(max_digits=24, decimal_places=3, allow_null=True)
    room = TermField(Room)
    uncounted = serializers.ListField(child=serializers.CharField())


class PlaceOut(serializers.Serializer[Any]):
    """One kind of place and how full it is; amounts in the unit that the bulk names."""

    area = TermField(Area)
    filled = FilledOut(many=True)
