"""What a tester file gives, line by line as a page tells it: quantities with the conditions they hold under."""

from collections.abc import Iterator
from dataclasses import dataclass

from packs.traces import Column, ColumnLayout, CurrentSign, Figures, Role, Trace
from packs.traces.steps import Step
from packs.units import Kind, Quantity, Shown, show, ureg

SIGNS = {
    CurrentSign.CHARGE_POSITIVE: "charge counts positive",
    CurrentSign.DISCHARGE_POSITIVE: "discharge counts positive; it was turned round",
    CurrentSign.UNSIGNED: "without a sign; the kind of step or the tester's counters give it",
    CurrentSign.FIND: "found from the file; charge counts positive in what follows",
}
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright bar", " ": "blanks"}
STEPS_TOLD = 40
LINES_TOLD = 40
ROWS_TOLD = 8
UNITS = {"s": "s", "a": "A", "v": "V", "w": "W", "degc": "°C", "ah": "Ah", "wh": "Wh", "ohm": "Ω"}
"""How the names of the columns of a series end, and the unit that says."""
Value = Quantity | Shown
Condition = tuple[str, Value | None]


@dataclass(frozen=True)
class FigureLine:
    """One figure: what it is, the step it comes from, its value, and the conditions it was measured under."""

    what: str
    step: int | None
    value: Value
    conditions: tuple[Condition, ...] = ()


@dataclass(frozen=True)
class StepLine:
    """One step of the test."""

    number: int
    kind: str
    lasted: Value
    capacity: Value
    energy: Value
    current: Value
    end_voltage: Value
    hottest: Value | None
    doubted: bool


@dataclass(frozen=True)
class ColumnLine:
    """One column: where it stands in the file, what it was read as, and in which unit."""

    source: str
    role: str
    unit: str


def columns(layout: ColumnLayout) -> list[ColumnLine]:
    """Return the columns of a layout in words."""
    return [ColumnLine(_source(each), each.role.label, each.unit.replace("degC", "°C")) for each in layout.columns]


def _source(column: Column) -> str:
    return f"column {column.source}" if isinstance(column.source, int) else column.source


def steps(figures: Figures) -> list[StepLine]:
    """Return the first steps of a test."""
    return [_step(each) for each in figures.steps[:STEPS_TOLD]]


def _step(step: Step) -> StepLine:
    control = "" if step.control.value == step.flow.value else f", {step.control.value}"
    return StepLine(
        number=step.number,
        kind=f"{step.flow.value}{control}",
        lasted=lasting(step.seconds),
        capacity=ureg.Quantity(step.capacity_ah, "Ah"),
        energy=ureg.Quantity(step.energy_wh, "Wh"),
        current=ureg.Quantity(step.mean_current_a, "A"),
        end_voltage=ureg.Quantity(step.last_voltage_v, "V"),
        hottest=None if step.hottest_degc is None else ureg.Quantity(step.hottest_degc, "degC"),
        doubted=bool(step.doubts),
    )


def lasting(seconds: float) -> Quantity:
    """Return a length of time."""
    return ureg.Quantity(seconds, "s")


def lines(figures: Figures, locale: str) -> list[FigureLine]:
    """Return everything a test gives, the kinds that matching needs first."""
    return [*_capacities(figures, locale), *_resistances(figures, locale), *_rests(figures), *_heat(figures)]


def _capacities(figures: Figures, locale: str) -> Iterator[FigureLine]:
    for test in figures.capacity_tests[:LINES_TOLD]:
        at: tuple[Condition, ...] = (
            ("from full at", test.charged_to),
            ("down to", test.cut_off),
            ("with", test.current),
            ("at", None if test.rate is None else show(ureg.Quantity(test.rate, "1/hour"), Kind.C_RATE, locale=locale)),
            ("cell at", test.temperature),
        )
        yield FigureLine("capacity", test.step, test.capacity, at)
        yield FigureLine("energy", test.step, test.energy, at)


def _resistances(figures: Figures, locale: str) -> Iterator[FigureLine]:
    for pulse in figures.pulses[:LINES_TOLD]:
        at: tuple[Condition, ...] = (
            ("current", pulse.current),
            ("charge", _share(pulse.soc, locale)),
            ("rested", lasting(pulse.rest_seconds)),
            ("cell at", pulse.temperature),
        )
        yield FigureLine(f"DC resistance, {pulse.seconds:g} s pulse", pulse.step, pulse.resistance, at)
    for two in figures.two_steps[:LINES_TOLD]:
        at = (
            ("first current", two.first_current),
            ("second current", two.second_current),
            ("charge", _share(two.soc, locale)),
            ("cell at", two.temperature),
        )
        yield FigureLine("DC resistance, two steps of IEC 61960-3", two.step, two.resistance, at)
    for told in figures.tester_resistances[:LINES_TOLD]:
        what = "1 kHz resistance" if told.one_kilohertz else "resistance, method not stated"
        yield FigureLine(f"{what}, by the tester", None, told.resistance, (("from row", Shown(str(told.row), "")),))


def _share(share: float | None, locale: str) -> Shown | None:
    return None if share is None else show(ureg.Quantity(share, "dimensionless"), Kind.FRACTION, locale=locale)


def _rests(figures: Figures) -> Iterator[FigureLine]:
    for rest in figures.rest_voltages[:LINES_TOLD]:
        at: tuple[Condition, ...] = (("rested", lasting(rest.rest_seconds)), ("cell at", rest.temperature))
        yield FigureLine("rest voltage", rest.step, rest.voltage, at)
    for fall in figures.self_discharges[:LINES_TOLD]:
        at = (
            ("give or take", fall.uncertainty),
            ("from", lasting(fall.from_seconds)),
            ("to", lasting(fall.to_seconds)),
            ("cell at", fall.temperature),
        )
        yield FigureLine("slope of the rest voltage", fall.step, fall.slope, at)


def _heat(figures: Figures) -> Iterator[FigureLine]:
    if figures.hottest is not None:
        yield FigureLine("highest cell temperature", None, figures.hottest)


def agreement(figures: Figures) -> str:
    """Say in one sentence how far the tester's own counters agree."""
    apart = [abs(each.apart) for each in figures.agreements if each.apart == each.apart]
    if not apart:
        return "The file has no counters of the tester to compare with."
    found = "1 comparison" if len(apart) == 1 else f"{len(apart)} comparisons"
    return f"The tester's own counters and what is worked out here lie at most {max(apart):.2%} apart, in {found}."


def first_rows(trace: Trace) -> list[list[str]]:
    """Return the first rows of a series as texts, in the order of the columns of its layout that were kept."""
    return [[_text(value) for value in row] for row in trace.frame.head(ROWS_TOLD).rows()]


def first_columns(trace: Trace) -> list[str]:
    """Return what the columns of a series hold, with their units."""
    return [_title(name) for name in trace.frame.columns]


def _title(name: str) -> str:
    unit = UNITS.get(name.rpartition("_")[2], "")
    label = Role(name).label
    return f"{label} [{unit}]" if unit else label


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.6g}" if isinstance(value, float) else str(value)
