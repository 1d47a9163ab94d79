"""Forms of what leaves the shop."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils import timezone

from packs.terms import Condition
from shop.models import Cell, Container, Item

from .base import ShopForm, TermField
from .readings import due

Thing = Cell | Item


class ContainerForm(ShopForm):
    """A new waste container."""

    code = forms.CharField(label="Code on the container", max_length=40)
    condition = TermField(
        Condition,
        only=[Condition.INTACT, Condition.DAMAGED],
        label="Takes what is",
        help_text="Damaged and intact never share a container.",
    )
    started_on = forms.DateField(
        label="Start date", initial=timezone.localdate, widget=forms.DateInput(attrs={"type": "date"})
    )


class ConsignForm(ShopForm):
    """Who takes a container, and to whom."""

    carrier = forms.CharField(label="Carrier", max_length=120)
    receiver = forms.CharField(label="Receiving facility", max_length=120)


class RemovedForm(ShopForm):
    """Things of one condition: which of them, and where they go. What is liable to react never comes into it."""

    TO_STOCK, TO_CUSTOMER = "stock", "customer"
    ALL, TICKED = "all", "ticked"

    way = forms.ChoiceField(label="Where they go")
    insulated = forms.BooleanField(
        required=False,
        label="Every terminal is insulated",
        help_text="Tape or caps on every terminal before anything goes into a container.",
    )
    things = forms.MultipleChoiceField(label="Which", required=False, widget=forms.CheckboxSelectMultiple())

    def __init__(self, *args: Any, things: Sequence[Thing], ways: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {_key(thing): thing for thing in things}
        self.fields["things"].choices = [(key, str(thing)) for key, thing in self.known.items()]  # type: ignore[attr-defined]
        self.fields["way"].choices = [("", "choose"), *ways]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Take all of them where the button says so, otherwise what is ticked."""
        cleaned = super().clean() or self.cleaned_data
        if self.data.get("which") != self.TICKED:
            cleaned["things"] = list(self.known)
        elif not cleaned.get("things") and "things" not in self.errors:
            self.add_error("things", "Tick what goes there.")
        return cleaned

    def cells(self) -> list[Cell]:
        """Return the chosen cells."""
        return [thing for thing in self._chosen() if isinstance(thing, Cell)]

    def items(self) -> list[Item]:
        """Return the chosen items."""
        return [thing for thing in self._chosen() if isinstance(thing, Item)]

    def _chosen(self) -> list[Thing]:
        return [self.known[key] for key in self.cleaned_data["things"]]

    def container(self) -> Container | None:
        """Return the container chosen, or None for another way."""
        way = self.cleaned_data["way"]
        return Container.objects.get(pk=int(way.split("-")[1])) if way.startswith("container-") else None

    def name_of(self, field: str) -> str:
        """A container is one of the ways."""
        return "way" if field == "container" else field


def _key(thing: Thing) -> str:
    return f"{'cell' if isinstance(thing, Cell) else 'item'}-{thing.pk}"


class EmergencyForm(ShopForm):
    """Who took what is liable to react."""

    receiver = forms.CharField(label="Who took it", max_length=120)


class HandOverForm(ShopForm):
    """Who takes the device."""

    received_by = due(forms.CharField(label="Who takes the device", max_length=120, required=False))


class IntoStockForm(ShopForm):
    """A built pack goes into stock; nothing has to be typed."""
