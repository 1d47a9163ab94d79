"""Forms of photographs: the files, what they show and at which stage; and why one is not shown any more."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile

from packs.terms import Stage

from .base import ShopForm, TermField


class SeveralFiles(forms.FileInput):
    """A button that takes several files."""

    allow_multiple_selected = True


class PhotographsField(forms.FileField):
    """One photograph or several; whether each can be read is found out one by one."""

    widget = SeveralFiles

    def clean(self, data: Any, initial: Any = None) -> "list[UploadedFile[Any]]":
        """Return the files."""
        given = data if isinstance(data, list | tuple) else [data]
        return [super(PhotographsField, self).clean(file, initial) for file in given or [None]]


class PhotographForm(ShopForm):
    """Photographs, what they show, and the stage of the work they belong to."""

    photographs = PhotographsField(
        label="Photographs",
        help_text=(
            f"JPEG, PNG or HEIC, one or several, together up to {settings.LARGEST_UPLOAD // 1024**2} MB. "
            "Place, time and camera are taken out of each."
        ),
        # A file that was chosen is lost with every answer of ours: the browser asks for what is missing first.
        widget=SeveralFiles(
            attrs={"accept": "image/jpeg,image/png,image/heic,image/heif,.heic,.heif", "required": True}
        ),
        error_messages={"empty": "This file is empty.", "required": "Choose a photograph."},
    )
    shows = forms.CharField(
        label="What they show",
        max_length=160,
        help_text="such as: the opened case from above, or the board's marking",
        widget=forms.TextInput(attrs={"required": True}),
    )
    stage = TermField(Stage, label="Belongs to")

    def __init__(self, *args: Any, stages: Sequence[tuple[Stage, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["stage"]
        assert isinstance(field, forms.TypedChoiceField)  # noqa: S101 - declared above
        field.choices = [(stage.value, label) for stage, label in stages]


class WithdrawForm(ShopForm):
    """Why a photograph is not shown any more."""

    reason = forms.CharField(
        label="Why it is withdrawn", max_length=200, help_text="such as: it shows another pack, or a person"
    )
