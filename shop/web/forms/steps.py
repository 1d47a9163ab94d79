"""Forms of the steps: every reading asks for its unit as people type it and shows its limit beside the field."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from django import forms

from packs.terms import Condition, JointMethod, Measure
from shop.bridge import rules
from shop.models import Instrument
from shop.operations.proving import ChargeLine
from shop.operations.rebuild import StripJoined

from .base import QuantityField, ShopForm, TermField

LOOKS = 3


def _limited(field: forms.Field, limit: str) -> forms.Field:
    """Give a field the limit that stands beside it."""
    field.limit = limit  # type: ignore[attr-defined]
    return field


class InstrumentForm(ShopForm):
    """A form whose readings are taken with one meter."""

    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Meter", empty_label="no meter named"
    )


class RemoveCellForm(ShopForm):
    """One cell, or several alike, leaving the old pack."""

    rest_voltage = QuantityField.of(
        Measure.REST_VOLTAGE, required=False, label="Voltage at its ends", help_text="such as 3.41 V; 0 V is a finding"
    )
    condition = TermField(Condition, label="What it looks like", initial=Condition.INTACT.value)
    count = forms.IntegerField(min_value=1, initial=1, label="How many alike")


class PlaceForm(ShopForm):
    """A cell's code, typed or scanned."""

    code = forms.CharField(label="Cell code", widget=forms.TextInput(attrs={"autocomplete": "off", "data-scan": ""}))


