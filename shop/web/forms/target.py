"""The form of the target pack."""

from collections.abc import Mapping
from types import MappingProxyType

from django import forms

from packs.terms import JointMethod, StripMaterial
from shop.errors import Held, ShopError
from shop.models import CellModel, Job, Plan
from shop.operations.planning import Target

from .base import ShopForm, TermField
from .possible import ArrangementField, PossibleField

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
    continuous_current_ma = PossibleField.stated(
        "continuous_current_ma",
        label="Continuous current",
        help_text="the most the device draws for longer, such as 6 A",
    )
    charger_voltage_mv = PossibleField.stated(
        "charger_voltage_mv", label="Charger voltage", help_text="with no load, as measured, such as 16.8 V"
    )
    joint_method = TermField(JointMethod, label="How the cells are joined")
    strip_material = TermField(StripMaterial, label="Strip or bar")
    strip_thickness_um = PossibleField.stated("strip_thickness_um", label="Thickness", help_text="such as 0.15 mm")
    strip_width_um = PossibleField.stated("strip_width_um", label="Width", help_text="such as 8 mm")
    outlet_voltage_mv = PossibleField.stated(
        "outlet_voltage_mv", required=False, label="Outlet voltage", help_text="such as 5 V"
    )
    dropout_mv = PossibleField.stated(
        "dropout_mv",
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
