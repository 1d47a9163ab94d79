"""Fields for money, shares and expected lives: exact decimals as people type them."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Self

from django import forms

from packs.errors import ParseError
from packs.units import NumberFormat, parse_number
from shop.bridge.possible import STATED, Bound


def as_typed(known: Mapping[str, object], numbers: NumberFormat) -> dict[str, object]:
    """Return what is known with every decimal as somebody would type it, without the zeros behind it."""
    mark = numbers.decimal or "."
    return {
        name: f"{value.normalize():f}".replace(".", mark) if isinstance(value, Decimal) else value
        for name, value in known.items()
    }


class NumberField(forms.CharField):
    """A number without a unit, zero or above, read exactly as the shop writes numbers."""

    expected = "a number such as 2.5"
    numbers: NumberFormat | None = None

    def __init__(self, *, typed_unit: str = "", bound: Bound | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.typed_unit, self.bound = typed_unit, bound

    @classmethod
    def stated(cls, column: str, **kwargs: Any) -> Self:
        """Return the field for a column of what is stated."""
        return cls(bound=STATED[column], **kwargs)

    def clean(self, value: Any) -> Decimal | None:
        """Return the number, or None where an optional field is empty."""
        text = super().clean(value)
        if not text:
            return None
        try:
            number = parse_number(text, expected=self.expected, numbers=self.numbers)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        if self.bound and (doubt := self.bound.doubt(number)):
            raise forms.ValidationError(doubt, code="impossible_value")
        return number


class MoneyField(NumberField):
    """An amount in the shop's currency."""

    expected = "an amount such as 12.50"
