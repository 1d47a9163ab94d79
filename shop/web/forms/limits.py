"""Forms of the shop's own limits and of written exceptions."""

from collections.abc import Sequence
from typing import Any

from django import forms

from packs.units import Kind

from .base import QuantityField, ShopForm


class LimitForm(ShopForm):
    """A number of the shop's own for one rule, and why."""

    reason = forms.CharField(label="Why", max_length=300, help_text="Stays in the history, with your name.")

    def __init__(self, *args: Any, kind: Kind, unit: str, typed_unit: str, label: str, **kwargs: Any) -> None:
        numbers = kwargs.pop("numbers", None)
        super().__init__(*args, **kwargs)
        value = QuantityField(kind, unit, typed_unit=typed_unit, label=label)
        self.numbers = value.numbers = numbers
        self.fields = {"value": value, **self.fields}


class ExceptionForm(ShopForm):
    """Which check is accepted as it is, and why the work may go on."""

    rule_id = forms.ChoiceField(label="What is accepted")
    reason = forms.CharField(
        label="Why the work may go on",
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed with your name on every paper of this job.",
    )

    def __init__(self, *args: Any, choices: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rule_id"].choices = [("", "choose"), *choices]  # type: ignore[attr-defined]


class WithdrawForm(ShopForm):
    """Why an exception counts no more."""

    reason = forms.CharField(label="Why it counts no more", max_length=400)
