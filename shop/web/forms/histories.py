"""Forms of cells that were used before: their history, a lead's signature, and the order of a facility."""

from django import forms

from packs.terms import DeviceClass
from shop.operations.histories import MOST_CYCLES

from .base import ShopForm, TermsField

SERVED = [one for one in DeviceClass if one is not DeviceClass.MEDICAL]
"""What reclaimed cells may serve at all."""


class HistoryForm(ShopForm):
    """What is known of the history of a lot."""

    donor_pack = forms.CharField(
        label="Donor pack", max_length=160, required=False, help_text="maker, model and serial, and what it came out of"
    )
    date_code = forms.CharField(
        label="Date code", max_length=40, required=False, help_text="as it is printed on the cells"
    )
    cycle_count = forms.IntegerField(
        label="Cycles, as read out",
        required=False,
        min_value=0,
        max_value=MOST_CYCLES,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        help_text="out of the board or the device; empty where nothing could be read",
    )
    condition = forms.CharField(
        label="Condition of the donor pack",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="case, traces of water, heat or a fall, what it was used for",
    )


class SignForm(ShopForm):
    """Which device classes the used cells of a lot may serve."""

    device_classes = TermsField(DeviceClass, only=SERVED, label="They may serve")
    reason = forms.CharField(
        label="What this rests on",
        max_length=300,
        required=False,
        help_text="Needed where evidence is missing, or where they serve nothing. Stays with the lot, with your name.",
    )


class OrderForm(ShopForm):
    """What the facility that uses a medical device ordered in writing."""

    facility = forms.CharField(label="Facility", max_length=160)
    reference = forms.CharField(label="Number or date of the order", max_length=80)
    ordered_cells = forms.CharField(
        label="Cells as ordered", max_length=120, help_text="maker and type, as the order names them"
    )
