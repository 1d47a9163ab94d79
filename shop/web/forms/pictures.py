"""The field of one photograph."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.operations import photographs


class PictureField(forms.FileField):
    """One photograph, read at once: what cannot be kept is said beside it."""

    widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/heic,image/heif,.heic,.heif"})

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "JPEG, PNG or HEIC; place, time and camera are taken out of it")
        super().__init__(required=False, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> Picture | None:
        """Return the picture that is kept."""
        file: UploadedFile[Any] | None = super().clean(data, initial)
        if file is None:
            return None
        if (file.size or 0) > photographs.LARGEST:
            raise forms.ValidationError(f"Up to {photographs.LARGEST // 1024**2} MB come in.")
        try:
            return photographs.look_at(file.read())
        except ShopError as error:
            raise forms.ValidationError(error.message) from error
