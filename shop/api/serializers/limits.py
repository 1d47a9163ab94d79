"""Limits of the shop and written exceptions, as the API takes and tells them."""

from typing import Any

from rest_framework import serializers

from packs.terms import Severity, Stage
from shop.models import ShopLimit, WrittenException

from .fields import Numbered, TermField, Versioned, number


class LimitIn(serializers.Serializer[Any]):
    """A limit of the shop's own; without a value it is what the catalogue says again."""

    rule_id = serializers.CharField(max_length=60)
    value = number(required=False)
    reason = serializers.CharField(max_length=300)


class LimitOut(serializers.Serializer[Any]):
    """One rule as it counts now."""

    rule_id = serializers.CharField()
    stage = TermField(Stage)
    quantity = serializers.CharField()
    asks = serializers.CharField()
    severity = TermField(Severity)
    source = serializers.CharField()  # type: ignore[assignment]  # DRF has one of its own
    applies = serializers.CharField()
    settable = serializers.CharField()
    catalogue = serializers.CharField()
    acceptable = serializers.BooleanField()
    no_exception = serializers.CharField()


class LimitsOut(serializers.Serializer[Any]):
    """Every rule as it counts now, with the version of the rule set."""

    rule_set = serializers.CharField()
    rules = LimitOut(many=True)


class LimitSet(serializers.ModelSerializer[ShopLimit]):
    """A limit that was set."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = ShopLimit
        fields = ["number", "rule_id", "old", "new", "own", "reason", "at", "by"]


class ExceptionIn(Versioned):
    """Which rule is accepted as it is, and why."""

    rule_id = serializers.CharField(max_length=60)
    reason = serializers.CharField(max_length=400)


class WithdrawIn(Versioned):
    """Which exception counts no more, and why."""

    exception = Numbered(queryset=WrittenException.objects.all())
    reason = serializers.CharField(max_length=400)
