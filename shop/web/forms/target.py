"""The form of the target pack."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from django import forms

from packs.terms import JointMethod, Measure, StripMaterial
from shop.errors import Held, ShopError
from shop.models import CellModel, Job, Plan
from shop.operations.planning import Target

from .base import ShopForm, TermField
from .possible import MOST_MA, MOST_MV, MOST_THICKNESS_UM, MOST_WIDTH_UM, ArrangementField, PossibleField, length_field

ASKED_OF: Mapping[str, str] = MappingProxyType(
    {
        "target.chemistry_known": "cell_model",
        "target.cell_current": "continuous_current_ma",
        "target.charger_voltage": "charger_voltage_mv",
        "target.step_down": "outlet_voltage_mv",
    }
)
"""The field in which a rule's value was typed."""

STATED = tuple(name for name in Target.__dataclass_fields__ if name not in ("series", "parallel"))
COUNTED = frozenset({"cell_model", "arrangement"})
CHECKED = COUNTED | {"joint_method", "continuous_current_ma", "charger_voltage_mv"}


class TargetForm(ShopForm):
    """The pack that is to be built."""

    arrangement = ArrangementField(label="Arrangement")
    cell_model = forms.ModelChoiceField(CellModel.objects.all(), label="Cell model", empty_label="choose")
    continuous_current_ma = PossibleField.of(
        Measure.CURRENT,
        whole=True,
        most=MOST_MA,
        label="Continuous current",
        help_text="the most the device draws for longer, such as 6 A",
    )
    charger_voltage_mv = PossibleField.of(
        Measure.VOLTAGE,
        whole=True,
        most=MOST_MV,
        label="Charger voltage",
        help_text="with no load, as measured, such as 16.8 V",
    )
    joint_method = TermField(JointMethod, label="How the cells are joined")
    strip_material = TermField(StripMaterial, label="Strip or bar")
    strip_thickness_um = length_field(most=MOST_THICKNESS_UM, label="Thickness", help_text="such as 0.15 mm")
    strip_width_um = length_field(most=MOST_WIDTH_UM, label="Width", help_text="such as 8 mm")
    outlet_voltage_mv = PossibleField.of(
        Measure.VOLTAGE, whole=True, most=MOST_MV, required=False, label="Outlet voltage", help_text="such as 5 V"
    )
    dropout_mv = PossibleField.of(
        Measure.VOLTAGE,
        whole=True,
        most=MOST_MV,
        required=False,
        label="Converter's dropout",
        help_text="at the outlet's full current, from its data sheet",
    )

    def refuse(self, error: ShopError) -> None:
        """Put what a check result says beside the field whose value it is about."""
        if not isinstance(error, Held):
            return super().refuse(error)
        for finding in error.findings:
            self.add_error(ASKED_OF.get(getattr(finding, "rule_id", "")), finding.message)
        return None

    def clean(self) -> dict[str, Any]:
        """An outlet needs its converter's dropout, and the other way round."""
        cleaned = super().clean() or self.cleaned_data
        outlet, dropout = cleaned.get("outlet_voltage_mv"), cleaned.get("dropout_mv")
        if not {"outlet_voltage_mv", "dropout_mv"} & set(self.errors) and (outlet is None) != (dropout is None):
            name, words = ("dropout_mv", "dropout") if dropout is None else ("outlet_voltage_mv", "voltage")
            self.add_error(name, f"An outlet is checked with its voltage and its dropout; the {words} is missing.")
        return cleaned

    def target(self) -> Target:
        """Return the pack that was stated."""
        arrangement = self.cleaned_data["arrangement"]
        return Target(series=arrangement.series, parallel=arrangement.parallel, **self.values(*STATED))

    def counts(self) -> bool:
        """Whether enough is typed to count the pack's cells."""
        return self._has(COUNTED)

    def can_be_checked(self) -> bool:
        """Whether enough is typed to ask the rules."""
        return self._has(CHECKED)

    def draft(self, job: Job) -> Plan:
        """Return the plan as far as it is typed, unsaved."""
        arrangement = self.cleaned_data["arrangement"]
        known = {name: self.cleaned_data.get(name) for name in STATED}
        return Plan(job=job, series=arrangement.series, parallel=arrangement.parallel, **known)

    def _has(self, names: frozenset[str]) -> bool:
        self.is_valid()
        return all(self.cleaned_data.get(name) is not None for name in names)
