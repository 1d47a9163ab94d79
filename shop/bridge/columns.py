"""What the columns of a table of tested cells mean: which rows count, each cell's code, and its readings as stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from packs.errors import PacksError
from packs.terms import Measure, Term
from packs.units import NumberFormat, measure_kind, parse, to
from packs.units.kinds import FACTS

from .tables import Row, Table

_BRACKETS = " \t)]}"


class Comparison(Term):
    """How a row's field is held against a word."""

    IS = "is", "is"
    IS_NOT = "is_not", "is not"
    STARTS_WITH = "starts_with", "starts with"
    ENDS_WITH = "ends_with", "ends with"
    CONTAINS = "contains", "contains"


@dataclass(frozen=True)
class RowFilter:
    """Lets through the rows whose field in a column compares with the word; letter case counts."""

    column: int
    comparison: Comparison
    word: str

    def passes(self, row: Row) -> bool:
        """Whether the row counts."""
        text = row.field(self.column)
        match self.comparison:
            case Comparison.IS:
                return text == self.word
            case Comparison.IS_NOT:
                return text != self.word
            case Comparison.STARTS_WITH:
                return text.startswith(self.word)
            case Comparison.ENDS_WITH:
                return text.endswith(self.word)
            case _:
                return self.word in text


@dataclass(frozen=True)
class Column:
    """A column counted from 0, and the unit of its bare numbers as people type it."""

    number: int
    unit: str


@dataclass(frozen=True)
class Choice:
    """What a person said about a table. ``cut_at`` ends the code: what stands before its first occurrence is kept."""

    code: int
    measures: Mapping[Measure, Column]
    filters: Sequence[RowFilter] = ()
    cut_at: str = ""
    numbers: NumberFormat | None = None


@dataclass(frozen=True)
class CellLine:
    """One row that counts, as it was read."""

    line: int
    code: str
    readings: Mapping[Measure, Decimal]


@dataclass(frozen=True)
class Taken:
    """What a choice takes from a table: the lines that count, and by line what is wrong with a row."""

    lines: tuple[CellLine, ...]
    problems: tuple[tuple[int, str], ...]


def take(table: Table, choice: Choice) -> Taken:
    """Read every row that passes all filters; a row with something wrong is named, never guessed."""
    lines: list[CellLine] = []
    problems: list[tuple[int, str]] = []
    for row in table.rows:
        if all(one.passes(row) for one in choice.filters):
            line, wrong = _read(table, row, choice)
            lines.append(line)
            problems.extend((row.line, message) for message in wrong)
    return Taken(tuple(lines), tuple(problems))


def unit_in_heading(heading: str, measure: Measure) -> str:
    """Return the unit that a heading ends in, such as mΩ in "R (mΩ)" or Ah in "q_ah"; empty where there is none."""
    bare = heading.rstrip(_BRACKETS)
    for spelling in sorted(FACTS[measure_kind(measure)].spellings, key=len, reverse=True):
        before = bare.removesuffix(spelling)
        if before != bare and not before[-1:].isalnum():
            return spelling
    return ""


@dataclass(frozen=True)
class Meant:
    """What headings say by themselves: columns counted from 0; a person looks over it before anything comes in."""

    code: int | None
    measures: Mapping[Measure, int]


NAMES: Mapping[Measure, frozenset[str]] = {
    Measure.CAPACITY: frozenset({"capacity", "discharge capacity", "cap", "q", "kapazität"}),
    Measure.DC_RESISTANCE: frozenset({"dc resistance", "dcir", "dc ir", "dcr", "r dc", "innenwiderstand dc"}),
    Measure.AC_RESISTANCE: frozenset({"ac resistance", "1 khz resistance", "acir", "ac ir", "acr", "r ac"}),
    Measure.REST_VOLTAGE: frozenset(
        {"rest voltage", "open circuit voltage", "ocv", "ruhespannung", "leerlaufspannung"}
    ),
    Measure.SELF_DISCHARGE: frozenset({"self discharge", "selbstentladung"}),
    Measure.MASS: frozenset({"mass", "weight", "masse", "gewicht"}),
}
"""Words of the trade for what is measured, without unit; common practice, no source. A plain resistance is neither."""
CODES = frozenset({"cell", "cell code", "cell id", "code", "barcode", "cell no", "cell number", "zelle", "zellcode"})


def meant(headings: Sequence[str]) -> Meant:
    """Return what the headings of a table say by themselves; a word that comes twice says nothing."""
    found: dict[Measure, list[int]] = {}
    codes = [n for n, heading in enumerate(headings) if _plain_words(heading) in CODES]
    for number, heading in enumerate(headings):
        for measure, names in NAMES.items():
            if _plain_words(heading.rstrip(_BRACKETS).removesuffix(unit_in_heading(heading, measure))) in names:
                found.setdefault(measure, []).append(number)
    return Meant(
        codes[0] if len(codes) == 1 else None,
        {measure: places[0] for measure, places in found.items() if len(places) == 1},
    )


def _plain_words(heading: str) -> str:
    """A heading in small letters, marks and brackets made blanks."""
    return " ".join("".join(letter if letter.isalnum() else " " for letter in heading.lower()).split())


def decimal_mark(table: Table, usual: str) -> str:
    """Return the decimal mark that the table's own numbers show, or the usual one where they leave it open."""
    shown = {mark: sum(_shows(field, mark) for row in table.rows[:200] for field in row.fields) for mark in ".,"}
    return usual if shown["."] == shown[","] else max(shown, key=lambda mark: shown[mark])


def _shows(field: str, mark: str) -> bool:
    """Whether a field can only be a number with this decimal mark: three digits behind it could be a group."""
    whole, _, part = field.partition(mark)
    return whole.removeprefix("-").isdecimal() and part.isdecimal() and len(part) != 3


def _read(table: Table, row: Row, choice: Choice) -> tuple[CellLine, list[str]]:
    code = _code(row, choice)
    if misfit := table.misfit(row):
        return CellLine(row.line, code, {}), [misfit]
    problems: list[str] = []
    readings: dict[Measure, Decimal] = {}
    for measure, column in choice.measures.items():
        try:
            value = _value(row.field(column.number), measure, column.unit, choice.numbers)
        except PacksError as error:
            problems.append(f"{measure.label}: {error}")
        else:
            readings |= {} if value is None else {measure: value}
    return CellLine(row.line, code, readings), problems


def _code(row: Row, choice: Choice) -> str:
    text = row.field(choice.code)
    return text.partition(choice.cut_at)[0].strip() if choice.cut_at else text


def _value(text: str, measure: Measure, unit: str, numbers: NumberFormat | None) -> Decimal | None:
    """Return the stored number of a field; an empty one was not measured."""
    if not text:
        return None
    return to(measure, parse(text, measure_kind(measure), default_unit=unit, numbers=numbers))
