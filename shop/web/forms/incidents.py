"""The forms of an incident, of its release, and of the shop's emergency text."""

from typing import Any

from django import forms

from packs.terms import DangerLevel
from shop.models import IncidentKind

from .base import ShopForm, TermField
from .readings import due


class IncidentForm(ShopForm):
    """What happened, when, to whom, what was moved, and what is not used until a lead looked at it."""

    kind = TermField(IncidentKind, label="What it was")
    happened = due(
        forms.CharField(
            required=False, max_length=1000, label="What happened", widget=forms.Textarea(attrs={"rows": 4})
        )
    )
    happened_at = forms.DateTimeField(
        required=False,
        label="When",
        help_text="empty: just now",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    people = forms.CharField(
        required=False, max_length=200, label="Who was there", help_text="and who was hurt, if anybody"
    )
    moved = forms.CharField(
        required=False,
        max_length=400,
        label="What was moved, and where",
        help_text="such as: pack to the sand box outside",
    )
    welder = forms.CharField(required=False, max_length=60, label="Welder in use", help_text="not used until released")
    charger = forms.CharField(
        required=False, max_length=60, label="Charger in use", help_text="not used until released"
    )


class ReleaseForm(ShopForm):
    """What a lead found."""

    findings = due(
        forms.CharField(
            required=False, max_length=1000, label="What you found, and why work may go on",
            widget=forms.Textarea(attrs={"rows": 4}),
        )
    )  # fmt: skip
    danger = forms.TypedChoiceField(
        required=False,
        label="What becomes of the pack",
        choices=[
            ("", "choose"),
            (DangerLevel.AMBER.value, "amber: work goes on, and the findings stay with the job"),
            (DangerLevel.RED.value, "red: the pack goes outside as it is, and only disposal remains"),
        ],
        coerce=DangerLevel,
        empty_value=None,
    )

    def __init__(self, *args: Any, asks_for_danger: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_for_danger:
            del self.fields["danger"]


class EmergencyTextForm(ShopForm):
    """What everybody does when it burns."""

    text = due(
        forms.CharField(required=False, max_length=4000, label="What to do", widget=forms.Textarea(attrs={"rows": 14}))
    )
