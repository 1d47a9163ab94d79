"""Forms of the import: the file, then what its columns mean."""

from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.forms.boundfield import BoundField
from django.utils import timezone

from packs.errors import ParseError
from packs.terms import Measure
from packs.units import Kind, NumberFormat, show, ureg
from shop.bridge import columns, tables
from shop.bridge.columns import Choice, Column, Comparison, RowFilter
from shop.bridge.how_measured import FASTEST
from shop.models import Instrument, Lot

from .base import QuantityField, ShopForm, TermField
from .readings import due

LARGEST_FILE = 5 * 1024 * 1024
FILTERS = 3
NONE = "-"
UNITS = {
    Measure.CAPACITY: ("Ah", "mAh"),
    Measure.DC_RESISTANCE: ("mΩ", "Ω", "µΩ"),
    Measure.AC_RESISTANCE: ("mΩ", "Ω", "µΩ"),
    Measure.REST_VOLTAGE: ("V", "mV"),
    Measure.SELF_DISCHARGE: ("mV/day", "µV/day"),
    Measure.MASS: ("g", "mg", "kg"),
}
"""What a table of tested cells may bring, and the units its numbers may stand in."""


class TableField(forms.FileField):
    """A delimited text file or a workbook; its value is the bytes, read once to see that they are a table."""

    def clean(self, data: Any, initial: Any = None) -> bytes:
        """Return the bytes of a file that holds a table."""
        file: UploadedFile[Any] = super().clean(data, initial)
        if file.size is None or file.size > LARGEST_FILE:
            raise forms.ValidationError(f"Only tables of up to {LARGEST_FILE // 2**20} MB come in. Split this one.")
        content: bytes = file.read()
        try:
            tables.read(content)
        except ParseError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        return content


class LotField(forms.ModelChoiceField):  # type: ignore[type-arg]  # generic only to the type checker
    """A lot, named with its cell model."""

    def label_from_instance(self, obj: Any) -> str:
        """Return the lot's code and cell model."""
        return f"{obj.code}, {obj.cell_model}"


class UploadForm(ShopForm):
    """The file itself."""

    table = TableField(
        label="Table of tested cells",
        help_text="A CSV or XLSX file: one line of headings, then one row for each cell. Columns and units come next.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,text/csv,text/plain"}),
        error_messages={"empty": "This file is empty.", "required": "Choose a file."},
    )


