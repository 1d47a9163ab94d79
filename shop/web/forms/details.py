"""The form of what else an opened pack shows."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from django import forms

from packs.terms import ContactKind, Opening, Sealing, Term
from shop.models import Instrument
from shop.operations.details import MOST_CONTACTS, Contact, Details, require_possible

from .base import ShopForm, TermField
from .possible import PossibleField

LINES, SPARE = 3, 1
"""Lines for contacts that are there at first, and empty ones below those that are filled."""


class Metal(Term):
    """Whether metal of the case can be touched."""

    YES = "yes", "yes"
    NO = "no", "none"
    UNKNOWN = "unknown", "nobody has looked"


class ContactLine(NamedTuple):
    """The fields of one contact."""

    number: int
    kind: forms.BoundField
    place: forms.BoundField
    ohm: forms.BoundField
    open: forms.BoundField
    mdegc: forms.BoundField


class DetailsForm(ShopForm):
    """How the case was shut, insulation, cut-offs and contacts."""

    opens = TermField(Opening, initial=Opening.UNKNOWN.value, label="How the case was shut")
    sealing = TermField(Sealing, initial=Sealing.UNKNOWN.value, label="What kept water out")
    ip_code = forms.CharField(
        label="Protection marked on it", max_length=8, required=False, help_text="such as IP54 or IPX7"
    )
    metal = TermField(Metal, initial=Metal.UNKNOWN.value, label="Metal of the case that can be touched")
    insulation_kohm = PossibleField.stated(
        "insulation_kohm",
        whole=False,
        required=False,
        label="Insulation between the cells and that metal",
        help_text="such as 20 MΩ; due with a metal case or above 60 V DC",
    )
    insulation_test_mv = PossibleField.stated(
        "insulation_test_mv", required=False, label="Voltage of that test", help_text="such as 250 V"
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Tester", empty_label="no tester named"
    )
    board_overcharge_mv = PossibleField.stated(
        "board_overcharge_mv", required=False, label="Overcharge trip", help_text="of one group, such as 4.25 V"
    )
    board_undervoltage_mv = PossibleField.stated(
        "board_undervoltage_mv", required=False, label="Undervoltage trip", help_text="of one group, such as 2.8 V"
    )
    board_current_ma = PossibleField.stated("board_current_ma", required=False, label="Load trip")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = min(MOST_CONTACTS, max(LINES, self._filled() + SPARE))
        for number in range(1, self.lines + 1):
            for name, field in _contact_fields().items():
                self.fields[f"contact_{number}_{name}"] = field
                if isinstance(field, PossibleField):
                    field.numbers = self.numbers

    def contact_lines(self) -> Iterator[ContactLine]:
        """Yield the fields contact by contact."""
        for number in range(1, self.lines + 1):
            yield ContactLine(number, *(self[f"contact_{number}_{name}"] for name in _contact_fields()))

    def details(self) -> Details:
        """Return what was typed, as far as it can be read."""
        names = [name for name in self.fields if not name.startswith("contact_") and name in self.cleaned_data]
        metal = {Metal.YES: True, Metal.NO: False}.get(self.cleaned_data.get("metal", Metal.UNKNOWN))
        return Details(**self.values(*names) | {"metal": metal, "contacts": [one for _, one in self._contacts()]})

    def name_of(self, field: str) -> str:
        """Return the field of the contact that a refusal counts, among those that are filled."""
        if not field.startswith("contact "):
            return field
        number = [number for number, _ in self._contacts()][int(field.split()[1]) - 1]
        return f"contact_{number}_{'ohm' if self.cleaned_data.get(f'contact_{number}_place') else 'place'}"

    def _contacts(self) -> Iterator[tuple[int, Contact]]:
        for number in range(1, self.lines + 1):
            keys = {name: f"contact_{number}_{name}" for name in _contact_fields()}
            given = {name: self.cleaned_data[key] for name, key in keys.items() if key in self.cleaned_data}
            if given.get("kind") and "place" in given:
                yield number, Contact(**given)

    def clean(self) -> dict[str, Any]:
        """A line without a kind must be empty, so that nothing typed is lost without a word."""
        cleaned = super().clean() or self.cleaned_data
        for number in range(1, self.lines + 1):
            typed = any(cleaned.get(f"contact_{number}_{name}") for name in ("place", "ohm", "open", "mdegc"))
            if typed and not cleaned.get(f"contact_{number}_kind"):
                self.add_error(f"contact_{number}_kind", "Say what it is.")
        self.also(lambda: require_possible(self.details()))
        return cleaned

    def _filled(self) -> int:
        typed = self.data if self.is_bound else self.initial
        numbers = [int(name.split("_")[1]) for name in typed if name.startswith("contact_") and typed[name]]
        return max((number for number in numbers if number <= MOST_CONTACTS), default=0)


def _contact_fields() -> dict[str, forms.Field]:
    return {
        "kind": TermField(ContactKind, required=False, label="What it is"),
        "place": forms.CharField(
            label="Where it sits", max_length=120, required=False, help_text="such as: between groups 2 and 3"
        ),
        "ohm": PossibleField.stated(
            "contact_ohm", whole=False, required=False, label="Read", help_text="such as 10 kΩ"
        ),
        "open": forms.BooleanField(required=False, label="open"),
        "mdegc": PossibleField.stated("temperature_mdegc", required=False, label="Temperature then"),
    }
