"""Forms of the shop's book per pack model."""

from django import forms

from packs.terms import Opening
from shop.bridge.possible import MOST_MINUTES
from shop.models import CellModel
from shop.operations.pack_notes import Learnt

from .base import ShopForm, TermField
from .possible import ArrangementField, PossibleField


class PackNotesForm(ShopForm):
    """What is known of a pack model by now."""

    opens = TermField(Opening, initial=Opening.UNKNOWN.value, label="How the case is shut")
    opening = forms.CharField(
        label="How it opens",
        max_length=400,
        required=False,
        help_text="such as: four screws under the label, then clips",
    )
    arrangement = ArrangementField(label="Arrangement", required=False)
    cell_model = forms.ModelChoiceField(
        CellModel.objects.all(), required=False, label="Cell model", empty_label="not known"
    )
    strips = forms.CharField(label="Strips and leads", max_length=200, required=False)
    board = forms.CharField(
        label="What the board does",
        max_length=400,
        required=False,
        help_text="such as: locks below 10 V, wakes on the charger",
    )
    sensor_ohm = PossibleField.stated(
        "sensor_ohm", whole=False, required=False, label="Sensor at 25 °C", help_text="such as 10 kΩ"
    )
    usual_fault = forms.CharField(label="Usual fault", max_length=400, required=False)

    def learnt(self) -> Learnt:
        """Return what was typed."""
        arrangement = self.cleaned_data.pop("arrangement")
        shape = {"series": arrangement.series, "parallel": arrangement.parallel} if arrangement else {}
        return Learnt(**self.cleaned_data, **shape)


class TimeForm(ShopForm):
    """How long the work truly took."""

    minutes = forms.IntegerField(label="Minutes of work", min_value=1, max_value=MOST_MINUTES)