class ColumnsForm(ShopForm):
    """What the columns of one table mean, which rows count, and how they were measured."""

    sure = forms.BooleanField(
        required=False, label="These values are true: let them in as they stand", widget=forms.CheckboxInput()
    )
    lot = LotField(
        Lot.objects.filter(donor_job__isnull=True).select_related("cell_model"),
        label="Lot they belong to",
        empty_label="choose",
    )
    cut_at = forms.CharField(
        label="Keep only the part before",
        required=False,
        max_length=5,
        strip=False,
        help_text="such as -, where the code goes on with something that is not the cell's: D3-600 becomes D3",
    )
    decimal = forms.ChoiceField(
        label="Decimal mark in the table", choices=[(".", "point, as in 3.62"), (",", "comma, as in 3,62")]
    )
    method = due(
        forms.CharField(
            label="How the DC resistance was measured",
            required=False,
            max_length=80,
            help_text="needed where a DC resistance comes in, such as DC pulse 5 s: only like is matched with like",
        )
    )
    charge = QuantityField(
        Kind.FRACTION,
        "percent",
        typed_unit="%",
        label="Resistance read at what charge",
        required=False,
        help_text="such as 50 %; it is noted with the resistances alone",
    )
    rate = QuantityField(
        Kind.C_RATE,
        "1/hour",
        typed_unit="C",
        label="Current of the capacity test",
        required=False,
        help_text="by rated capacity, such as 0.2 C; without it no cell of the table gets a grade for its health",
    )
    temperature = QuantityField.of(Measure.TEMPERATURE, label="At what temperature", required=False)
    instrument = forms.ModelChoiceField(
        Instrument.objects.all(), required=False, label="Tester", empty_label="no tester named"
    )
    measured_on = forms.DateField(
        label="Tested on", required=False, widget=forms.DateInput(attrs={"type": "date"}), help_text="today, if empty"
    )

    def __init__(self, *args: Any, table: tables.Table, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.table = table
        names = [(str(n), heading or f"column {n + 1}") for n, heading in enumerate(table.headings)]
        meant = columns.meant(table.headings)
        code = str(meant.code) if meant.code is not None else ""
        self.fields["code"] = forms.ChoiceField(
            label="Code of the cell", choices=[("", "choose"), *names], initial=code
        )
        for measure, units in UNITS.items():
            found = str(meant.measures.get(measure, NONE))
            self.fields[f"{measure.value}_column"] = _column(names, label=_title(measure.label), initial=found)
            self.fields[f"{measure.value}_unit"] = _unit(units, measure.label)
        for n in range(FILTERS):
            self.fields |= _filter(n, names)
        usual = self.numbers.decimal if self.numbers else None
        self.fields["decimal"].initial = columns.decimal_mark(table, usual or ".")
        if table.sheet:
            _as_on_the_sheet(self.fields["decimal"])

    def clean(self) -> dict[str, Any]:
        """Ask for what is missing beside what was chosen."""
        values = super().clean() or {}
        self._check_columns(values)
        if Measure.DC_RESISTANCE in self._chosen(values) and not values.get("method"):
            self.add_error("method", "Say how the DC resistance was measured: only like is matched with like.")
        for n in range(FILTERS):
            if (values.get(f"filter{n}_column", NONE) != NONE) != bool(values.get(f"filter{n}_word")):
                self.add_error(f"filter{n}_word", "A filter needs a column and a word.")
        return values

    def _check_columns(self, values: dict[str, Any]) -> None:
        """A column has one meaning, and its numbers have a unit that somebody named."""
        taken: set[str] = set()
        for measure in self._chosen(values):
            column = values[f"{measure.value}_column"]
            if column in taken:
                self.add_error(f"{measure.value}_column", "This column has another meaning already.")
            elif not self._unit_of(measure, values):
                heading = self.table.headings[int(column)]
                self.add_error(f"{measure.value}_unit", f"The heading “{heading}” names no unit this can be in.")
            taken.add(column)

    def clean_measured_on(self) -> date | None:
        """Refuse a day that lies ahead."""
        day: date | None = self.cleaned_data["measured_on"]
        if day and day > timezone.localdate():
            raise forms.ValidationError("This day lies ahead.")
        return day

    def choice(self) -> Choice:
        """Return what was said about the table."""
        values = self.cleaned_data
        return Choice(
            code=int(values["code"]),
            cut_at=values["cut_at"],
            measures={
                measure: Column(int(values[f"{measure.value}_column"]), self._unit_of(measure, values))
                for measure in self._chosen(values)
            },
            filters=tuple(self._filters()),
            numbers=NumberFormat(decimal=values["decimal"]),
        )

    def clean_rate(self) -> Decimal | None:
        """Refuse a current at which no capacity is measured on this bench."""
        rate: Decimal | None = self.cleaned_data["rate"]
        if rate is not None and not 0 < rate <= FASTEST:
            raise forms.ValidationError(f"A capacity is measured at more than 0 C and at most {FASTEST:.0f} C.")
        return rate

    def conditions(self) -> str:
        """Return in words what held for every reading: the temperature, where it is known."""
        return _said(self._warm())

    def conditions_of(self) -> dict[Measure, str]:
        """Return what held for some readings alone: a charge is of resistances, a current of the capacity."""
        charge, rate = self.cleaned_data["charge"], self.cleaned_data["rate"]
        at_charge = f"{_plain(charge, 'percent', Kind.FRACTION)} charge" if charge is not None else ""
        at_rate = _plain(rate, "1/hour", Kind.C_RATE) if rate is not None else ""
        return {
            Measure.DC_RESISTANCE: _said(at_charge, self._warm()),
            Measure.AC_RESISTANCE: _said(at_charge, self._warm()),
            Measure.CAPACITY: _said(at_rate, self._warm()),
        }

    def _warm(self) -> str:
        temperature = self.cleaned_data["temperature"]
        return _plain(temperature / 1000, "degC", Kind.TEMPERATURE) if temperature is not None else ""

    def measured_at(self) -> datetime | None:
        """Return the moment the day of the test began; None where no day was said."""
        day = self.cleaned_data["measured_on"]
        return timezone.make_aware(datetime.combine(day, time())) if day else None

    def measures(self) -> list[tuple[BoundField, BoundField]]:
        """Return the column and the unit of each measure, side by side."""
        return [(self[f"{measure.value}_column"], self[f"{measure.value}_unit"]) for measure in UNITS]

    def filters(self) -> list[tuple[BoundField, BoundField, BoundField]]:
        """Return column, comparison and word of each filter, side by side."""
        return [
            (self[f"filter{n}_column"], self[f"filter{n}_comparison"], self[f"filter{n}_word"]) for n in range(FILTERS)
        ]

    def _chosen(self, values: dict[str, Any]) -> list[Measure]:
        return [measure for measure in UNITS if values.get(f"{measure.value}_column", NONE) != NONE]

    def _unit_of(self, measure: Measure, values: dict[str, Any]) -> str:
        unit: str = values.get(f"{measure.value}_unit", NONE)
        heading = self.table.headings[int(values[f"{measure.value}_column"])]
        return columns.unit_in_heading(heading, measure) if unit == NONE else unit

    def _filters(self) -> Iterator[RowFilter]:
        for n in range(FILTERS):
            column, comparison, word = (
                self.cleaned_data[f"filter{n}_{part}"] for part in ("column", "comparison", "word")
            )
            if column != NONE:
                yield RowFilter(int(column), comparison, word)


def _as_on_the_sheet(decimal: forms.Field) -> None:
    """Numbers of a workbook are numbers already: nothing is to be said about their decimal mark."""
    decimal.choices = [(".", "numbers as they are in the workbook")]  # type: ignore[attr-defined]
    decimal.initial = "."


def _column(names: list[tuple[str, str]], *, label: str, initial: str = NONE) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[(NONE, "not in the table"), *names], initial=initial)


