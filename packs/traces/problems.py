"""What can be wrong with a tester file: one stable code each, and what was done about it."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from packs.errors import PacksError
from packs.terms import Term


class Verdict(StrEnum):
    """What a problem does to the file: all of it refused, some figures withheld, a rule applied, or only said."""

    REFUSED = "refused"
    WITHHELD = "withheld"
    REPAIRED = "repaired"
    WARNED = "warned"


class Problem(Term):
    """Everything that is looked for; the value is the code, which never changes."""

    # The file
    EMPTY_FILE = "empty_file", "the file is empty"
    NOT_TEXT = "not_text", "the file is neither text nor a table this shop reads"
    NUL_PADDING = "nul_padding", "zero bytes stand at the end of the file"
    GZIP_BROKEN = "gzip_broken", "the compressed file is damaged or cut off"
    UNPACKED_TOO_LARGE = "unpacked_too_large", "the file unpacks to more than is read"
    PARQUET_BROKEN = "parquet_broken", "the Parquet file is damaged or cut off"
    WORKBOOK_BROKEN = "workbook_broken", "the workbook is damaged or not a workbook"
    SHEET_MISSING = "sheet_missing", "the workbook has no sheet of that name"
    ENCODING = "encoding", "the text is not in the stated encoding"
    # The table
    NO_TABLE = "no_table", "no table of numbers was found"
    HEADER_MISSING = "header_missing", "the columns have no names; a column layout must say what they are"
    HEADER_ONLY = "header_only", "there are column names and no rows"
    TOO_FEW_ROWS = "too_few_rows", "a single row is no series"
    HEADER_REPEATED = "header_repeated", "the line of column names comes again between the rows"
    SECTIONS_DIFFER = "sections_differ", "the file holds several tables with different columns"
    OTHER_SECTION = "other_section", "other tables in the file were left out"
    FOOTER = "footer", "lines after the table were left out"
    COMMENT_LINES = "comment_lines", "lines of remarks between the rows were left out"
    COLUMN_COUNT = "column_count", "a row has too many or too few values"
    TRUNCATED = "truncated", "the last row is cut off"
    NOT_A_NUMBER = "not_a_number", "there is text where a number must stand"
    DECIMAL_MIXED = "decimal_mixed", "decimal points and decimal commas are mixed"
    GROUPED_NUMBERS = "grouped_numbers", "numbers are grouped in thousands and cannot be told from decimals"
    SEVERAL_CELLS = "several_cells", "the file holds more than one cell or channel"
    # The columns
    LAYOUT_COLUMN_MISSING = "layout_column_missing", "a column that the layout names is not in the file"
    TIME_MISSING = "time_missing", "there is no column of time"
    CURRENT_MISSING = "current_missing", "there is no column of current"
    VOLTAGE_MISSING = "voltage_missing", "there is no column of voltage"
    COLUMN_TWICE = "column_twice", "two columns claim to be the same quantity"
    UNIT_UNKNOWN = "unit_unknown", "the unit of a column is not known"
    UNIT_OF_ANOTHER_KIND = "unit_of_another_kind", "the unit of a column belongs to another quantity"
    UNIT_ASSUMED = "unit_assumed", "a column names no unit"
    OLD_COLUMN_NAME = "old_column_name", "a column has a name that the open format no longer uses"
    # Values
    INFINITE = "infinite", "a value is infinite"
    BLANK_ROWS = "blank_rows", "rows without time, current or voltage were left out"
    BLANKS = "blanks", "too many rows have no time, current or voltage"
    TIME_DUPLICATE = "time_duplicate", "time stamps occur twice"
    TIME_BACKWARD = "time_backward", "time runs backwards"
    TIME_RESET = "time_reset", "time starts again from zero"
    TIME_MIDNIGHT = "time_midnight", "the time of day passes midnight"
    TIME_STANDS = "time_stands", "time never advances"
    TIME_JUMP = "time_jump", "time leaps ahead by more than the rest of the file lasts"
    CLOCK_CHANGED = "clock_changed", "the clock was set back by an hour"
    TIME_UNIT = "time_unit", "elapsed time and clock time differ by a factor of 1000"
    CLOCKS_DISAGREE = "clocks_disagree", "elapsed time and clock time do not agree"
    TIME_FROM_STEPS = "time_from_steps", "time was put together from the time within each step"
    DATE_UNREADABLE = "date_unreadable", "the clock time cannot be read"
    DATE_AMBIGUOUS = "date_ambiguous", "day and month cannot be told apart"
    GAP = "gap", "rows are missing while current flows"
    GAP_BRIDGED = "gap_bridged", "a gap while a steady current flows was bridged by a straight line"
    INTERVAL_LONG = "interval_long", "a step has too few rows to be integrated"
    STEP_START_USED = "step_start_used", "steps whose first row comes late were counted from their start"
    STEP_START_UNKNOWN = "step_start_unknown", "the first row of a step comes late and its start is not recorded"
    STALE_ROWS = "stale_rows", "the same row repeats while current flows"
    SPIKE = "spike", "single values leap and come back"
    CURRENT_SPIKE = "current_spike", "single currents leap while the voltage does not move; they were left out"
    SIGN_MISSING = "sign_missing", "the current has no sign and nothing in the file gives it one"
    SIGN_FROM_STEP = "sign_from_step", "the sign of the current was taken from the kind of step"
    SIGN_FROM_COUNTERS = "sign_from_counters", "the sign of the current was taken from the tester's counters"
    SIGN_FROM_VOLTAGE = "sign_from_voltage", "which way the current is counted was found from the voltage"
    SIGN_REVERSED = "sign_reversed", "voltage answers the current the wrong way round"
    SIGN_UNKNOWN = "sign_unknown", "nothing shows which way the current is counted; charge was taken as positive"
    STEP_TYPE_CONTRADICTED = "step_type_contradicted", "the kind of step and the sign of the current disagree"
    VOLTAGE_UNIT_SLIP = "voltage_unit_slip", "voltages were a thousand times too large or too small for any cell"
    VOLTAGE_UNITS_MIXED = "voltage_units_mixed", "voltages change their unit within the file"
    VOLTAGE_IMPOSSIBLE = "voltage_impossible", "no single cell has such a voltage"
    VOLTAGE_NEGATIVE = "voltage_negative", "the voltage is negative: leads reversed or the cell driven below zero"
    VOLTAGE_ABOVE = "voltage_above", "the voltage goes above the charge limit"
    VOLTAGE_BELOW = "voltage_below", "the voltage goes below the end of discharge"
    CURRENT_UNIT_SLIP = "current_unit_slip", "the current is a thousand times too large or too small"
    CURRENT_IMPOSSIBLE = "current_impossible", "no cell of this size carries such a current"
    NO_CURRENT = "no_current", "no current flows in this file"
    POWER_DISAGREES = "power_disagrees", "power is not voltage times current"
    TEMPERATURE_IMPOSSIBLE = "temperature_impossible", "temperatures no sensor on a cell shows were left out"
    COUNTER_RESETS = "counter_resets", "a counter of the tester starts again within a step"
    COUNTER_DISAGREES = "counter_disagrees", "a counter of the tester does not agree with the current"
    CYCLE_COUNT = "cycle_count", "the cycle count is not a whole number that only grows"
    STEP_COUNT = "step_count", "the step count does not grow by one"


OF_THE_FILE = frozenset(
    {
        Problem.TIME_BACKWARD,
        Problem.CLOCK_CHANGED,
        Problem.TIME_JUMP,
        Problem.INFINITE,
        Problem.SEVERAL_CELLS,
        Problem.TOO_FEW_ROWS,
    }
)
"""What is amiss with the very file, however its columns are read: the layout of its tester may be right."""


@dataclass(frozen=True)
class Remark:
    """One thing found in a file.

    Attributes
    ----------
    rows : tuple of int or None
        First and last row concerned, from 1 in the series as kept.
    count : int
        How many rows or places are concerned; 0 where that makes no sense.
    """

    problem: Problem
    verdict: Verdict
    detail: str = ""
    rows: tuple[int, int] | None = None
    count: int = 0

    @property
    def code(self) -> str:
        """The stable code."""
        return self.problem.value

    @property
    def message(self) -> str:
        """Say what was found in one sentence, with its place and number."""
        text = self.problem.label[0].upper() + self.problem.label[1:]
        return f"{text}: {self.detail}." if self.detail else f"{text}."

    def touches(self, first: int, last: int) -> bool:
        """Tell whether rows ``first`` to ``last`` (from 1) are concerned."""
        return self.rows is not None and self.rows[0] <= last and self.rows[1] >= first

    def facts(self) -> dict[str, object]:
        """Return what is stored for ever beside a figure from this file."""
        return {"code": self.code, "verdict": self.verdict.value, "message": self.message, "count": self.count}


class TraceRefused(PacksError):
    """A file that cannot be trusted as a whole; ``code`` says why and never changes."""

    def __init__(self, problem: Problem, detail: str = "") -> None:
        self.problem, self.detail = problem, detail
        super().__init__(Remark(problem, Verdict.REFUSED, detail).message)

    @property
    def code(self) -> str:
        """The stable code."""
        return self.problem.value


def codes(remarks: Iterable[Remark]) -> list[str]:
    """Return the codes of remarks, in their order."""
    return [remark.code for remark in remarks]
