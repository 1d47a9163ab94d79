"""Forms of the look for a recall, and of what nobody knew at the counter."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from django import forms

from packs.terms import Chemistry
from shop.operations.completing import NAMEPLATE, REACHED
from shop.operations.intake import Recall

from .base import ShopForm, TermField
from .possible import PossibleField

NOTHING_KNOWN: Mapping[str, str] = MappingProxyType({})


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
    maker = forms.CharField(label="Maker", max_length=80, required=False)
    rated_voltage_mv = PossibleField.stated(
        "rated_voltage_mv", required=False, label="Rated voltage", help_text="such as 14.4 V"
    )
    rated_capacity_mah = PossibleField.stated(
        "rated_capacity_mah",
        whole=False,
        typed_unit="",
        required=False,
        label="Rated capacity",
        help_text="with its unit, such as 2.6 Ah or 2600 mAh",
    )
    charger_voltage_mv = PossibleField.stated(
        "charger_voltage_mv", required=False, label="Charger output", help_text="such as 16.8 V"
    )
    chemistry = TermField(
        Chemistry,
        only=[chemistry for chemistry in Chemistry if chemistry is not Chemistry.UNKNOWN],
        required=False,
        label="Chemistry",
        help_text="As printed on the pack, its cells or their data sheet. Without it no UN number can be named.",
    )
    phone = forms.CharField(label="Phone of the customer", max_length=40, required=False)
    email = forms.EmailField(label="E-mail of the customer", required=False)
    reason = forms.CharField(label="Why the nameplate is corrected", max_length=400, required=False)

    def __init__(
        self, *args: Any, questions: Sequence[str], corrects: Mapping[str, str] = NOTHING_KNOWN, **kwargs: Any
    ) -> None:
        """Ask for what is open, and for what may be corrected, of which ``corrects`` says what stands there now."""
        super().__init__(*args, **kwargs)
        self.asks = bool(questions)
        for name in (*NAMEPLATE, *REACHED):
            if name not in (*questions, *corrects):
                del self.fields[name]
        for name, now in corrects.items():
            self.fields[name].label = f"{self.fields[name].label}, corrected"
            self.fields[name].help_text = f"now {now}; left empty it stays"
        if not corrects:
            del self.fields["reason"]
        if "recall" not in questions:
            for name in RecallForm.base_fields:
                del self.fields[name]

    def given(self) -> dict[str, Any]:
        """Return what the operation takes."""
        said = {
            name: self.cleaned_data[name] for name in (*NAMEPLATE, *REACHED) if self.cleaned_data.get(name) is not None
        }
        if "reason" in self.fields:
            said["reason"] = self.cleaned_data["reason"]
        return said | ({"recall": self.recall()} if "recalled" in self.fields else {})
