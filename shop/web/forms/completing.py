"""Forms of the look for a recall, and of what nobody knew at the counter."""

from collections.abc import Sequence
from typing import Any

from django import forms

from packs.terms import Chemistry
from shop.operations.intake import Recall

from .base import ShopForm, TermField


class RecallForm(ShopForm):
    """Whether somebody looked for a recall, and what was found."""

    recall_source = forms.CharField(
        label="Where you looked", max_length=120, required=False, help_text="such as the maker's recall page"
    )
    recall_checked_on = forms.DateField(
        label="On which day", required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    recall_result = forms.CharField(
        label="What you found", max_length=200, required=False, help_text="such as: nothing found"
    )
    recalled = forms.BooleanField(
        label="It is recalled: it stays outside", required=False, help_text="A recalled pack is not rebuilt here."
    )

    def recall(self) -> Recall:
        """Return what the look for a recall gave."""
        return Recall(
            source=self.cleaned_data["recall_source"],
            checked_on=self.cleaned_data["recall_checked_on"],
            result=self.cleaned_data["recall_result"],
            recalled=self.cleaned_data["recalled"],
        )


class MoreKnownForm(RecallForm):
    """What was not known at the counter; asks only what is still open."""

    serial = forms.CharField(label="Serial number", max_length=80, required=False)
    chemistry = TermField(
        Chemistry,
        only=[chemistry for chemistry in Chemistry if chemistry is not Chemistry.UNKNOWN],
        label="Chemistry",
        required=False,
        help_text="As printed on the pack, its cells or their data sheet. Without it no UN number can be named.",
    )

    def __init__(self, *args: Any, questions: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("serial", "chemistry"):
            if name not in questions:
                del self.fields[name]
        if "recall" not in questions:
            for name in RecallForm.base_fields:
                del self.fields[name]

    def given(self) -> dict[str, Any]:
        """Return what the operation takes."""
        given = {"serial": self.cleaned_data["serial"]} if "serial" in self.fields else {}
        if self.cleaned_data.get("chemistry"):
            given["chemistry"] = self.cleaned_data["chemistry"]
        return given | ({"recall": self.recall()} if "recalled" in self.fields else {})
