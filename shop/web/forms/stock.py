"""Forms of the stock: cell models, lots, and readings of one cell."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from typing import Any

from django import forms
from django.utils import timezone

from packs.terms import CellFormat, Chemistry, Compression, LotOrigin, Measure, Owner, Terminals
from shop.bridge.columns import ABOVE_ZERO, MOST
from shop.models import CellModel, Customer, Instrument

from .base import QuantityField, ShopForm, TermField
from .possible import MOST_MA, PossibleField, length_field

MOST_LENGTH_UM = 1_000_000
"""Longer than any single cell on this bench; common practice, no source."""

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


def _cell_voltage(**kwargs: Any) -> QuantityField:
    return PossibleField.of(Measure.VOLTAGE, whole=True, most=MOST[Measure.REST_VOLTAGE], **kwargs)


def _cell_current(**kwargs: Any) -> QuantityField:
    return PossibleField.of(Measure.CURRENT, whole=True, most=MOST_MA, required=False, **kwargs)


MOST_TORQUE_MNM = 100_000
"""No cell's terminal takes 100 N·m; common practice, no source."""


class CellModelForm(ShopForm):
    """A type of cell, as its data sheet has it."""

    name = forms.CharField(label="Name of the model", max_length=60, help_text="as it stands on the data sheet")
    data_sheet = forms.CharField(
        label="Data sheet", max_length=160, required=False, help_text="its title and issue, so that it is found again"
    )
    chemistry = TermField(Chemistry, label="Chemistry")
    cell_format = TermField(CellFormat, label="Form")
    terminals = TermField(Terminals, label="Terminals")
    rated_capacity_mah = PossibleField.of(Measure.CAPACITY, most=MOST[Measure.CAPACITY], label="Rated capacity")
    nominal_voltage_mv = _cell_voltage(label="Nominal voltage")
    charge_limit_mv = _cell_voltage(label="Charge limit")
    end_of_discharge_mv = _cell_voltage(label="End of discharge")
    max_charge_current_ma = _cell_current(label="Largest charge current")
    max_discharge_current_ma = _cell_current(label="Largest continuous discharge current")
    diameter_um = length_field(most=MOST_LENGTH_UM, required=False, label="Diameter or thickness")
    width_um = length_field(
        most=MOST_LENGTH_UM, required=False, label="Width", help_text="of a prismatic or pouch cell"
    )
    height_um = length_field(most=MOST_LENGTH_UM, required=False, label="Height")
    compression = TermField(
        Compression,
        label="How it wants to be held",
        required=False,
        help_text="of a prismatic or pouch cell; while it is not known, such a cell is not built into a pack",
    )
    compression_note = forms.CharField(label="Plate distance, force or gap", max_length=80, required=False)
    terminal_torque_mnm = PossibleField.of(
        Measure.TORQUE, whole=True, most=MOST_TORQUE_MNM, required=False, label="Torque of its terminals"
    )
    mass_mg = PossibleField.of(Measure.MASS, whole=True, most=MOST[Measure.MASS], required=False, label="Mass")

    VOLTAGES = ("end_of_discharge_mv", "nominal_voltage_mv", "charge_limit_mv")

    def clean(self) -> dict[str, Any]:
        """End of discharge, nominal voltage and charge limit rise in this order."""
        values = super().clean() or {}
        low, nominal, high = (values.get(name) for name in self.VOLTAGES)
        if low and nominal and low >= nominal:
            self.add_error("end_of_discharge_mv", "The end of discharge lies below the nominal voltage.")
        if nominal and high and nominal >= high:
            self.add_error("charge_limit_mv", "The charge limit lies above the nominal voltage.")
        return values

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        return self.values()

    def clean_compression(self) -> Compression:
        """What was not said is not known."""
        return self.cleaned_data["compression"] or Compression.UNKNOWN


class LotForm(ShopForm):
    """Cells that came in together."""

    code = forms.CharField(label="Code of the lot", max_length=40, help_text="as it is written on the box")
    cell_model = forms.ModelChoiceField(CellModel.objects.all(), label="Cell model", empty_label="choose")
    origin = TermField(LotOrigin, label="How they came in", initial=LotOrigin.BOUGHT.value)
    supplier = forms.CharField(label="From whom", max_length=120, required=False)
    received_on = forms.DateField(
        label="Came in on", initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"})
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

    def clean_code(self) -> str:
        """Refuse the one code that is the address of this very form."""
        code: str = self.cleaned_data["code"]
        if code == "new":
            raise forms.ValidationError("A lot cannot be called that.")
        return code

    def clean_received_on(self) -> date:
        """Refuse a day that lies ahead where the shop stands."""
        day: date = self.cleaned_data["received_on"]
        if day > timezone.localdate():
            raise forms.ValidationError("The lot cannot have come in on a day that lies ahead.")
        return day

    def clean(self) -> dict[str, Any]:
        """A customer's lot names the customer, the shop's own lot names none."""
        values = super().clean() or {}
        customers = values.get("owner") is Owner.CUSTOMER
        if customers and not values.get("customer"):
            self.add_error("customer", "Say which customer they belong to.")
        if not customers and values.get("customer"):
            self.add_error("owner", "These would be the customer's: say so here, or name no customer.")
        return values


class ReadingForm(ShopForm):
    """One more reading of a cell."""

    measure = TermField(Measure, only=MEASURED, label="What was measured")
    value = forms.CharField(
        label="Reading",
        max_length=40,
        help_text="with its unit, such as 2540 mAh, 21.4 mΩ or 3.62 V",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    method = forms.CharField(label="How", max_length=80, required=False, help_text="such as DC pulse 10 s")
    conditions = forms.CharField(
        label="Under which conditions", max_length=120, required=False, help_text="such as at 50 % charge, 23 °C"
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Meter", empty_label="no meter named"
    )

    def clean(self) -> dict[str, Any]:
        """Read the value in the unit of its measure; a resistance says how it was measured."""
        values = super().clean() or {}
        measure = values.get("measure")
        if measure and values.get("value"):
            try:
                values["value"] = reading_field(measure, self).clean(values["value"])
            except forms.ValidationError as error:
                self.add_error("value", error)
        if measure is Measure.DC_RESISTANCE and not values.get("method"):
            self.add_error("method", "Say how: only resistances measured the same way are matched with each other.")
        return values


class CorrectionForm(ShopForm):
    """The right value of a wrong reading, and why."""

    reason = forms.CharField(label="Why it is corrected", max_length=200, help_text="such as unit mistyped")

    def __init__(self, *args: Any, measure: Measure, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields = {"value": reading_field(measure, self), **self.fields}


def reading_field(measure: Measure, form: ShopForm) -> QuantityField:
    """Return the field for a reading of one measure, reading numbers as its form does."""
    label, hint = "Right value", HINTS.get(measure, "")
    field = (
        PossibleField.of(measure, most=MOST[measure], label=label, help_text=hint)
        if measure in ABOVE_ZERO
        else QuantityField.of(measure, label=label, help_text=hint)
    )
    field.numbers = form.numbers
    return field
