"""Forms of waste containers and consignments."""

from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.utils import timezone

from packs.terms import Condition, Contents, Mode
from shop.bridge import waste
from shop.models import Container

from .base import ShopForm, TermField
from .possible import PossibleField

if TYPE_CHECKING:
    from django.db.models import QuerySet


def _today() -> date:
    """Return the day it is where the shop stands."""
    return waste.here(timezone.now()).on


class ContainerForm(ShopForm):
    """A new waste container."""

    WHOLE, DAMAGED, BOARDS, CONTAMINATED = "intact", "damaged", "boards", "contaminated"
    KINDS = (
        (WHOLE, "intact cells and packs"),
        (DAMAGED, "damaged or defective cells and packs"),
        (BOARDS, Contents.BOARDS.label),
        (CONTAMINATED, Contents.CONTAMINATED.label),
    )

    code = forms.CharField(label="Code on the container", max_length=40)
    condition = forms.ChoiceField(
        choices=[("", "choose"), *KINDS],
        label="Takes",
        help_text="Each of these has containers of its own; damaged and intact never share one.",
    )
    started_on = forms.DateField(label="Start date", initial=_today, widget=forms.DateInput(attrs={"type": "date"}))
    approved_packaging = forms.BooleanField(
        required=False,
        label="UN-approved packaging",
        help_text="Its UN marking is on it. Damaged ones travel in nothing else.",
    )

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        kind = self.cleaned_data["condition"]
        cells = kind in (self.WHOLE, self.DAMAGED)
        return self.values("code", "started_on", "approved_packaging") | {
            "condition": Condition(kind) if cells else Condition.INTACT,
            "contents": Contents.CELLS if cells else Contents(kind),
        }


class CloseForm(ShopForm):
    """A container is weighed, closed and secured."""

    gross_mass_mg = PossibleField.stated(
        "gross_mass_mg", label="Gross mass, weighed", help_text="The closed container with everything in it."
    )
    secured = forms.BooleanField(required=False, label="Closed and secured")
    lid_vents = forms.BooleanField(
        required=False, label="The lid lets gas out", help_text="A tight lid can burst; a lid that vents cannot."
    )
    approved_packaging = forms.BooleanField(
        required=False, label="UN-approved packaging", help_text="Its UN marking is on it."
    )

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes."""
        return self.values("gross_mass_mg", "secured", "lid_vents", "approved_packaging")


class ConsignForm(ShopForm):
    """Who takes a container, to whom, and what else leaves with it."""

    carrier = forms.CharField(label="Carrier", max_length=120)
    taken_by = forms.CharField(label="Who of the carrier signs", max_length=120)
    handed_over_by = forms.CharField(label="Who signs for the shop", max_length=120)
    receiver = forms.CharField(label="Receiving facility", max_length=120)
    mode = TermField(Mode, only=[Mode.ROAD, Mode.RAIL, Mode.SEA], initial=Mode.ROAD.value, label="How it travels")
    statutory_number = forms.CharField(
        label="Number of the statutory note", max_length=80, required=False, help_text="Where the law asks for one."
    )
    together = forms.ModelMultipleChoiceField(
        queryset=Container.objects.none(),
        required=False,
        label="These leave with it",
        widget=forms.CheckboxSelectMultiple(),
    )

    def __init__(self, *args: Any, others: "QuerySet[Container]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if others.exists():
            self.fields["together"].queryset = others  # type: ignore[attr-defined]
        else:
            del self.fields["together"]

    def facts(self) -> dict[str, Any]:
        """Return what the operation takes beside the containers."""
        return self.values(*(name for name in self.fields if name != "together"))


class ConfirmForm(ShopForm):
    """What came back from the receiver."""

    confirmed_on = forms.DateField(label="Received on", widget=forms.DateInput(attrs={"type": "date"}))
    confirmed_by = forms.CharField(label="Confirmed by", max_length=120, help_text="The name on the confirmation.")
