"""Forms that state how a tester writes its files: first how the lines are written, then what the columns hold."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from shop.bridge.trace_words import DELIMITERS, SIGNS
from shop.bridge.traces import Column, ColumnLayout, CurrentSign, Role, units_of

from .base import ShopForm

MOST_LINES = 400
NONE = ""
MAIN = (Role.TIME, Role.CLOCK, Role.CURRENT, Role.VOLTAGE, Role.TEMPERATURE, Role.STEP_TYPE, Role.STEP_ID)
"""What most files have; the other roles are folded away."""

ENCODINGS = {"utf-8": "UTF-8", "utf-8-sig": "UTF-8 with a mark", "utf-16": "UTF-16", "cp1252": "western, one byte"}


class WrittenForm(ShopForm):
    """How the lines of a file are written."""

    delimiter = forms.ChoiceField(
        label="Between values", choices=[(word, word) for word in DELIMITERS.values()], initial="comma"
    )
    decimal = forms.ChoiceField(
        label="Decimal mark", choices=[(".", "point, as in 3.62"), (",", "comma, as in 3,62")], initial="."
    )
    encoding = forms.ChoiceField(label="Letters", choices=list(ENCODINGS.items()), initial="utf-8")
    lines_before = forms.IntegerField(
        label="Lines before the headings", min_value=0, max_value=MOST_LINES - 10, initial=0
    )
    header_lines = forms.TypedChoiceField(
        label="Headings",
        choices=[(1, "one line"), (2, "one line, units on a line below"), (0, "none")],
        coerce=int,
        initial=1,
    )
    lines_after = forms.IntegerField(
        label="Lines after the last row", min_value=0, max_value=MOST_LINES, initial=0, help_text="that are no rows"
    )
    section = forms.IntegerField(
        label="Which table", min_value=1, max_value=99, required=False, help_text="where the file holds several, from 1"
    )
    sheet = forms.CharField(label="Sheet", max_length=80, required=False, help_text="of a workbook")

    def layout(self) -> ColumnLayout:
        """Return the layout as far as it is stated here, without columns."""
        values = self.values()
        marks = {word: mark for mark, word in DELIMITERS.items()}
        return ColumnLayout("", (), **{**values, "delimiter": marks[values["delimiter"]]})


def written(layout: ColumnLayout) -> dict[str, Any]:
    """Return what the form of a layout says."""
    facts = {name: getattr(layout, name) for name in WrittenForm.base_fields}
    return {**facts, "delimiter": DELIMITERS.get(layout.delimiter, "comma"), "section": layout.section or ""}


class ColumnsForm(ShopForm):
    """What each column holds, how the current is counted, and the name of it all."""

    sign = forms.TypedChoiceField(
        label="How the current is counted",
        choices=[
            (CurrentSign.FIND.value, "find out from the file"),
            (CurrentSign.CHARGE_POSITIVE.value, "charge positive"),
            (CurrentSign.DISCHARGE_POSITIVE.value, "discharge positive"),
            (CurrentSign.UNSIGNED.value, "without a sign"),
        ],
        coerce=CurrentSign,
        initial=CurrentSign.FIND.value,
    )
    date_format = forms.CharField(
        label="How a clock time is written",
        max_length=40,
        required=False,
        help_text="such as %d.%m.%Y %H:%M:%S; only where day and month cannot be told apart",
    )
    name = forms.CharField(
        label="Name of the layout", max_length=80, required=False, help_text="such as the tester it comes from"
    )

    def __init__(self, *args: Any, names: Sequence[str], known: Sequence[Column], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = names
        chosen = {column.role: column for column in known}
        places = [(str(n), f"{n}: {name}" if name else f"column {n}") for n, name in enumerate(names, start=1)]
        for role in Role:
            self.fields |= _role_fields(role, places, self._place(chosen.get(role)), chosen.get(role))

    def _place(self, column: Column | None) -> str:
        if column is None:
            return NONE
        if isinstance(column.source, int):
            return str(column.source)
        return str(self.names.index(column.source) + 1) if column.source in self.names else NONE

    def clean(self) -> dict[str, Any]:
        """A column holds one thing, and a measured one has a unit."""
        values = super().clean() or {}
        taken: dict[str, Role] = {}
        for role in Role:
            place = values.get(f"{role.value}_column", NONE)
            if place == NONE:
                continue
            if place in taken:
                self.add_error(f"{role.value}_column", f"This column holds the {taken[place].label} already.")
            elif units_of(role) and role is not Role.CLOCK and not values.get(f"{role.value}_unit"):
                self.add_error(f"{role.value}_unit", "Say in which unit.")
            taken[place] = role
        return values

    def stated(self, lines: ColumnLayout) -> ColumnLayout:
        """Return the whole layout."""
        values = self.cleaned_data
        columns = tuple(
            Column(role, self._source(values[f"{role.value}_column"]), values.get(f"{role.value}_unit", ""))
            for role in Role
            if values[f"{role.value}_column"] != NONE
        )
        name = values["name"].strip()
        headings = tuple(self.names) if any(self.names) else ()
        return replace(
            lines,
            name=name,
            columns=columns,
            sign=values["sign"],
            date_format=values["date_format"],
            headings=headings,
        )

    def _source(self, place: str) -> str | int:
        name = self.names[int(place) - 1]
        return name if name and self.names.count(name) == 1 else int(place)

    @property
    def main(self) -> Iterator[tuple[BoundField, BoundField | None]]:
        """The fields of what most files have."""
        return (self._pair(role) for role in MAIN)

    @property
    def others(self) -> Iterator[tuple[BoundField, BoundField | None]]:
        """The fields of everything else."""
        return (self._pair(role) for role in Role if role not in MAIN)

    @property
    def others_said(self) -> bool:
        """Whether something stands in the folded part that somebody must see."""
        names = [field.name for pair in self.others for field in pair if field is not None]
        return any(name in self.errors for name in names)

    def _pair(self, role: Role) -> tuple[BoundField, BoundField | None]:
        unit = f"{role.value}_unit"
        return self[f"{role.value}_column"], self[unit] if unit in self.fields else None


def _role_fields(
    role: Role, places: Sequence[tuple[str, str]], place: str, column: Column | None
) -> Mapping[str, forms.Field]:
    label = role.label[0].upper() + role.label[1:]
    fields: dict[str, forms.Field] = {
        f"{role.value}_column": forms.ChoiceField(
            label=label, choices=[(NONE, "not in the file"), *places], required=False, initial=place
        )
    }
    if units := units_of(role):
        given = column.unit if column is not None else ""
        known = units if given in (*units, "") else (given, *units)
        fields[f"{role.value}_unit"] = forms.ChoiceField(
            label=f"Unit of the {role.label}, if a number" if role is Role.CLOCK else f"Unit of the {role.label}",
            choices=[("", "choose"), *((unit, unit) for unit in known)],
            required=False,
            initial=given,
        )
    for field in fields.values():
        # what is not in the file says so itself
        field.due = True  # type: ignore[attr-defined]
    return fields


__all__ = ["SIGNS", "ColumnsForm", "WrittenForm", "written"]
