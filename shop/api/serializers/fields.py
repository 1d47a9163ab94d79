"""Fields that several serializers use."""

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from packs.terms import Term
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.models import Cell
from shop.operations import photographs

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


class Named(serializers.SlugRelatedField[Any]):
    """A row by its name or code."""

    default_error_messages = {
        "does_not_exist": "“{value}” is not in the book.",
        "invalid": "Send its name or code as text.",
    }


class Numbered(serializers.PrimaryKeyRelatedField[Any]):
    """A row by its number."""

    default_error_messages = {
        "does_not_exist": "Nothing with the number {pk_value} is in the book.",
        "incorrect_type": "Send its number.",
    }


class CellCode(Named):
    """A cell by its code, in small or large letters as a scanner sends it."""

    def __init__(self, **options: Any) -> None:
        super().__init__(slug_field="code", queryset=Cell.objects.all(), **options)

    def to_internal_value(self, data: Any) -> Cell:
        """Return the cell."""
        cell = Cell.objects.coded(data) if isinstance(data, str) else None
        found: Cell = cell if cell is not None else super().to_internal_value(data)
        return found


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
    """The version of the job that the caller has read; without it the newest counts, but where steps were given up."""

    version = serializers.IntegerField(required=False, min_value=1, max_value=2_000_000_000)


class PictureField(serializers.FileField):
    """A photograph as JPEG, PNG or HEIC; what is kept is a JPEG without anything beside the picture."""

    def to_internal_value(self, data: Any) -> Picture:  # type: ignore[override]  # what is kept of the file
        """Return the picture that is kept, or say why it cannot be."""
        file = super().to_internal_value(data)
        if file.size > photographs.LARGEST:
            raise serializers.ValidationError(f"Up to {photographs.LARGEST // 1024**2} MB come in.")
        try:
            return photographs.look_at(file.read())
        except ShopError as error:
            raise serializers.ValidationError(error.message) from error
