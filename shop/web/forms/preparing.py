"""The form of cells that are made ready to be joined again."""

from typing import Any

from django import forms

from packs.terms import OldTabs, Stubs, Wrap
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.operations import photographs
from shop.operations.preparing import MOST_CELLS

from .base import TermField
from .chosen import ChosenCellsForm


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
    picture = forms.FileField(
        label="Photograph of the old print",
        required=False,
        help_text="JPEG, PNG or HEIC; place, time and camera are taken out of it",
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/heic,image/heif,.heic,.heif"}),
    )
    photographed = forms.BooleanField(label="It was photographed, and the picture is kept elsewhere", required=False)
    note = forms.CharField(label="Note", max_length=200, required=False)

    def clean_picture(self) -> Picture | None:
        """Read the photograph, or say why it cannot be."""
        file = self.cleaned_data["picture"]
        if file is None:
            return None
        if file.size > photographs.LARGEST:
            raise forms.ValidationError(f"Up to {photographs.LARGEST // 1024**2} MB come in.")
        try:
            return photographs.look_at(file.read())
        except ShopError as error:
            raise forms.ValidationError(error.message) from error

    def given(self) -> dict[str, Any]:
        """Return what the operation takes."""
        names = ("tabs", "stubs", "wrapper", "insulator", "printed", "photographed", "picture", "note")
        return {name: self.cleaned_data[name] for name in ("cells", *names)}