class RestVoltagesForm(InstrumentForm):
    """One rest voltage per cell position."""

    def __init__(self, *args: Any, positions: Sequence[tuple[str, str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = {}
        for name, code, limit in positions:
            field = QuantityField.of(Measure.REST_VOLTAGE, required=False, label=f"{name} {code}")
            field.numbers = self.numbers
            key = f"v_{name.replace('.', '_')}"
            self.fields[key] = _limited(field, limit)
            self.names[key] = name

    def voltages(self) -> dict[str, Decimal]:
        """Return what was typed, by position."""
        given = ((name, self.cleaned_data[key]) for key, name in self.names.items())
        return {name: value for name, value in given if value is not None}

    def rows(self) -> Iterator[forms.BoundField]:
        """Yield the voltage fields in the order of the positions."""
        return (self[key] for key in self.names)


class PointsForm(InstrumentForm):
    """One voltage per numbered point: taps or groups."""

    def add_points(self, word: str, limits: Sequence[str], measure: Measure = Measure.VOLTAGE) -> None:
        """Add one field per point, named by the word and its number."""
        self.points = [f"{word}_{number}" for number in range(1, len(limits) + 1)]
        for number, (key, limit) in enumerate(zip(self.points, limits, strict=True), start=1):
            field = QuantityField.of(measure, required=False, label=f"{word.capitalize()} {number}")
            field.numbers = self.numbers
            self.fields[key] = _limited(field, limit)

    def point_values(self) -> list[Decimal | None]:
        """Return what was typed, in order, None where nothing was."""
        return [self.cleaned_data[key] for key in self.points]

    def rows(self) -> Iterator[forms.BoundField]:
        """Yield the point fields in order."""
        return (self[key] for key in self.points)


class TapsForm(PointsForm):
    """Every tap from the negative end."""

    def __init__(self, *args: Any, limits: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_points("tap", limits)


class JoinForm(ShopForm):
    """Weld spots per joint on every strip, tries that failed, the peel sample and the second look."""

    peel_sample_held = forms.BooleanField(
        required=False,
        label="Today's peel sample held: on scrap of the same strip and can, the strip tore and the nugget stayed",
    )
    second_look = forms.BooleanField(
        required=False, label="Polarity and insulators looked at a second time, against the drawing"
    )

    def __init__(self, *args: Any, strips: Sequence[tuple[int, str]], method: JointMethod, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.strips = strips
        self.welded = method is JointMethod.SPOT_WELD
        for number, label in strips:
            self.fields[f"done_{number}"] = forms.BooleanField(required=False, label=label)
            self.fields[f"spots_{number}"] = forms.IntegerField(
                min_value=1 if self.welded else 0, initial=4 if self.welded else 0, label="Spots per joint"
            )
            self.fields[f"failed_{number}"] = forms.IntegerField(min_value=0, initial=0, label="Joints made again")

    def joined(self) -> list[StripJoined]:
        """Return the strips that are on."""
        return [
            StripJoined(
                strip=number,
                spots=self.cleaned_data[f"spots_{number}"],
                failed=self.cleaned_data[f"failed_{number}"],
            )
            for number, _ in self.strips
            if self.cleaned_data[f"done_{number}"]
        ]

    def rows(self) -> Iterator[tuple[forms.BoundField, forms.BoundField, forms.BoundField]]:
        """Yield the three fields of each strip."""
        return ((self[f"done_{n}"], self[f"spots_{n}"], self[f"failed_{n}"]) for n, _ in self.strips)


class HousingForm(ShopForm):
    """What is looked at before the case is shut; each is one rule."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for rule, words in rules.housing_questions():
            self.fields[rule] = forms.BooleanField(required=False, label=words)

    def confirmed(self) -> dict[str, bool]:
        """Return what was confirmed, by rule."""
        return {rule: self.cleaned_data[rule] for rule in self.fields}


class FirstChargeForm(PointsForm):
    """The first charge: who stays beside it, what the charger shows, looks at intervals, groups at the end."""

    supervised_by = forms.CharField(required=False, label="Who stays beside it")
    charger_voltage = QuantityField.of(Measure.VOLTAGE, label="Charger, no load")

    def __init__(self, *args: Any, group_limits: Sequence[str], limits: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for look in range(1, LOOKS + 1):
            first = look == 1
            self.fields[f"minutes_{look}"] = forms.IntegerField(
                min_value=0, required=first, label="Minutes", initial=0 if first else None
            )
            for key, measure, label in (
                ("pack", Measure.VOLTAGE, "Pack"),
                ("current", Measure.CURRENT, "Current"),
                ("hottest", Measure.TEMPERATURE, "Hottest spot"),
            ):
                field = QuantityField.of(measure, required=first, label=label)
                field.numbers = self.numbers
                self.fields[f"{key}_{look}"] = _limited(field, limits.get(key, ""))
        _limited(self.fields["charger_voltage"], limits.get("charger", ""))
        self.add_points("group", group_limits)

    def looks(self) -> Iterator[list[forms.BoundField]]:
        """Yield the fields of each look."""
        return (
            [self[f"{key}_{look}"] for key in ("minutes", "pack", "current", "hottest")] for look in range(1, LOOKS + 1)
        )

    def clean(self) -> dict[str, Any]:
        """A look at the pack is written down whole or not at all."""
        cleaned = super().clean() or self.cleaned_data
        for look in range(2, LOOKS + 1):
            keys = [f"{key}_{look}" for key in ("minutes", "pack", "current", "hottest")]
            given = [key for key in keys if cleaned.get(key) is not None]
            for key in keys:
                if given and key not in given and key not in self.errors:
                    self.add_error(key, "This look is not complete.")
        return cleaned

    def lines(self) -> list[ChargeLine]:
        """Return the looks that were taken."""
        return [
            ChargeLine(
                minutes=self.cleaned_data[f"minutes_{look}"],
                pack_voltage_mv=self.cleaned_data[f"pack_{look}"],
                current_ma=self.cleaned_data[f"current_{look}"],
                hottest_mdegc=self.cleaned_data[f"hottest_{look}"],
            )
            for look in range(1, LOOKS + 1)
            if self.cleaned_data[f"minutes_{look}"] is not None
        ]


class FinalTestForm(PointsForm):
    """What the finished pack gives."""

    capacity = QuantityField.of(Measure.CAPACITY, required=False, label="Capacity delivered")
    conditions = forms.CharField(
        required=False, label="At which current, down to what, how warm", help_text="such as 0.2 C to 12.0 V at 22 °C"
    )
    pack_rest = QuantityField.of(Measure.REST_VOLTAGE, required=False, label="Pack at rest")

    def __init__(
        self, *args: Any, group_limits: Sequence[str], limits: dict[str, str], outlet: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        for key, limit in limits.items():
            if key in self.fields:
                _limited(self.fields[key], limit)
        if outlet:
            field = QuantityField.of(Measure.VOLTAGE, required=False, label="Outlet under load")
            field.numbers = self.numbers
            self.fields["outlet"] = _limited(field, limits.get("outlet", ""))
        self.add_points("group", group_limits, Measure.REST_VOLTAGE)
