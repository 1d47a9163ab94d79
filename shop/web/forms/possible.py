"""Fields that notice a slipped unit: a value nobody meets on this bench is a typing fault, not a fact."""

from decimal import Decimal
from typing import Any

from django import forms

from packs.errors import ParseError
from packs.units import Kind, Quantity, show, ureg
from shop.bridge.topology import Arrangement, arrangement_typed

from .base import QuantityField

MOST_CELLS = 1000
"""More cells than one bench rebuilds; common practice, no source."""

MOST_MV = 1_500_000
"""Upper end of low voltage for direct current (Directive 2014/35/EU, article 1; from memory)."""

MOST_MA = 1_000_000
MOST_MAH = 1_000_000
MOST_WIDTH_UM = 100_000
MOST_THICKNESS_UM = 5_000
"""Further than any pack, strip or bar on this bench goes; common practice, no source."""


class PossibleField(QuantityField):
    """A quantity above zero, or from zero on, and not beyond what a bench meets; ``most`` is in the stored unit."""

    def __init__(self, *args: Any, most: int, zero: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.most, self.zero = most, zero

    def clean(self, value: Any) -> Decimal | int | None:
        """Return the value in the stored unit, or None where an optional field is empty."""
        stored = super().clean(value)
        if stored is None or 0 < stored <= self.most or (self.zero and stored == 0):
            return stored
        low = "from 0" if self.zero else "above 0"
        raise forms.ValidationError(
            f"{show(self._quantity(stored), self.kind)} cannot be right: expected is {low} "
            f"up to {show(self._quantity(self.most), self.kind)}. Check the number and its unit.",
            code="impossible",
        )

    def _quantity(self, stored: Decimal | int) -> Quantity:
        quantity: Quantity = ureg.Quantity(float(stored), self.unit)
        return quantity


def length_field(*, most: int, **kwargs: Any) -> PossibleField:
    """Return a field for a length in millimetres, stored in whole micrometres."""
    return PossibleField(Kind.LENGTH, "um", typed_unit="mm", whole=True, most=most, **kwargs)


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
        if arrangement.cells > MOST_CELLS:
            raise forms.ValidationError(
                f"{arrangement} is {arrangement.cells} cells; up to {MOST_CELLS} can be put on one job.",
                code="impossible",
            )
        return arrangement
