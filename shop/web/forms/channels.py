"""Forms of the test bench: channels, check cells, the queue."""

from decimal import Decimal
from typing import Any

from django import forms

from packs.terms import Measure
from packs.units import Kind
from shop.bridge.checking import TESTED_AT
from shop.bridge.possible import OF_A_CELL, Bound
from shop.models import Channel, Instrument, Job, RunState
from shop.operations.channels import MOST_QUEUED

from .base import QuantityField, ShopForm, TermField
from .chosen import ChosenCellsForm
from .money import MoneyField
from .possible import PossibleField

HOURS = Bound(kind=Kind.TIME, unit="hour", typed_unit="h", most=2000, above=True)


class ChannelForm(ShopForm):
    """A channel of a tester."""

    instrument = forms.ModelChoiceField(Instrument.objects.all(), label="Tester", empty_label="choose")
    name = forms.CharField(label="Channel", max_length=20, help_text="as it is written on the tester")
    offset_uv = QuantityField(
        Kind.VOLTAGE, "microvolt", typed_unit="mV", whole=True, label="Offset", required=False, help_text="such as 2 mV"
    )
    check_every_d = forms.IntegerField(
        label="Check cell read every so many days", initial=7, min_value=1, max_value=366
    )
    hour_cost = MoneyField.stated("unit_cost", label="What an hour costs", required=False)
    handling_min = forms.IntegerField(
        label="Minutes of handling for each cell", initial=0, min_value=0, max_value=600, required=False
    )

    def given(self) -> dict[str, Any]:
        """Return what the operation takes; what was left empty is nothing."""
        values = self.values()
        return values | {
            "offset_uv": values["offset_uv"] or 0,
            "hour_cost": values["hour_cost"] or Decimal(0),
            "handling_min": values["handling_min"] or 0,
        }


class CheckCellForm(ShopForm):
    """A cell that is kept to check channels with."""

    code = forms.CharField(label="Cell", max_length=40, help_text="its code, typed or scanned")
    capacity_mah = PossibleField(OF_A_CELL[Measure.CAPACITY], label="Capacity as it is known")
    conditions = forms.CharField(
        label="How it is known", max_length=120, help_text="such as mean of 3 tests on T2, 0.2 C, 23 °C"
    )

    def name_of(self, field: str) -> str:
        """What is wrong with the cell is said beside its code."""
        return "code" if field == "cell" else super().name_of(field)


class CheckReadingForm(CheckCellForm):
    """What a channel read of a check cell."""

    conditions = None  # type: ignore[assignment]  # how it is known stands with the check cell
    capacity_mah = PossibleField(OF_A_CELL[Measure.CAPACITY], label="Capacity as read")
    temperature_mdegc = PossibleField(
        TESTED_AT,
        whole=True,
        required=False,
        label="Beside cells at another temperature",
        help_text="such as 12 °C; only then: their capacity is held against this cell's of the day, and the channel is "
        "not judged by it",
    )


class QueueForm(ChosenCellsForm):
    """Cells that are to be tested, and for which job."""

    most = MOST_QUEUED
    what = "cells are queued"

    job = forms.ModelChoiceField(
        Job.objects.open().select_related("device"), required=False, label="For which job", empty_label="the stock"
    )


class BeginForm(ShopForm):
    """Into which channel a cell goes, and how long its test is expected to take."""

    channel = forms.ModelChoiceField(Channel.objects.none(), label="Channel", empty_label="choose")
    hours = PossibleField(HOURS, label="Hours that the test is expected to take")

    def __init__(self, *args: Any, free: "list[Channel]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["channel"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 - declared above
        field.queryset = Channel.objects.filter(pk__in=[one.pk for one in free]).select_related("instrument")


class EndForm(ShopForm):
    """How the test of a cell ended."""

    state = TermField(RunState, only=[RunState.PASSED, RunState.REJECTED, RunState.CALLED_OFF], label="How it ended")


class PromiseForm(ShopForm):
    """The day a customer was promised."""

    promised_on = forms.DateField(
        label="Promised for", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
