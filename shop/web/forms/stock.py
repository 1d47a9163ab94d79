"""Forms of the stock: cell models, lots, and readings of one cell."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any

from django import forms
from django.utils import timezone

from packs.terms import CellFormat, Chemistry, Compression, LotOrigin, Measure, Owner, Terminals
from shop.bridge.possible import OF_A_CELL, READ, Bound
from shop.models import CellModel, Customer, Instrument, Lot

from .base import QuantityField, ShopForm, TermField
from .money import MoneyField
from .possible import PossibleField

MEASURED = (
    Measure.CAPACITY,
    Measure.DC_RESISTANCE,
    Measure.AC_RESISTANCE,
    Measure.REST_VOLTAGE,
    Measure.SELF_DISCHARGE,
    Measure.MASS,
)
HINTS: Mapping[Measure, str] = MappingProxyType(
    {
        Measure.CAPACITY: "such as 2540 mAh",
        Measure.DC_RESISTANCE: "such as 21.4 mΩ",
        Measure.AC_RESISTANCE: "such as 18.2 mΩ",
        Measure.REST_VOLTAGE: "such as 3.62 V",
        Measure.SELF_DISCHARGE: "such as 0.7 mV/day",
        Measure.MASS: "such as 46.2 g",
    }
)


class CellModelForm(ShopForm):
    """A type of cell, as its data sheet has it."""

    asks_back = True

    name = forms.CharField(label="Name of the model", max_length=60, help_text="as it stands on the data sheet")
    data_sheet = forms.CharField(
        label="Data sheet", max_length=160, required=False, help_text="its title and issue, so that it is found again"
    )
    chemistry = TermField(Chemistry, label="Chemistry")
    cell_format = TermField(CellFormat, label="Form")
    terminals = TermField(Terminals, label="Terminals")
    rated_capacity_mah = PossibleField.stated("rated_capacity_mah", whole=False, label="Rated capacity")
    nominal_voltage_mv = PossibleField.stated("nominal_voltage_mv", label="Nominal voltage")
    charge_limit_mv = PossibleField.stated("charge_limit_mv", label="Charge limit")
    end_of_discharge_mv = PossibleField.stated("end_of_discharge_mv", label="End of discharge")
    absolute_max_mv = PossibleField.stated(
        "absolute_max_mv", required=False, label="Absolute maximum", help_text="what the cell may never exceed"
    )
    pulse_current_ma = PossibleField.stated("pulse_current_ma", required=False, label="Pulse current")
    pulse_time_ms = PossibleField.stated("pulse_time_ms", required=False, label="Pulse lasts", help_text="such as 5 s")
    max_charge_current_ma = PossibleField.stated(
        "max_charge_current_ma", required=False, label="Largest charge current"
    )
    max_discharge_current_ma = PossibleField.stated(
        "max_discharge_current_ma", required=False, label="Largest continuous discharge current"
    )
    diameter_um = PossibleField.stated("diameter_um", required=False, label="Diameter or thickness")
    width_um = PossibleField.stated("width_um", required=False, label="Width", help_text="of a prismatic or pouch cell")
    height_um = PossibleField.stated("height_um", required=False, label="Height")
    compression = TermField(
        Compression,
        label="How it wants to be held",
        required=False,
        help_text="of a prismatic or pouch cell; while it is not known, such a cell is not built into a pack",
    )
    compression_note = forms.CharField(label="Plate distance, force or gap", max_length=80, required=False)
    terminal_torque_mnm = PossibleField.stated("terminal_torque_mnm", required=False, label="Torque of its terminals")
    mass_mg = PossibleField.stated("mass_mg", required=False, label="Mass")

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        return self.values()

    def clean_compression(self) -> Compression:
        """What was not said is not known."""
        return self.cleaned_data["compression"] or Compression.UNKNOWN


class LotForm(ShopForm):
    """Cells that came in together."""

    code = forms.CharField(label="Code of the lot", max_length=40, help_text="as it is written on the box")
    cell_model = forms.ModelChoiceField(CellModel.objects.usable(), label="Cell model", empty_label="choose")
    origin = TermField(LotOrigin, label="How they came in", initial=LotOrigin.BOUGHT.value)
    supplier = forms.CharField(label="From whom", max_length=120, required=False)
    received_on = forms.DateField(
        label="Came in on", initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"})
    )
    unit_cost = MoneyField.stated(
        "unit_cost", label="What one cell cost", required=False, help_text="before tax, for quotes"
    )
    owner = TermField(Owner, label="Whose they are", initial=Owner.SHOP.value)
    customer = forms.ModelChoiceField(
        Customer.objects.all(), required=False, label="Which customer", empty_label="nobody's but the shop's"
    )
    evidence = forms.CharField(
        label="What is known of their history",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="delivery note, test report, what the pack came from",
    )


class ReadingForm(ShopForm):
    """One more reading of a cell."""

    asks_back = True

    measure = TermField(Measure, only=MEASURED, label="What was measured")
    value = forms.CharField(
        label="Reading",
        max_length=40,
        help_text="with its unit, such as 2540 mAh, 21.4 mΩ or 3.62 V",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    method = forms.CharField(label="How", max_length=80, required=False, help_text="such as DC pulse 10 s")
    conditions = forms.CharField(
        label="Under which conditions",
        max_length=120,
        required=False,
        help_text="such as at 50 % charge, 23 °C; of a cell with a board also “at the cell itself”, of a reading that "
        "does not stand still “drifts”",
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Meter", empty_label="no meter named"
    )

    def typed_numbers(self, name: str) -> Iterator[tuple[QuantityField, str]]:
        """Yield the reading with the field of the measure that was chosen."""
        measure, text = self.data.get("measure"), self.data.get(name)
        if name == "value" and measure in MEASURED and text:
            return iter([(reading_field(Measure(measure), self), text)])
        return super().typed_numbers(name)

    def clean(self) -> dict[str, Any]:
        """Read the value in the unit of its measure."""
        values = super().clean() or {}
        measure = values.get("measure")
        if measure and values.get("value"):
            try:
                values["value"] = reading_field(measure, self).clean(values["value"])
            except forms.ValidationError as error:
                self.add_error("value", error)
        return values


class CorrectionForm(ShopForm):
    """The right value of a wrong reading of a cell, or of a point of a pack, and why."""

    asks_back = True

    reason = forms.CharField(label="Why it is corrected", max_length=200, help_text="such as unit mistyped")

    def __init__(self, *args: Any, measure: Measure, of_a_cell: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bounds = OF_A_CELL if of_a_cell else READ
        self.fields = {"value": reading_field(measure, self, bounds), **self.fields}


class CellForm(ShopForm):
    """One cell that comes in by hand: its lot and its code."""

    lot = forms.ModelChoiceField(
        Lot.objects.filter(donor_job__isnull=True).select_related("cell_model"),
        to_field_name="code",
        label="Lot it belongs to",
        empty_label="choose",
    )
    code = forms.CharField(label="Code of the cell", max_length=40, help_text="as it is written on the cell")


class WithdrawalForm(ShopForm):
    """Why a reading is none of its cell's."""

    reason = forms.CharField(label="Why it is withdrawn", max_length=200, help_text="such as put on the wrong cell")


def reading_field(measure: Measure, form: ShopForm, bounds: Mapping[Measure, Bound] = OF_A_CELL) -> QuantityField:
    """Return the field for a reading of one measure, reading numbers as its form does."""
    label, hint = "Right value", HINTS.get(measure, "")
    field: QuantityField = (
        PossibleField(bounds[measure], label=label, help_text=hint)
        if measure in bounds
        else QuantityField.of(measure, label=label, help_text=hint)
    )
    field.numbers = form.numbers
    return field
