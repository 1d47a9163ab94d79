"""The form of several tester files at once."""

from typing import Any

from django import forms

from shop.models import Instrument
from shop.operations.many_files import MOST_FILES, Sent

from .base import ShopForm
from .tester_files import FileField


class ManyFiles(forms.FileInput):
    """A choice of several files."""

    allow_multiple_selected = True


class FilesField(FileField):
    """Several files of bounded size, each with its name."""

    widget = ManyFiles

    def clean(self, data: Any, initial: Any = None) -> Any:
        """Return the files as they were sent."""
        listed = data if isinstance(data, list | tuple) else [data]
        return [
            Sent(getattr(one, "name", "") or "", super(FilesField, self).clean(one, initial))
            for one in listed or [None]
        ]


class FilesForm(ShopForm):
    """Tester files, each named after its cell, and what is done with them."""

    sent = FilesField(
        label="Tester files",
        widget=ManyFiles(attrs={"accept": ".csv,.tsv,.txt,.gz,.parquet,.pq,.xlsx,.bdf", "multiple": True}),
        help_text=f"up to {MOST_FILES}; what stands before the first dot of a name, or before two underlines, is the code "
        "of its cell, such as C0017.csv or C0017__run 3.csv",
        error_messages={"empty": "One of these files is empty.", "required": "Choose files."},
    )
    accept = forms.BooleanField(
        label="Figures without a doubt become readings of their cells", required=False, initial=True
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Tester", empty_label="none named"
    )

    def name_of(self, field: str) -> str:
        """What is wrong with the files is said beside them."""
        return "sent" if field == "files" else super().name_of(field)
