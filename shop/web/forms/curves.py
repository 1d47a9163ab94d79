"""Fields for curves: of a fuse as its data sheet prints it, of a discharge as a tester wrote it down."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms

from packs.errors import ParseError
from packs.terms import Measure
from packs.units import Kind, NumberFormat, amount, of, parse, show, to, ureg

Points = list[list[int]]


class CurveField(forms.CharField):
    """Currents with their times, such as ``20 A 5 s; 60 A 100 ms``; the value is in mA and µs."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}))
        super().__init__(**({"required": False, "max_length": 400} | kwargs))
        self.numbers: NumberFormat | None = None

    def clean(self, value: Any) -> Points:
        """Return the points, none where the field is empty."""
        return [self._point(text) for text in super().clean(value).split(";") if text.strip()]

    def _point(self, text: str) -> list[int]:
        words = text.split()
        if len(words) != 4:
            raise forms.ValidationError(
                f"“{text.strip()}” is no current with its time. Write points such as 20 A 5 s; 60 A 100 ms.",
                code="unreadable",
            )
        try:
            current = parse(" ".join(words[:2]), Kind.CURRENT, default_unit="A", numbers=self.numbers)
            time = parse(" ".join(words[2:]), Kind.TIME, default_unit="s", numbers=self.numbers)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        return [int(amount(current, "milliampere")), int(amount(time, "us"))]


class DischargeField(forms.CharField):
    """Charge drawn with the voltage of the pack, a point a line, such as ``500 15.9``; the value is in mAh and mV."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 4, "autocomplete": "off", "spellcheck": "false"}))
        super().__init__(**({"required": False, "max_length": 100_000} | kwargs))
        self.numbers: NumberFormat | None = None

    def clean(self, value: Any) -> list[tuple[Decimal, Decimal]]:
        """Return the points, none where the field is empty."""
        lines = re.split(r"[\n;]", super().clean(value))
        return [self._point(text) for text in lines if text.strip()]

    def _point(self, text: str) -> tuple[Decimal, Decimal]:
        found = POINT.fullmatch(text.strip())
        if found is None:
            raise forms.ValidationError(
                f"“{text.strip()[:40]}” is no charge with its voltage. Write a point a line, such as 500 mAh 15.9 V.",
                code="unreadable",
            )
        try:
            charge = parse(found["charge"], Kind.CAPACITY, default_unit="mAh", numbers=self.numbers)
            volts = parse(found["volts"], Kind.VOLTAGE, default_unit="V", numbers=self.numbers)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        return to(Measure.CAPACITY, charge), to(Measure.VOLTAGE, volts)


POINT = re.compile(r"(?P<charge>[0-9.,]+ ?[A-Za-z]*)[\s:]+(?P<volts>[0-9.,]+ ?[A-Za-z]*)")
"""Two numbers, each with its unit or without, and what a table puts between them."""


def written(points: Sequence[Sequence[int]] | None, *, locale: str) -> str:
    """Return a curve as somebody would type it."""
    return "; ".join(
        f"{show(of(Measure.CURRENT, ma), locale=locale)} {show(ureg.Quantity(us / 1000, 'ms'), locale=locale)}".replace(
            "\N{NARROW NO-BREAK SPACE}", " "
        )
        for ma, us in points or ()
    )
