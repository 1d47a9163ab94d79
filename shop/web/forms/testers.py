"""The form of a tester's key."""

from django import forms

from shop.models import Instrument

from .base import ShopForm


class TesterForm(ShopForm):
    """Which tester gets a key, and as which meter its readings count."""

    name = forms.CharField(label="Name of the tester", max_length=80, help_text="such as rack 1")
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(),
        label="Its meter",
        empty_label="choose",
        help_text="Every reading it posts counts as taken with this meter.",
    )
