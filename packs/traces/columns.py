"""What the columns of a tester's file mean: a column layout per tester."""

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any, Self

from packs.terms import Term


class Role(Term):
    """What a column holds; the value is its name, with its unit, in the series that is kept."""

    TIME = "time_s", "time"
    STEP_TIME = "step_time_s", "time within the step"
    CLOCK = "clock_s", "clock time"
    CURRENT = "current_a", "current"
    VOLTAGE = "voltage_v", "voltage"
    POWER = "power_w", "power"
    TEMPERATURE = "temperature_degc", "cell temperature"
    AMBIENT = "ambient_degc", "ambient temperature"
    CYCLE = "cycle", "cycle count"
    STEP_COUNT = "step_count", "step count"
    STEP_ID = "step_id", "program step"
    STEP_TYPE = "step_type", "kind of step"
    RECORD = "record", "row number"
    CHANNEL = "channel", "cell or channel"
    CHARGE_CAPACITY = "charge_ah", "charged capacity"
    DISCHARGE_CAPACITY = "discharge_ah", "discharged capacity"
    CAPACITY = "capacity_ah", "capacity"
    CHARGE_ENERGY = "charge_wh", "charged energy"
    DISCHARGE_ENERGY = "discharge_wh", "discharged energy"
    ENERGY = "energy_wh", "energy"
    AC_RESISTANCE = "ac_resistance_ohm", "1 kHz resistance"
    TESTER_RESISTANCE = "tester_resistance_ohm", "resistance by the tester, method not stated"


WORDS = frozenset({Role.STEP_TYPE, Role.CHANNEL})
REQUIRED = (Role.TIME, Role.CURRENT, Role.VOLTAGE)


class CurrentSign(StrEnum):
    """How a file counts the current."""

    CHARGE_POSITIVE = "charge_positive"
    DISCHARGE_POSITIVE = "discharge_positive"
    UNSIGNED = "unsigned"
    FIND = "find"


@dataclass(frozen=True)
class Column:
    """One column that is read.

    Attributes
    ----------
    source : str or int
        Its name in the file, or its number from 1 where there are no names or a name comes twice.
    unit : str
        Unit of its values as headings write it, such as ``mA`` or ``µA``; empty for counts and words.
    """

    role: Role
    source: str | int
    unit: str = ""


@dataclass(frozen=True)
class ColumnLayout:
    """How one tester writes its files.

    Attributes
    ----------
    name : str
        What the shop calls it.
    columns : tuple of Column
        The columns that are read; the others are left alone.
    delimiter, decimal : str
        What stands between values, and the decimal mark.
    encoding : str
        As Python names it.
    lines_before : int
        Lines before the line of column names, or before the first row where there are none.
    header_lines : int
        Lines of column names: 0, 1, or 2 where units stand on a line of their own.
    lines_after : int
        Lines after the last row that are no rows.
    section : int or None
        Which table, from 1, where a file holds several; ``None`` asks for the one with time, current and voltage.
    sheet : str
        Sheet of a workbook; empty takes the first with a table.
    sign : CurrentSign
        How the current is counted.
    date_format : str
        How a clock time is written, in the notation of ``strftime``; empty tries the unambiguous ones.
    headings : tuple of str
        All column names of the file it was stated over; the next file with the same ones is of the same tester.
    """

    name: str
    columns: tuple[Column, ...]
    delimiter: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    lines_before: int = 0
    header_lines: int = 1
    lines_after: int = 0
    section: int | None = None
    sheet: str = ""
    sign: CurrentSign = CurrentSign.FIND
    date_format: str = ""
    headings: tuple[str, ...] = ()

    def column(self, role: Role) -> Column | None:
        """Return the column of a role."""
        return next((column for column in self.columns if column.role is role), None)

    def facts(self) -> dict[str, Any]:
        """Return the layout as plain values, for storing; without headings it is as it was before they were kept."""
        facts = asdict(self)
        return facts if self.headings else {name: value for name, value in facts.items() if name != "headings"}

    @classmethod
    def from_facts(cls, facts: dict[str, Any]) -> Self:
        """Return the layout that was stored as plain values."""
        columns = tuple(Column(Role(each["role"]), each["source"], each["unit"]) for each in facts["columns"])
        headings = tuple(facts.get("headings", ()))
        return cls(**{**facts, "columns": columns, "sign": CurrentSign(facts["sign"]), "headings": headings})
