"""Forms of the counter: the danger signs, who brings what, and what its nameplate says."""

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import OuterRef, QuerySet, Subquery
from django.db.models.functions import Length
from django.utils import timezone

from packs.terms import AMBER_SIGNS, RED_SIGNS, DangerSign, DeviceClass, Measure, Owner
from packs.units import Kind
from shop.errors import ShopError
from shop.models import Customer, Device
from shop.operations.intake import Nameplate, Recall

from .base import ShopForm, TermField, TermsField
from .possible import MOST_MAH, MOST_MV, PossibleField

RED = tuple(sign for sign in DangerSign if sign in RED_SIGNS)
AMBER = tuple(sign for sign in DangerSign if sign in AMBER_SIGNS)
LEAST_LETTERS = 2
MOST_NAMES = 8


def customers_like(text: str) -> QuerySet[Customer]:
    """Return the customers whose name holds the typed letters, the closest first, with the device each brought last."""
    if len(text) < LEAST_LETTERS:
        return Customer.objects.none()
    last = Device.objects.filter(customer=OuterRef("pk")).order_by("-pk").values("model")[:1]
    found = Customer.objects.filter(name__icontains=text).annotate(brought=Subquery(last))
    return found.order_by(Length("name"), "name", "pk")


class CustomerForm(ShopForm):
    """Who brings it: a name, and where the book knows such names, which of them."""

    NEW = "new"

    customer_name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    customer = forms.ChoiceField(label="Known by that name", required=False, widget=forms.RadioSelect())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name = str(self.data.get("customer_name", "")).strip()
        self.known = list(customers_like(name)[:MOST_NAMES])
        field = self.fields["customer"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - declared above
        names = [(str(row.pk), _told_apart(row)) for row in self.known]
        field.choices = [*names, (self.NEW, "none of these: a new customer")] if names else []

    def existing(self) -> Customer | None:
        """Return the customer who was picked, or None for a new one; a namesake in the book asks for a choice."""
        picked = self.cleaned_data["customer"]
        if picked and picked != self.NEW:
            return next(row for row in self.known if str(row.pk) == picked)
        name = self.cleaned_data["customer_name"].casefold()
        if not picked and any(row.name.casefold() == name for row in self.known):
            raise ShopError(
                "namesake",
                "The book has a customer of that name. Pick the one it is, or say that this is a new one.",
                field="customer",
            )
        return None


class TakeInForm(CustomerForm):
    """A device with its pack comes to the counter."""

    red_signs = TermsField(DangerSign, only=RED, label="Any of these keeps it outside")
    amber_signs = TermsField(DangerSign, only=AMBER, label="Any of these sends it to the separate bench")
    looked = forms.BooleanField(
        label="I looked, listened, smelled and felt for heat. Every sign that is there is ticked.",
        error_messages={"required": "Look at the pack first, then tick this."},
    )
    phone = forms.CharField(label="Phone", max_length=40, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    maker = forms.CharField(label="Maker", max_length=80, required=False)
    model = forms.CharField(label="Model", max_length=80)
    serial = forms.CharField(label="Serial number", max_length=80, required=False)
    device_class = TermField(DeviceClass, label="What it is used for")
    rated_voltage_mv = PossibleField.of(
        Measure.VOLTAGE, whole=True, most=MOST_MV, required=False, label="Rated voltage", help_text="such as 14.4 V"
    )
    rated_capacity_mah = PossibleField(
        Kind.CAPACITY,
        "milliampere*hour",
        typed_unit="",
        most=MOST_MAH,
        required=False,
        label="Rated capacity",
        help_text="with its unit, such as 2.6 Ah or 2600 mAh",
    )
    charger_voltage_mv = PossibleField.of(
        Measure.VOLTAGE, whole=True, most=MOST_MV, required=False, label="Charger output", help_text="such as 16.8 V"
    )
    complaint = forms.CharField(
        label="What is wrong with it", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    removed_owner = TermField(
        Owner,
        label="Whose the removed cells will be",
        widget=forms.RadioSelect(),
        initial=None,
        error_messages={"required": "Agree on it and say which."},
        help_text="Agree on it now: the shop's cells may go to stock, the customer's go back or into a container.",
    )
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

    def signs(self) -> list[DangerSign]:
        """Return every sign that was ticked."""
        return [*self.cleaned_data["red_signs"], *self.cleaned_data["amber_signs"]]

    def nameplate(self) -> Nameplate:
        """Return what the nameplate says."""
        return Nameplate(**self.values(*Nameplate.__dataclass_fields__))

    def recall(self) -> Recall:
        """Return what the look for a recall gave."""
        return Recall(
            source=self.cleaned_data["recall_source"],
            checked_on=self.cleaned_data["recall_checked_on"],
            result=self.cleaned_data["recall_result"],
            recalled=self.cleaned_data["recalled"],
        )

    def clean_rated_capacity_mah(self) -> Decimal | None:
        """Keep a tenth of a milliampere-hour, as the book does."""
        value: Decimal | None = self.cleaned_data["rated_capacity_mah"]
        return None if value is None else round(value, 1)

    def clean_recall_checked_on(self) -> Any:
        """Refuse a day that is still to come, here where the page knows which day it is."""
        day = self.cleaned_data["recall_checked_on"]
        if day and day > timezone.localdate():
            raise forms.ValidationError("This day is still to come. Write the day on which somebody looked.")
        return day

    def clean(self) -> dict[str, Any]:
        """A look for a recall is written down whole or not at all."""
        cleaned = super().clean() or self.cleaned_data
        names = ("recall_source", "recall_checked_on", "recall_result")
        given = any(cleaned.get(name) for name in names) or cleaned.get("recalled")
        for name in names:
            if given and not cleaned.get(name) and name not in self.errors:
                self.add_error(name, "Write this down too: where you looked, on which day, what you found.")
        return cleaned


class FindingsForm(ShopForm):
    """What a lead looked at and found on an amber pack."""

    findings = forms.CharField(
        label="What you looked at and what you found",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text="Case, voltage, temperature, what the customer says; and why it may go to the bench.",
        error_messages={"required": "Write down what you looked at and what you found."},
    )


class DangerForm(ShopForm):
    """Red signs seen after the pack came in."""

    signs = TermsField(
        DangerSign,
        only=RED,
        label="What is there",
        required=True,
        error_messages={"required": "Tick what you see, hear or smell."},
    )


class DeclineForm(ShopForm):
    """Why a pack goes back without a rebuild."""

    reason = forms.CharField(
        label="Why it is not rebuilt",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why the pack is not rebuilt."},
    )


def _told_apart(customer: Customer) -> str:
    brought = customer.brought  # type: ignore[attr-defined]  # found by customers_like
    told = [customer.name, customer.phone, customer.email, f"last brought: {brought}" if brought else ""]
    return ", ".join(part for part in told if part)
