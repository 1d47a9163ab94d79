"""Fields that say at once, beside the field, what the operations refuse as well: a value nobody meets on this bench."""

from decimal import Decimal
from typing import Any

from django import forms

from packs.errors import ParseError
from shop.bridge.possible import STATED, Bound, arrangement_doubt
from shop.bridge.topology import Arrangement, arrangement_typed

from .base import QuantityField


class PossibleField(QuantityField):
    """A quantity inside a bound."""

    def __init__(self, bound: Bound, *, typed_unit: str | None = None, **kwargs: Any) -> None:
        typed_unit = bound.typed_unit if typed_unit is None else typed_unit
        super().__init__(bound.kind, bound.unit, typed_unit=typed_unit, **kwargs)
        self.bound = bound

    @classmethod
    def stated(cls, column: str, **kwargs: Any) -> "PossibleField":
        """Return the field for a column of what is stated, stored as a whole number where nothing else is said."""
        return cls(STATED[column], **({"whole": True} | kwargs))

    def clean(self, value: Any) -> Decimal | int | None:
        """Return the value in the stored unit, or None where an optional field is empty."""
        stored = super().clean(value)
        if stored is not None and (doubt := self.bound.doubt(stored)):
            raise forms.ValidationError(doubt, code="impossible_value")
        return stored


class ArrangementField(forms.CharField):
    """An arrangement as the trade writes it, such as 4s2p."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "size": 8}))
        kwargs.setdefault("help_text", "groups in series, cells in parallel in each: such as 4s2p")
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Arrangement | None:
        """Return the arrangement, or None where an optional field is empty."""
        text = super().clean(value)
        if not text:
            return None
        try:
            arrangement = arrangement_typed(text)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        if doubt := arrangement_doubt(arrangement.series, arrangement.parallel):
            raise forms.ValidationError(doubt, code="impossible_value")
        return arrangement
