"""Forms of the steps that prove the pack."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms

from packs.terms import Measure
from shop.bridge import rules
from shop.bridge.possible import READ
from shop.models import Plan
from shop.operations.proving import ChargeLine

from .base import QuantityField, ShopForm
from .curves import DischargeField
from .readings import PointsForm, due

LOOKS, MORE_LOOKS = 3, 12
"""Looks at a charging pack that the page shows at once, and how many it has room for."""

LOOK = (
    ("pack", Measure.VOLTAGE, "Pack"),
    ("current", Measure.CURRENT, "Current"),
    ("hottest", Measure.TEMPERATURE, "Hottest spot"),
)


LOAD = (
    ("load_current", Measure.CURRENT, "Load"),
    ("load_pack", Measure.VOLTAGE, "Pack after 10 s of it"),
    ("load_joint", Measure.VOLTAGE, "Largest drop at a joint"),
    ("load_hottest", Measure.TEMPERATURE, "Hottest spot"),
)
"""What is read under load, in the order of ``rules.LOADED``."""


class HousingForm(ShopForm):
    """What is looked at before the case is shut; each is one rule."""

    def __init__(self, *args: Any, plan: Plan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for rule, words in rules.housing_questions(plan):
            self.fields[rule] = forms.BooleanField(required=False, label=words)
        self.rules = tuple(self.fields)
        self.fields["metal"] = forms.BooleanField(
            required=False, label="There is touchable metal at the case: insulation is measured at the final test"
        )

    def confirmed(self) -> dict[str, bool]:
        """Return what was confirmed, by rule."""
        return {rule: self.cleaned_data[rule] for rule in self.rules}

    def rows(self) -> Iterator[forms.BoundField]:
        """Yield the ticks that have to be set."""
        return (self[rule] for rule in self.rules)


class FirstChargeForm(PointsForm):
    """The first charge: who stays beside it, what the charger shows, looks at intervals, groups at the end."""

    supervised_by = due(forms.CharField(required=False, max_length=100, label="Who stays beside it"))
    charger_voltage = QuantityField.of(Measure.VOLTAGE, label="Charger, no load")
    charged_with = forms.CharField(
        required=False, max_length=60, label="Which charger", help_text="its name on the bench; a recall asks for it"
    )

    def __init__(
        self,
        *args: Any,
        groups: int,
        limits: Mapping[str, str],
        nickel: bool = False,
        middle: bool = True,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        due(self.fields["charger_voltage"], limits.get("charger", ""))
        if nickel:
            self.fields["ends_itself"] = forms.BooleanField(
                required=False, label=rules.words_of("first_charge.ends_itself")
            )
        for look in range(1, MORE_LOOKS + 1):
            self._add_look(look, limits)
        self.middle = [f"{rules.MID}group {number}".replace(" ", "_") for number in range(1, groups + 1) if middle]
        for number, key in enumerate(self.middle, start=1):
            self.add_reading(key, Measure.VOLTAGE, f"Group {number} in the middle")
        self.add_points("group", [""] * groups)
        self.fields["stopped_because"] = forms.CharField(
            required=False,
            max_length=200,
            label="Stopped early because",
            help_text="empty where it went to its end; the next charge is another try",
        )

    def _add_look(self, look: int, limits: Mapping[str, str]) -> None:
        first = look == 1
        minutes = forms.IntegerField(min_value=0, required=first, label="Minutes", initial=0 if first else None)
        self.fields[f"minutes_{look}"] = due(minutes)
        for key, measure, label in LOOK:
            self.add_reading(f"{key}_{look}", measure, label, limit=limits.get(key, ""), required=first)

    def looks(self) -> Iterator[tuple[int, list[forms.BoundField]]]:
        """Yield the looks that the page shows at once."""
        return ((look, self._look(look)) for look in range(1, LOOKS + 1))

    def more_looks(self) -> Iterator[tuple[int, list[forms.BoundField]]]:
        """Yield the looks there is room for besides."""
        return ((look, self._look(look)) for look in range(LOOKS + 1, MORE_LOOKS + 1))

    def middle_rows(self) -> Iterator[forms.BoundField]:
        """Yield the voltages at mid-charge."""
        return (self[key] for key in self.middle)

    def middle_values(self) -> list[Decimal | None]:
        """Return what was typed of the groups at mid-charge, in order."""
        return [self.cleaned_data[key] for key in self.middle]

    def more_looks_used(self) -> bool:
        """Return whether something stands in them already."""
        return any(field.value() not in (None, "") for _, fields in self.more_looks() for field in fields)

    def _look(self, look: int) -> list[forms.BoundField]:
        return [self[key] for key in self._keys(look)]

    def _keys(self, look: int) -> list[str]:
        return [f"minutes_{look}", *(f"{key}_{look}" for key, _, _ in LOOK)]

    def clean(self) -> dict[str, Any]:
        """A look at the pack is written down whole or not at all."""
        cleaned = super().clean() or self.cleaned_data
        for look in range(2, MORE_LOOKS + 1):
            keys = self._keys(look)
            given = [key for key in keys if cleaned.get(key) is not None]
            for key in keys:
                if given and key not in given and key not in self.errors:
                    self.add_error(key, "This look is not complete.")
        for look in range(1, MORE_LOOKS + 1):
            self._require_readable(look, cleaned)
        return cleaned

    def _require_readable(self, look: int, cleaned: dict[str, Any]) -> None:
        """What no meter shows is said beside the field it stands in, with its look."""
        for key, measure, label in LOOK:
            value = cleaned.get(f"{key}_{look}")
            if value is not None and (doubt := READ[measure].doubt(value)):
                self.add_error(f"{key}_{look}", f"Look {look}, {label.lower()}: {doubt}")

    def lines(self) -> list[ChargeLine]:
        """Return the looks that were taken."""
        return [
            ChargeLine(
                minutes=self.cleaned_data[f"minutes_{look}"],
                pack_voltage_mv=self.cleaned_data[f"pack_{look}"],
                current_ma=self.cleaned_data[f"current_{look}"],
                hottest_mdegc=self.cleaned_data[f"hottest_{look}"],
            )
            for look in range(1, MORE_LOOKS + 1)
            if self.cleaned_data[f"minutes_{look}"] is not None
        ]


class FinalTestForm(PointsForm):
    """What the finished pack gives."""

    asks_back = True
    conditions = forms.CharField(
        required=False,
        max_length=120,
        label="At which current, down to what, how warm",
        help_text="as the cells were, such as 0.2 C down to 12.0 V at 22 °C",
    )

    discharge = DischargeField(
        label="Points of that discharge",
        help_text="charge drawn and voltage of the pack, a point a line, as copied out of the tester's table: 500 mAh 15.9 V",
    )
    forecast_only = forms.BooleanField(
        required=False, label="No load here: close on the forecast alone; every paper says so"
    )
    held_hours = forms.DecimalField(
        required=False,
        min_value=0,
        max_value=10_000,
        label="Hours of rest",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(
        self,
        *args: Any,
        groups: int,
        limits: Mapping[str, str],
        outlet: bool,
        insulate: bool = False,
        questions: tuple[str, ...] = (),
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        for key, measure, label in LOAD:
            self.add_reading(key, measure, label, limit=limits.get(key, ""))
        self.fields["load_joint"].typed_unit = "mV"  # type: ignore[attr-defined]
        if insulate:
            self.add_reading("insulation", Measure.INSULATION, "Insulation", limit=limits.get("insulation", ""))
        self.questions = questions
        for rule in questions:
            self.fields[rule] = forms.BooleanField(required=False, label=rules.words_of(rule))
        self.held = [f"held_{number}" for number in range(1, groups + 1)]
        for number, key in enumerate(self.held, start=1):
            self.add_reading(key, Measure.REST_VOLTAGE, f"Group {number} after it")
        due(self.fields["held_hours"], limits.get("held_hours", ""))
        due(self.fields["conditions"])
        self.add_reading("capacity", Measure.CAPACITY, "Capacity delivered", limit=limits.get("capacity", ""))
        self.add_reading("pack_rest", Measure.REST_VOLTAGE, "Pack at rest", limit=limits.get("pack_rest", ""))
        if outlet:
            self.add_reading("outlet", Measure.VOLTAGE, "Outlet under load", limit=limits.get("outlet", ""))
        self.add_points("group", [""] * groups, Measure.REST_VOLTAGE)

    def confirmed(self) -> dict[str, bool]:
        """Return what was confirmed, by rule."""
        return {rule: self.cleaned_data[rule] for rule in self.questions}

    def hold(self) -> rules.RestHold | None:
        """Return the rest hold, None where none was made."""
        hours = self.cleaned_data["held_hours"]
        return (
            None if hours is None else rules.RestHold(hours=hours, groups_mv=[self.cleaned_data[k] for k in self.held])
        )

    def question_rows(self) -> Iterator[forms.BoundField]:
        """Yield the ticks of this pack."""
        return (self[rule] for rule in self.questions)

    def held_rows(self) -> Iterator[forms.BoundField]:
        """Yield the voltages at the end of the rest hold."""
        return (self[key] for key in self.held)

    def load(self) -> rules.UnderLoad:
        """Return what was read under load."""
        names = (name for name in rules.LOADED)
        return rules.UnderLoad(**{name: self.cleaned_data[key] for name, (key, _, _) in zip(names, LOAD, strict=True)})

    def load_rows(self) -> Iterator[forms.BoundField]:
        """Yield what is read under load."""
        return (self[key] for key, _, _ in LOAD)

    def clean(self) -> dict[str, Any]:
        """Voltages after a rest need its hours, and hours their voltages."""
        cleaned = super().clean() or self.cleaned_data
        given = [key for key in self.held if cleaned.get(key) is not None]
        if given and cleaned.get("held_hours") is None and "held_hours" not in self.errors:
            self.add_error("held_hours", "Say how long the pack rested.")
        return cleaned
