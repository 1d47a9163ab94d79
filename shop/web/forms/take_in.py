"""Forms of the counter: the danger signs, who brings what, and what its nameplate says."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import OuterRef, QuerySet, Subquery
from django.db.models.functions import Length
from django.utils import timezone

from packs.terms import (
    AMBER_SIGNS,
    OWNER_AGREED,
    RED_SIGNS,
    Chemistry,
    Condition,
    DangerSign,
    DeviceClass,
    JobKind,
    Owner,
)
from shop.errors import ShopError
from shop.models import CountBasis, Customer, Device
from shop.operations.intake import Nameplate, check_recall
from shop.operations.opening import CellCount, PackSize
from shop.operations.possible import require_one_plate

from .base import ShopForm, TermField, TermsField
from .completing import RecallForm
from .possible import PossibleField

RED = tuple(sign for sign in DangerSign if sign in RED_SIGNS)
AMBER = tuple(sign for sign in DangerSign if sign in AMBER_SIGNS)
TAKEN_IN_FOR = {
    JobKind.REBUILD: "Rebuild the pack: its cells come out, new ones go in, the device goes back",
    JobKind.GROUP_REPAIR: "Repair a group: only cells of groups that failed are replaced, the others stay in the pack",
    JobKind.TEST_ONLY: "Test it only: nothing is taken out, a health report says what the pack gives",
    JobKind.TAKE_BACK: "Take the pack back: it is not opened and goes out as waste, nothing goes back",
}
WHOLE = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})
LEAST_LETTERS = 2
MOST_NAMES = 8


def customers_like(text: str) -> QuerySet[Customer]:
    """Return the customers whose name holds the typed letters, the closest first, with the device each brought last."""
    if len(text) < LEAST_LETTERS:
        return Customer.objects.none()
    last = Device.objects.filter(customer=OuterRef("pk")).order_by("-pk").values("model")[:1]
    found = Customer.objects.filter(name__icontains=text, is_shop=False).annotate(brought=Subquery(last))
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


class LookForm(ShopForm):
    """What is looked for before a pack crosses the door."""

    red_signs = TermsField(DangerSign, only=RED, label="Any of these keeps it outside")
    amber_signs = TermsField(DangerSign, only=AMBER, label="Any of these sends it to the separate bench")
    looked = forms.BooleanField(
        label="I looked, listened, smelled and felt for heat. Every sign that is there is ticked.",
        error_messages={"required": "Look at the pack first, then tick this."},
    )

    def signs(self) -> list[DangerSign]:
        """Return every sign that was ticked."""
        return [*self.cleaned_data["red_signs"], *self.cleaned_data["amber_signs"]]


class SizeForm(ShopForm):
    """How much an unopened pack is, where its place has a limit that counts it."""

    rated_energy_mwh = PossibleField.stated(
        "rated_energy_mwh", required=False, label="Rated energy", help_text="such as 187 Wh, where it is printed"
    )
    mass_mg = PossibleField.stated(
        "item_mass_mg",
        typed_unit="kg",
        required=False,
        label="Mass of the pack",
        help_text="such as 1.3 kg; weighed, or on the high side",
    )
    volume_mm3 = PossibleField.stated(
        "volume_mm3", required=False, label="Room it takes", help_text="such as 1.2 L: length by width by height"
    )

    def __init__(self, *args: Any, limited: bool = False, **kwargs: Any) -> None:
        """Ask only where a place counts it."""
        super().__init__(*args, **kwargs)
        if not limited:
            for name in PackSize.__dataclass_fields__:
                del self.fields[name]

    def size(self) -> PackSize:
        """Return how much the pack is, as far as anybody said."""
        return PackSize(**{name: self.cleaned_data.get(name) for name in PackSize.__dataclass_fields__})


class OwnerField(TermField):
    """Whose the cells are that come out."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            Owner,
            label="Whose the removed cells will be",
            widget=forms.RadioSelect(),
            initial=None,
            help_text="Agree on it now: the shop's cells may go to stock, the customer's go back or into a container.",
            **kwargs,
        )
        self.choices = [(owner.value, owner.label) for owner in Owner]  # none of them is a choice made for anybody


OWNER_MISSING = "Agree on it and say which."


