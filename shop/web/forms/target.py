"""The form of the target pack."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from django import forms

from packs.terms import (
    LITHIUM_ION,
    CellFormat,
    ChargerRead,
    Chemistry,
    JointMethod,
    Measure,
    Packing,
    Port,
    QuoteState,
    StripMaterial,
)
from shop.errors import Held, ShopError
from shop.models import CellModel, Job, PackAsFound, Plan
from shop.operations.planning import ONLY_ROUND, Target

from .base import QuantityField, ShopForm, TermField
from .curves import CurveField
from .groups import GroupsField
from .possible import ArrangementField, PossibleField

ASKED_OF: Mapping[str, str] = MappingProxyType(
    {
        "target.chemistry_known": "cell_model",
        "target.cell_current": "continuous_current_ma",
        "target.charger_voltage": "charger_voltage_mv",
        "target.charger_highest": "charger_tolerance_mv",
        "target.board_groups": "board_groups",
        "target.board_chemistry": "board_chemistry",
        "target.board_overcharge": "board_overcharge_mv",
        "target.board_undervoltage": "board_undervoltage_mv",
        "target.cell_peak": "peak_current_ma",
        "target.part_current": "strip_thickness_um",
        "target.part_surface": "strip_thickness_um",
        "target.fuse_voltage": "fuse_voltage_mv",
        "target.fuse_breaking": "fuse_breaking_ma",
        "target.fuse_carries": "fuse_current_ma",
        "target.fuse_clears": "fuse_clearing",
        "target.board_first": "board_trip_ma",
        "target.step_down": "outlet_voltage_mv",
        "cell.recovery_voltage": "replaced",
        "cell.overcharged": "replaced",
    }
)
"""The field in which a rule's value was typed."""

STATED = tuple(name for name in Target.__dataclass_fields__ if name not in ("series", "parallel", "replaced"))
EXTRAS = tuple(name for name in STATED if name.startswith(("peak", "lead", "fuse")) or name == "strip_layers")
MORE = (*(name for name in STATED if name.startswith("board")), "charger_tolerance_mv")
LITHIUM_ION_IN_ORDER = tuple(one for one in Chemistry if one in LITHIUM_ION)
COUNTED = frozenset({"cell_model", "arrangement"})
LOADED = COUNTED | {"continuous_current_ma"}
JOINED = LOADED | {"joint_method", "strip_material", "strip_thickness_um", "strip_width_um"}
CHECKED = COUNTED | {"joint_method", "continuous_current_ma", "charger_voltage_mv"}


