"""The form of the pack as found. Group voltages are one line of text, or one field each once the arrangement is known."""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from django import forms

from packs.errors import ParseError
from packs.terms import JointMethod, Measure, Protects, Unpowered
from shop.bridge.topology import Arrangement, arrangement_typed
from shop.errors import ShopError
from shop.models import CellModel, Instrument

from .base import QuantityField, ShopForm, TermField, TermsField
from .possible import ArrangementField

MOST_GROUP_FIELDS = 60
LONGEST_COUNT = 4
ONE_EACH = re.compile(r"group_([1-9][0-9]?)")
UNIT_APART = re.compile(r"(?<=[0-9])\s+(?=[A-Za-zµ]{1,3}\b)")
BETWEEN = re.compile(r"\s*;\s*|,?\s+")


def parted(text: str) -> list[str]:
    """Return the single voltages of "3.61 3.60 V 3,62; 3.59", each with its unit where it has one."""
    return [part for part in BETWEEN.split(UNIT_APART.sub("", text.strip())) if part]


class ExamineForm(ShopForm):
    """The pack as found."""

    cell_model = forms.ModelChoiceField(CellModel.objects.all(), label="Cell model", empty_label="choose")
    arrangement = ArrangementField(label="Arrangement")
    counts = forms.CharField(
        label="Cells of each group, where they differ",
        required=False,
        max_length=400,
        help_text="counted from the negative end: 2 2 1 2",
        widget=forms.TextInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
    )
    joint_method = TermField(JointMethod, label="How the cells are joined")
    housing = forms.CharField(
        label="How the case is shut", max_length=160, required=False, help_text="such as four screws, or a glued seam"
    )
    board = forms.CharField(
        label="Board and sensors",
        max_length=200,
        required=False,
        help_text="such as: taps on every group, one sensor between groups 2 and 3",
    )
    protects = TermsField(Protects, label="What the board does", help_text="as far as it is known")
    unpowered = TermField(
        Unpowered, required=False, initial=Unpowered.UNKNOWN.value, label="The board, once it has been without supply"
    )
    pack_voltage = QuantityField.of(
        Measure.REST_VOLTAGE, required=False, label="Pack voltage", help_text="0 V is a finding"
    )
    group_voltages = forms.CharField(
        label="Group voltages",
        required=False,
        max_length=2000,
        help_text="from the negative end, with spaces between: 3.61 3.60 3.62 3.59",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Meter", empty_label="no meter named"
    )
    note = forms.CharField(
        label="What else you saw", max_length=4000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, one_each: bool = False, opened: bool = True, **kwargs: Any) -> None:
        """Ask how the cells are joined of a pack that is opened; of one that is only tested nobody sees it."""
        super().__init__(*args, **kwargs)
        if not opened:
            del self.fields["joint_method"]
        models = self.fields["cell_model"]
        assert isinstance(models, forms.ModelChoiceField)  # noqa: S101 - declared above
        models.queryset = CellModel.objects.usable(self.initial.get("cell_model"))
        typed = self.data if self.is_bound else self.initial
        sent = [int(match[1]) for name in typed if (match := ONE_EACH.fullmatch(name)) and typed[name]]
        groups = _series(str(typed.get("arrangement") or ""))
        self.groups = max([groups, *sent]) if one_each or any(ONE_EACH.fullmatch(name) for name in typed) else 0
        if not 0 < self.groups <= MOST_GROUP_FIELDS:
            self.groups = 0
            return
        del self.fields["group_voltages"]
        line = parted(str(typed.get("group_voltages") or ""))
        for number in range(1, self.groups + 1):
            self.fields[f"group_{number}"] = self._voltage(f"Group {number}")
        parts = {f"group_{number}": text for number, text in enumerate(line, start=1)}
        self.initial = {**parts, **self.initial}

    def refuse(self, error: ShopError) -> None:
        """Name the group of each doubt where all voltages stand in one line."""
        if not self.groups and "fields" in error.facts:
            named = {field: _of_group(field, message) for field, message in error.facts["fields"].items()}
            error.facts["fields"] = named
        super().refuse(error)

    def typed_numbers(self, name: str) -> Iterator[tuple[QuantityField, str]]:
        """Yield the numbers of a field, one after the other where all groups stand in one line."""
        if name == "group_voltages":
            return ((self._voltage(""), text) for text in parted(self.data.get(name) or ""))
        return super().typed_numbers(name)

    def name_of(self, field: str) -> str:
        """Return the field in which a group's voltage was typed."""
        if not field.startswith("group "):
            return field
        return field.replace(" ", "_") if self.groups else "group_voltages"

    def group_rows(self) -> Iterator[forms.BoundField]:
        """Yield the voltage fields of the groups in order."""
        return (self[f"group_{number}"] for number in range(1, self.groups + 1))

    def voltages(self) -> Sequence[Decimal]:
        """Return the voltage of every group, or none at all."""
        if not self.groups:
            return self.cleaned_data["group_voltages"] or []
        given = (self.cleaned_data.get(f"group_{number}") for number in range(1, self.groups + 1))
        return [value for value in given if value is not None]

    def clean_group_voltages(self) -> list[Decimal]:
        """Read the voltages of the one line; a fault names its group."""
        read = []
        for number, text in enumerate(parted(self.cleaned_data["group_voltages"]), start=1):
            try:
                value = self._voltage("").clean(text)
            except forms.ValidationError as error:
                raise forms.ValidationError(f"Group {number}: {error.messages[0]}", code="unreadable") from error
            if value is not None:
                read.append(Decimal(value))
        return read

    def clean_counts(self) -> list[int]:
        """Read how many cells each group has."""
        parts = [part for part in re.split(r"[\s,;+]+", self.cleaned_data["counts"].strip()) if part]
        if strange := [
            part for part in parts if not (part.isascii() and part.isdigit() and len(part) <= LONGEST_COUNT)
        ]:
            raise forms.ValidationError(f"“{strange[0]}” is no count of cells; expected such as 2 2 1 2.")
        return [int(part) for part in parts]

    def clean(self) -> dict[str, Any]:
        """One voltage for each group or none: which field is empty only the page knows."""
        cleaned = super().clean() or self.cleaned_data
        arrangement = cleaned.get("arrangement")
        if arrangement is not None:
            self._check_count(arrangement)
        return cleaned

    def _check_count(self, arrangement: Arrangement) -> None:
        names = [f"group_{number}" for number in range(1, self.groups + 1)] or ["group_voltages"]
        if any(name in self.errors for name in names):
            return
        count = len(self.voltages())
        if count in (0, arrangement.series) and self.groups in (0, arrangement.series):
            return
        words = f"{arrangement} has {arrangement.series} groups, {count} voltages are given."
        empty = [name for name in names if self.groups == arrangement.series and self.cleaned_data[name] is None]
        if empty:
            self.add_error(empty[0], f"{words} Measure this group too, or leave all of them empty.")
        else:
            self.add_error("arrangement" if self.groups else "group_voltages", words)

    def _voltage(self, label: str) -> QuantityField:
        field = QuantityField.of(Measure.REST_VOLTAGE, required=False, label=label)
        field.numbers = self.numbers
        return field


def _of_group(field: str, message: str) -> str:
    return f"{field.capitalize()}: {message}" if field.startswith("group ") else message


def _series(text: str) -> int:
    try:
        return arrangement_typed(text).series
    except ParseError:
        return 0