class TakeInForm(LookForm, RecallForm, CustomerForm, SizeForm):
    """A device with its pack comes to the counter; its fields are named in the order of the page."""

    field_order = (
        *("kind", "red_signs", "amber_signs", "looked", "customer_name", "customer", "phone", "email"),
        *("maker", "model", "serial", "device_class", "rated_voltage_mv", "rated_capacity_mah", "charger_voltage_mv"),
        *("chemistry", "cells", "basis", "rated_energy_mwh", "mass_mg", "volume_mm3", "complaint"),
        *("recall_source", "recall_checked_on", "recall_result", "recalled", "removed_owner"),
    )
    kind = forms.TypedChoiceField(
        choices=[(kind.value, words) for kind, words in TAKEN_IN_FOR.items()],
        coerce=JobKind,
        empty_value=JobKind.REBUILD,
        required=False,
        initial=JobKind.REBUILD.value,
        label="What it comes in for",
        widget=forms.RadioSelect(),
    )
    phone = forms.CharField(label="Phone", max_length=40, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    maker = forms.CharField(label="Maker", max_length=80, required=False)
    model = forms.CharField(label="Model", max_length=80)
    serial = forms.CharField(label="Serial number", max_length=80, required=False)
    device_class = TermField(DeviceClass, label="What it is used for")
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
        help_text="as printed on the pack",
    )
    cells = forms.IntegerField(
        required=False, min_value=1, max_value=10_000, label="Cells inside", widget=WHOLE, help_text="if anybody knows"
    )
    basis = TermField(CountBasis, only=[CountBasis.KNOWN, CountBasis.ESTIMATED], required=False, label="How well known")
    complaint = forms.CharField(
        label="What is wrong with it", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    removed_owner = OwnerField(required=False)

    def nameplate(self) -> Nameplate:
        """Return what the nameplate says."""
        named = self.values(*Nameplate.__dataclass_fields__)
        return Nameplate(**named | {"chemistry": named["chemistry"] or Chemistry.UNKNOWN})

    def count(self) -> CellCount:
        """Return how many cells are inside, as far as anybody knows."""
        cells, basis = self.cleaned_data["cells"], self.cleaned_data["basis"]
        return CellCount() if cells is None else CellCount(cells=cells, basis=basis)

    def clean_rated_capacity_mah(self) -> Decimal | None:
        """Keep a tenth of a milliampere-hour, as the book does."""
        value: Decimal | None = self.cleaned_data["rated_capacity_mah"]
        return None if value is None else round(value, 1)

    def clean(self) -> dict[str, Any]:
        """Ask for what this kind of job needs besides."""
        cleaned = super().clean() or self.cleaned_data
        self._ask_for_more(cleaned)
        return cleaned

    def _ask_for_more(self, cleaned: dict[str, Any]) -> None:
        if cleaned.get("kind") in OWNER_AGREED and not cleaned.get("removed_owner"):
            self.add_error("removed_owner", OWNER_MISSING)
        if cleaned.get("cells") is not None and not cleaned.get("basis"):
            self.add_error("basis", "Say whether they were counted or estimated.")
        plate = ("rated_voltage_mv", "charger_voltage_mv", "rated_capacity_mah")
        self.also(lambda: require_one_plate(*(cleaned.get(name) for name in plate)))
        if not {"recall_checked_on", "recall_source", "recall_result"} & set(self.errors):
            self.also(lambda: check_recall(self.recall(), timezone.now()))
        if "customer_name" in cleaned and "customer" in cleaned:
            self.also(self.existing)


class ReturnForm(LookForm, SizeForm):
    """A pack that was rebuilt here comes back."""

    complaint = forms.CharField(
        label="What is wrong with it", max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    removed_owner = OwnerField(error_messages={"required": OWNER_MISSING})


class ForStockForm(ShopForm):
    """A pack that the shop builds for its own stock."""

    model = forms.CharField(label="What the pack is called", max_length=80, help_text="such as lamp pack 14.4 V")
    device_class = TermField(DeviceClass, label="What it is meant for")
    note = forms.CharField(label="Note", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))


class GiveUpForm(ShopForm):
    """Why a build is given up, and which of the cells placed came to harm."""

    reason = forms.CharField(
        label="Why the build is given up",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why the build is given up."},
    )
    damaged = forms.MultipleChoiceField(
        label="Placed cells that came to harm",
        required=False,
        widget=forms.CheckboxSelectMultiple(),
        help_text="Any dent, tear, leak, odd voltage or doubt counts. These never go back to stock.",
    )
    reacting = forms.MultipleChoiceField(
        label="Placed cells that are liable to react",
        required=False,
        widget=forms.CheckboxSelectMultiple(),
        help_text="They heat, hiss or smoke. They leave only by the emergency way.",
    )

    standing = TermField(
        Condition,
        label="The groups that stayed are",
        initial=Condition.INTACT.value,
        help_text="They are set apart as one thing: insulate every end and every cut strip.",
    )

    def __init__(self, *args: Any, placed: Sequence[str], loose: bool, part_stays: bool = False, **kwargs: Any) -> None:
        """Ask of loose cells which may react; a joined pack that may is not taken apart."""
        super().__init__(*args, **kwargs)
        if part_stays:
            self.fields["reason"].label = "Why the repair is given up"
        else:
            del self.fields["standing"]
        asked = {"damaged": bool(placed), "reacting": bool(placed) and loose}
        for name, wanted in asked.items():
            if wanted:
                self.fields[name].choices = [(code, code) for code in placed]  # type: ignore[attr-defined]
            else:
                del self.fields[name]


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
    in_device = forms.BooleanField(
        label="The pack sits in its device",
        required=False,
        help_text="Then both stay outside together; nobody takes the pack out.",
    )

    def __init__(self, *args: Any, new_pack: bool, **kwargs: Any) -> None:
        """Ask of a new pack alone whether it is in its device: an old one that is open lies beside it."""
        super().__init__(*args, **kwargs)
        if not new_pack:
            del self.fields["in_device"]


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
