"""Fields that several serializers use."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from packs.terms import Term

GROUPS = "Numbers of the groups that a repair replaces, from the negative end; for that kind of job alone."


class TermField(serializers.ChoiceField):
    """One word of a closed list; its value in JSON, the term in Python."""

    def __init__(self, terms: type[Term], **options: Any) -> None:
        self.terms = terms
        super().__init__(choices=[(term.value, term.label) for term in terms], **options)

    def to_internal_value(self, data: Any) -> Term | str:
        """Return the term; where the field may stay blank, nothing."""
        value = super().to_internal_value(data)
        return self.terms(value) if value else ""


def number(*, places: int = 3, **options: Any) -> serializers.DecimalField:
    """Return a field for an exact number in a stored unit; NaN and infinity are refused."""
    options.setdefault("min_value", Decimal("-1e9"))
    options.setdefault("max_value", Decimal("1e9"))
    return serializers.DecimalField(max_digits=14, decimal_places=places, coerce_to_string=True, **options)


def whole(**options: Any) -> serializers.IntegerField:
    """Return a field for a whole number that a column can hold."""
    options.setdefault("min_value", 0)
    return serializers.IntegerField(max_value=2_000_000_000, **options)


def sure() -> serializers.BooleanField:
    """Return the field that says of values hardly any cell has, which are asked back, that they are true."""
    return serializers.BooleanField(default=False)


class Versioned(serializers.Serializer[Any]):
    """The version of the job that the caller has read; without it the newest counts."""

    version = serializers.IntegerField(required=False, min_value=1, max_value=2_000_000_000)
