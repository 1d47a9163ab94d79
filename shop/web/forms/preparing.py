"""The form of cells that are made ready to be joined again."""

from typing import Any

from django import forms

from packs.terms import OldTabs, Stubs, Wrap
from shop.operations.preparing import MOST_CELLS

from .base import TermField
from .chosen import ChosenCellsForm
from .pictures import PictureField


class PreparationForm(ChosenCellsForm):
    """What was done alike to a set of cells."""

    most = MOST_CELLS
    what = "cells are prepared"

    tabs = TermField(OldTabs, label="Old tabs and strip")
    stubs = TermField(Stubs, label="Stubs of old welds")
    wrapper = TermField(Wrap, label="Wrapper")
    insulator = TermField(Wrap, label="Insulator at the positive end")
    printed = forms.CharField(
        label="Printed on the old wrap",
        max_length=160,
        required=False,
        help_text="model, date code and marks, as they now stand on the new wrap",
    )
    picture = PictureField(label="Photograph of the old print")
    photographed = forms.BooleanField(label="It was photographed, and the picture is kept elsewhere", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def given(self) -> dict[str, Any]:
        """Return what the operation takes."""
        names = ("tabs", "stubs", "wrapper", "insulator", "printed", "photographed", "picture", "note")
        return {name: self.cleaned_data[name] for name in ("cells", *names)}