class TargetForm(ShopForm):
    """The pack that is to be built."""

    replaced = GroupsField()
    arrangement = ArrangementField(label="Arrangement")
    cell_model = forms.ModelChoiceField(CellModel.objects.usable(), label="Cell model", empty_label="choose")
    continuous_current_ma = PossibleField.stated(
        "continuous_current_ma",
        label="Continuous current",
        help_text="the most the device draws for longer, such as 6 A",
    )
    charger_voltage_mv = PossibleField.stated(
        "charger_voltage_mv", label="Charger voltage", help_text="best measured with no load, such as 16.8 V"
    )
    charger_read = TermField(
        ChargerRead, required=False, initial=ChargerRead.NO_LOAD.value, label="Where that voltage is from"
    )
    charger_tolerance_mv = PossibleField.stated(
        "charger_tolerance_mv", required=False, label="Charger's tolerance", help_text="from its label, such as 0.1 V"
    )
    board_groups = PossibleField.stated("board_groups", required=False, label="Board is for groups in series")
    board_chemistry = TermField(Chemistry, required=False, only=LITHIUM_ION_IN_ORDER, label="Board is for chemistry")
    board_overcharge_mv = PossibleField.stated(
        "board_overcharge_mv", required=False, label="Overcharge trip", help_text="of one group, such as 4.20 V"
    )
    board_tolerance_mv = PossibleField.stated(
        "board_tolerance_mv", required=False, label="Its tolerance", help_text="such as 0.025 V"
    )
    board_undervoltage_mv = PossibleField.stated(
        "board_undervoltage_mv", required=False, label="Undervoltage trip", help_text="of one group"
    )
    joint_method = TermField(JointMethod, label="How the cells are joined")
    packing = TermField(Packing, required=False, initial=Packing.ROWS.value, label="How round cells stand")
    strip_material = TermField(StripMaterial, label="Strip or bar")
    strip_thickness_um = PossibleField.stated("strip_thickness_um", label="Thickness", help_text="such as 0.15 mm")
    strip_width_um = PossibleField.stated("strip_width_um", label="Width", help_text="such as 8 mm")
    outlet_voltage_mv = PossibleField.stated(
        "outlet_voltage_mv", required=False, label="Outlet voltage", help_text="such as 5 V"
    )
    outlet_port = TermField(Port, required=False, label="Port", help_text="where it is one of these")
    dropout_mv = PossibleField.stated(
        "dropout_mv",
        required=False,
        label="Converter's dropout",
        help_text="at the outlet's full current, from its data sheet",
    )
    peak_current_ma = PossibleField.stated(
        "peak_current_ma", required=False, label="Peak current", help_text="the most the device draws at once"
    )
    peak_time_ms = PossibleField.stated("peak_time_ms", required=False, label="Peak lasts", help_text="such as 3 s")
    strip_layers = PossibleField.stated(
        "strip_layers", required=False, label="Layers of strip", help_text="one on the other; 1 where left empty"
    )
    lead_area_um2 = PossibleField.stated(
        "lead_area_um2", required=False, label="Lead size", help_text="copper, such as AWG 14 or 2.5 mm²"
    )
    lead_length_um = PossibleField.stated(
        "lead_length_um", required=False, label="Length of one lead", help_text="such as 150 mm"
    )
    fuse_current_ma = PossibleField.stated(
        "fuse_current_ma", required=False, label="Fuse rating", help_text="carried without end"
    )
    fuse_voltage_mv = PossibleField.stated(
        "fuse_voltage_mv",
        required=False,
        label="Fuse's DC voltage",
        help_text="a rating for AC says nothing about it",
    )
    fuse_breaking_ma = PossibleField.stated(
        "fuse_breaking_ma",
        required=False,
        label="Breaking capacity",
        help_text="at that voltage, from its data sheet",
    )

    fuse_melting = CurveField(label="Melts soonest", help_text="points of its curve, such as 20 A 150 ms; 60 A 20 ms")
    fuse_clearing = CurveField(label="Clears at the latest", help_text="such as 20 A 5 s; 60 A 100 ms")
    board_trip_ma = PossibleField.stated("board_trip_ma", required=False, label="Overcurrent trip")
    board_trip_us = PossibleField.stated(
        "board_trip_us", required=False, label="It takes", help_text="at the most, such as 10 ms"
    )

    def __init__(self, *args: Any, groups: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.groups = range(1, groups + 1)
        if not groups:
            del self.fields["replaced"]
        for number in self.groups:
            field = QuantityField.of(Measure.CAPACITY, required=False, label=f"Group {number}")
            field.numbers = self.numbers
            self.fields[_capacity(number)] = field
            ohms = QuantityField.of(Measure.DC_RESISTANCE, required=False, label=f"Group {number}")
            ohms.numbers = self.numbers
            self.fields[_resistance(number)] = ohms

    @classmethod
    def of_job(cls, job: Job, *args: Any, **kwargs: Any) -> "TargetForm":
        """Return the form for a job: a repair asks for groups of the pack as found."""
        found = PackAsFound.objects.filter(job=job).first() if job.part_stays else None
        form = cls(*args, groups=found.series if found else 0, **kwargs)
        if limits := _approved_limits(job):
            form.fields["limits_kept"] = forms.BooleanField(
                label=f"The target keeps to the limits of use that were approved: {limits}",
                error_messages={"required": "Keep to them and tick this, or quote the pack anew with other limits."},
            )
        return form

    def capacity_rows(self) -> list[forms.BoundField]:
        """Return the fields of what groups that stay gave when somebody measured them."""
        return [self[_capacity(number)] for number in self.groups]

    def capacities(self) -> dict[int, Decimal]:
        """Return what was typed of them [mAh], by group."""
        given = ((number, self.cleaned_data.get(_capacity(number))) for number in self.groups)
        return {number: mah for number, mah in given if mah is not None}

    def resistance_rows(self) -> list[forms.BoundField]:
        """Return the fields of the DC resistance of groups that stay."""
        return [self[_resistance(number)] for number in self.groups]

    def resistances(self) -> dict[int, Decimal]:
        """Return what was typed of them [µΩ], by group."""
        given = ((number, self.cleaned_data.get(_resistance(number))) for number in self.groups)
        return {number: uohm for number, uohm in given if uohm is not None}

    def measured_given(self) -> bool:
        """Whether something of a group that stays is typed."""
        return any(row.value() for row in (*self.capacity_rows(), *self.resistance_rows()))

    def name_of(self, field: str) -> str:
        """Return the field of a group's capacity, which the book calls by the group alone."""
        return f"capacity_{field.removeprefix('group ')}" if field.startswith("group ") else field

    def refuse(self, error: ShopError) -> None:
        """Put what a check result says beside the field whose value it is about."""
        if not isinstance(error, Held):
            return super().refuse(error)
        for finding in error.findings:
            where = getattr(finding, "where", "")
            said = f"{where.capitalize()}: {finding.message}" if where else finding.message
            name = ASKED_OF.get(getattr(finding, "rule_id", ""))
            self.add_error("lead_area_um2" if where.startswith("lead") else name, said)
        return None

    def target(self) -> Target:
        """Return the pack that was stated."""
        arrangement = self.cleaned_data["arrangement"]
        replaced = self.cleaned_data.get("replaced") or ()
        stated = self.values(*STATED)
        return Target(series=arrangement.series, parallel=arrangement.parallel, replaced=replaced, **stated)

    def counts(self) -> bool:
        """Whether enough is typed to count the pack's cells."""
        return self._has(COUNTED)

    def can_be_checked(self) -> bool:
        """Whether enough is typed to ask the rules."""
        return self._has(CHECKED)

    def has_load(self) -> bool:
        """Whether enough is typed to follow a discharge."""
        return self._has(LOADED)

    def has_path(self) -> bool:
        """Whether enough is typed to follow the current from cell to lead."""
        return self._has(JOINED)

    def clean_charger_read(self) -> ChargerRead:
        """What was not said was measured without load, as the field asks."""
        return self.cleaned_data["charger_read"] or ChargerRead.NO_LOAD

    def clean_packing(self) -> Packing:
        """Cells stand in rows where nothing else was said; flat ones always do."""
        packing = self.cleaned_data["packing"] or Packing.ROWS
        model = self.cleaned_data.get("cell_model")
        if packing is Packing.NESTED and model is not None and model.cell_format != CellFormat.ROUND:
            raise forms.ValidationError(ONLY_ROUND, code="not_nested")
        return packing

    def clean_board_chemistry(self) -> Chemistry | str:
        """What was not said is not stated."""
        return self.cleaned_data["board_chemistry"] or ""

    def clean_outlet_port(self) -> Port | str:
        """What was not said is not stated."""
        return self.cleaned_data["outlet_port"] or ""

    def more(self) -> bool:
        """Whether more is given of charger or board."""
        return any(self[name].value() not in (None, "") for name in MORE)

    def extras(self) -> bool:
        """Whether something of peak, layers, leads and fuse is given."""
        return any(self[name].value() for name in EXTRAS)

    def draft(self, job: Job) -> Plan:
        """Return the plan as far as it is typed, unsaved."""
        arrangement = self.cleaned_data["arrangement"]
        known = {name: self.cleaned_data.get(name) for name in STATED}
        known["packing"] = known["packing"] or Packing.ROWS
        replaced = sorted({*(self.cleaned_data.get("replaced") or ())} & {*range(1, arrangement.series + 1)})
        return Plan(job=job, series=arrangement.series, parallel=arrangement.parallel, replaced=replaced, **known)

    def _has(self, names: frozenset[str]) -> bool:
        self.is_valid()
        return all(self.cleaned_data.get(name) is not None for name in names)


def _capacity(number: int) -> str:
    return f"capacity_{number}"


def _resistance(number: int) -> str:
    return f"resistance_{number}"


def _approved_limits(job: Job) -> str:
    """Return the limits of use in the quote that was approved, as they were written; nothing where none were."""
    quote = job.quotes.filter(state=QuoteState.APPROVED.value).last()
    return quote.limits_of_use if quote else ""
