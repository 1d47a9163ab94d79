"""Forms of the steps that prove the pack."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms

from packs.terms import Measure
from shop.bridge import rules
from shop.models import Plan
from shop.operations.proving import ChargeLine

from .base import QuantityField, ShopForm
from .readings import PointsForm, due

LOOKS, MORE_LOOKS = 3, 6
"""Looks at a charging pack that the page shows at once, and how many it has room for."""

LOOK = (
    ("pack", Measure.VOLTAGE, "Pack"),
    ("current", Measure.CURRENT, "Current"),
    ("hottest", Measure.TEMPERATURE, "Hottest spot"),
)


class HousingForm(ShopForm):
    """What is looked at before the case is shut; each is one rule."""

    def __init__(self, *args: Any, plan: Plan, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for rule, words in rules.housing_questions(plan):
            self.fields[rule] = forms.BooleanField(required=False, label=words)

    def confirmed(self) -> dict[str, bool]:
        """Return what was confirmed, by rule."""
        return {rule: self.cleaned_data[rule] for rule in self.fields}


class FirstChargeForm(PointsForm):
    """The first charge: who stays beside it, what the charger shows, looks at intervals, groups at the end."""

    supervised_by = due(forms.CharField(required=False, max_length=100, label="Who stays beside it"))
    charger_voltage = QuantityField.of(Measure.VOLTAGE, label="Charger, no load")

    def __init__(self, *args: Any, groups: int, limits: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        due(self.fields["charger_voltage"], limits.get("charger", ""))
        for look in range(1, MORE_LOOKS + 1):
            self._add_look(look, limits)
        self.add_points("group", [""] * groups)

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
        help_text="such as 0.2 C down to 12.0 V at 22 °C",
    )

    def __init__(self, *args: Any, groups: int, limits: Mapping[str, str], outlet: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        due(self.fields["conditions"])
        self.add_reading("capacity", Measure.CAPACITY, "Capacity delivered", limit=limits.get("capacity", ""))
        self.add_reading("pack_rest", Measure.REST_VOLTAGE, "Pack at rest", limit=limits.get("pack_rest", ""))
        if outlet:
            self.add_reading("outlet", Measure.VOLTAGE, "Outlet under load", limit=limits.get("outlet", ""))
        self.add_points("group", [""] * groups, Measure.REST_VOLTAGE)
