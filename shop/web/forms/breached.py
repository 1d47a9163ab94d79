"""The form of a can that was pierced."""

from collections.abc import Iterable
from typing import Any

from django import forms

from shop.bridge import rules

from .base import ShopForm
from .readings import due


class BreachedForm(ShopForm):
    """Which cell, what happened, that it lies apart, and which cell goes in instead."""

    isolated = forms.BooleanField(required=False, label=rules.words_of("join.breached_isolated"))
    reacting = forms.BooleanField(
        required=False, label="It heats, hisses or smokes: keep away from it and call for help"
    )
    code = forms.ChoiceField(label="Which cell")
    happened = due(forms.CharField(required=False, max_length=400, label="What happened"))
    instead = due(
        forms.CharField(
            required=False,
            max_length=40,
            label="Goes in instead",
            help_text="a free cell of the same model, as near to it in capacity as there is",
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )
    )

    def __init__(self, *args: Any, placed: Iterable[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].choices = [("", "choose"), *placed]  # type: ignore[attr-defined]