def _unit(units: tuple[str, ...], label: str) -> forms.ChoiceField:
    choices = [(NONE, "from its heading"), *((unit, unit) for unit in units)]
    return forms.ChoiceField(label="Unit", choices=choices, widget=_named(forms.Select, f"Unit of the {label}"))


def _named(widget: type[forms.Widget], name: str) -> forms.Widget:
    """Return a widget whose short label is said in full to those who do not see what it stands beside."""
    return widget(attrs={"aria-label": name})


def _filter(n: int, names: list[tuple[str, str]]) -> dict[str, forms.Field]:
    name = f"filter {n + 1}"
    return {
        f"filter{n}_column": forms.ChoiceField(
            label="Column", choices=[(NONE, "no filter"), *names], widget=_named(forms.Select, f"Column of {name}")
        ),
        f"filter{n}_comparison": TermField(
            Comparison, label="How", initial=Comparison.IS.value, widget=_named(forms.Select, f"How, {name}")
        ),
        f"filter{n}_word": forms.CharField(
            label="Word", required=False, max_length=80, widget=_named(forms.TextInput, f"Word of {name}")
        ),
    }


def _title(label: str) -> str:
    return label[0].upper() + label[1:]


def _said(*known: str) -> str:
    said = ", ".join(one for one in known if one)
    return f"at {said}" if said else ""


def _plain(value: Decimal, unit: str, kind: Kind) -> str:
    """Return a number as it stands in the book: without needless digits, the same in every shop."""
    shown = show(ureg.Quantity(float(value), unit), kind, locale="en")
    return f"{shown.value.removesuffix('.0')} {shown.unit}"
