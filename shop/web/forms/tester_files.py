"""Forms of a tester file: the file itself, the layout it is read by, and which of its figures are accepted."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from packs.terms import Measure
from shop.bridge.checking import TESTED_AT
from shop.bridge.traces import NOT_KNOWN, Offer
from shop.models import Cell, Channel, FileLayout, Instrument

from .base import ShopForm
from .possible import PossibleField


class FileField(forms.FileField):
    """A file of bounded size; its value is the bytes."""

    def clean(self, data: Any, initial: Any = None) -> bytes:
        """Return the bytes."""
        file: UploadedFile[Any] = super().clean(data, initial)
        if file.size is None or file.size > settings.LARGEST_UPLOAD:
            most = settings.LARGEST_UPLOAD // 1024**2
            raise forms.ValidationError(
                f"Files of up to {most} MB come in here. Pack this one with gzip, or write it as Parquet.",
                code="too_large",
            )
        content: bytes = file.read()
        return content


class TesterFileForm(ShopForm):
    """The file as the tester wrote it."""

    file = FileField(
        label="Tester file",
        help_text=(
            "as the tester wrote it: text such as CSV, packed with gzip or not, Parquet or XLSX; "
            "one cell, with time, current and voltage"
        ),
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.gz,.parquet,.pq,.xlsx,.bdf"}),
        error_messages={"empty": "This file is empty.", "required": "Choose a file."},
    )


class ReadByForm(ShopForm):
    """By which layout a file is read."""

    layout = forms.ModelChoiceField(
        FileLayout.objects.all(),
        to_field_name="name",
        required=False,
        label="Read it by",
        empty_label="what the file itself shows",
    )


class MoveForm(ShopForm):
    """Of which cell a kept file really is."""

    cell = forms.ModelChoiceField(
        Cell.objects.select_related("lot__cell_model"),
        to_field_name="code",
        label="The cell it is of",
        widget=forms.TextInput,
        help_text="the code as it stands on the cell",
        error_messages={"invalid_choice": "There is no cell of this code in the book."},
    )
    reason = forms.CharField(label="Why", max_length=200, help_text="such as the wrong line of the list was opened")


class AcceptForm(ShopForm):
    """Which figures become readings of the cell."""

    asks_back = True

    measures = forms.TypedMultipleChoiceField(
        label="Into the cell's readings", required=False, coerce=Measure, empty_value=[]
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Tester or meter", empty_label="none named"
    )
    channel = forms.ModelChoiceField(
        Channel.objects.select_related("instrument"),
        required=False,
        label="Channel it was in",
        empty_label="not known",
        help_text="whether its check cell held decides whether the figures count",
    )
    temperature = PossibleField(
        TESTED_AT,
        required=False,
        label="Temperature of the test",
        help_text="the file does not say it; without it no cell is graded",
    )
    measured_at = forms.DateTimeField(
        required=False,
        label="The test ended",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )

    def __init__(self, *args: Any, offers: Sequence[Offer], ended: datetime | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.offers = offers
        if all(NOT_KNOWN not in offer.conditions for offer in offers):
            del self.fields["temperature"]
        if not Channel.objects.exists():
            del self.fields["channel"]
        self.fields["measured_at"].initial = ended
        self.fields["measured_at"].help_text = (
            "as the file says by its own clock" if ended else "the file does not say it; empty, the readings are of now"
        )
        field = self.fields["measures"]
        assert isinstance(field, forms.TypedMultipleChoiceField)  # noqa: S101 - declared above
        field.choices = [(offer.measure.value, offer.measure.label) for offer in offers]

    def stated(self) -> dict[str, Any]:
        """Return what somebody said of the test that the file does not say."""
        values = self.cleaned_data
        return {"channel": values.get("channel"), "temperature_mdegc": values.get("temperature")}

    def name_of(self, field: str) -> str:
        """The operation names the temperature with its unit."""
        return "temperature" if field == "temperature_mdegc" else super().name_of(field)

    @property
    def lines(self) -> list[tuple[Offer, bool]]:
        """The figures on offer, each with whether it is ticked: all without a doubt until somebody says otherwise."""
        sound = [offer.measure.value for offer in self.offers if not offer.doubt]
        ticked = (self["measures"].data or []) if self.is_bound else sound
        return [(offer, offer.measure.value in ticked) for offer in self.offers]
