"""Forms about papers: whether one is of this shop, and why one counts no more."""

from django import forms

from .base import ShopForm


class CodeForm(ShopForm):
    """The code at the foot of a page."""

    code = forms.CharField(
        label="Code",
        max_length=30,
        help_text="It stands at the foot of every page, such as 7K3Q-9FJX-2M4T",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "autocapitalize": "characters"}),
    )


class FileForm(ShopForm):
    """A PDF as it came from the shop."""

    file = forms.FileField(
        label="PDF file",
        help_text="As it came from the shop, not scanned and not printed anew. It is not kept.",
        widget=forms.FileInput(attrs={"accept": "application/pdf,.pdf"}),
        error_messages={"empty": "This file is empty.", "required": "Choose the PDF file."},
    )


class ReasonForm(ShopForm):
    """What is wrong with a paper."""

    reason = forms.CharField(label="What is wrong with it", max_length=300)
