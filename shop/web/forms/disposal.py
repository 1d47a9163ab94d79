"""Forms of what leaves the shop."""

from typing import Any

from django import forms
from django.utils import timezone

from packs.terms import Condition
from shop.models import Cell, Container, Item

from .base import ShopForm, TermField


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
    """Which of the removed cells and items go where."""

    TO_STOCK, TO_CUSTOMER = "stock", "customer"

    def __init__(
        self, *args: Any, cells: list[Cell], items: list[Item], ways: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["things"] = forms.MultipleChoiceField(
            label="Which",
            choices=[
                *((f"cell-{cell.pk}", f"{cell.code}, {Condition(cell.condition).label}") for cell in cells),
                *((f"item-{item.pk}", f"{item.description}, {Condition(item.condition).label}") for item in items),
            ],
            widget=forms.CheckboxSelectMultiple(),
            error_messages={"required": "Tick what goes there."},
        )
        self.fields["way"] = forms.ChoiceField(label="Where they go", choices=[("", "choose"), *ways])
        self.fields["insulated"] = forms.BooleanField(required=False, label="Every terminal is insulated")

    def chosen(self, kind: str) -> list[int]:
        """Return the keys of the ticked cells or items."""
        parts = (value.split("-") for value in self.cleaned_data["things"])
        return [int(pk) for what, pk in parts if what == kind]

    def container(self) -> Container | None:
        """Return the container chosen, or None for another way."""
        way = self.cleaned_data["way"]
        return Container.objects.get(pk=int(way.split("-")[1])) if way.startswith("container-") else None


class EmergencyForm(ShopForm):
    """Who took what is liable to react."""

    receiver = forms.CharField(label="Who took it", max_length=120)


class HandOverForm(ShopForm):
    """Who takes the device."""

    received_by = forms.CharField(label="Who takes the device", max_length=120, required=False)
