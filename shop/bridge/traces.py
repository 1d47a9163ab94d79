"""Tester files of a cell: read with what is known of its model; figures as the numbers a reading stores."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

from django.utils import timezone

from packs import traces
from packs.terms import Measure
from packs.traces import (
    Column,
    ColumnLayout,
    CurrentSign,
    Expected,
    Figures,
    Glance,
    Proposal,
    Role,
    Trace,
    TraceRefused,
)
from packs.traces.raw import FileKind
from packs.traces.sign import Flow
from packs.units import Quantity, of, show, to, ureg
from shop.bridge.checking import IN_CHANNEL
from shop.models import CellModel

# A rest voltage is taken from a rest of at least this length [s]; common practice, no source.
SHORTEST_REST_S = 600.0
HALF_CHARGED = 0.5
PULSE_S = 10.0
MOST_WORDS = 120
EMPTY = (
    "This is the voltage of the cell as the discharge left it. Tick it only where the cell lies like that now: it takes "
    "the place of the voltage it is stored at."
)

LARGEST_UNPACKED = 512 * 1024**2
"""A file that unpacks to more is taken for a trap: a shop's longest tests pack into a tenth of this."""


@dataclass(frozen=True)
class Understood:
    """A tester file that was read: its series, its figures, and the readings it offers."""

    trace: Trace
    figures: Figures
    offers: tuple["Offer", ...]
    ended: datetime | None = None
    """When the test ended by the clock of its tester; None where the file does not say."""

    def remarks(self) -> list[dict[str, Any]]:
        """Everything found in the file, for storing."""
        return [remark.facts() for remark in self.figures.remarks]

    def repairs(self) -> list[dict[str, Any]]:
        """What was changed by a rule, for storing and for telling."""
        return [remark for remark in self.remarks() if remark["verdict"] == "repaired"]

    def parquet(self) -> bytes:
        """Return the series as Parquet."""
        out = BytesIO()
        self.trace.frame.write_parquet(out)
        return out.getvalue()


@dataclass(frozen=True)
class Offer:
    """A reading that a tester file offers: measure, stored value, how it was taken.

    ``doubt`` says why it may not be what the book should hold: then nobody takes it without ticking it.
    """

    measure: Measure
    value: Decimal
    method: str
    conditions: str
    doubt: str = ""


def understand(content: bytes, model: CellModel, layout: Mapping[str, Any] | None) -> Understood:
    """Read a tester file of one cell.

    Raises
    ------
    TraceRefused
        It cannot be trusted.
    """
    stated = None if layout is None else ColumnLayout.from_facts(dict(layout))
    trace = traces.read(content, stated, largest=LARGEST_UNPACKED)
    figures = traces.figures(trace, expected(model))
    return Understood(trace, figures, tuple(_offers(figures)), _ended(content, trace))


def _ended(content: bytes, trace: Trace) -> datetime | None:
    above = glance(content, trace.layout).lines[: trace.layout.lines_before] if trace.layout.lines_before else ()
    begun = traces.begun(trace, above)
    if begun is None:
        return None
    ended = begun + timedelta(seconds=float(trace.time[-1] - trace.time[0]))
    return timezone.make_aware(ended) if timezone.is_naive(ended) else ended


def proposal(content: bytes) -> Proposal:
    """Propose how a file is to be read."""
    return traces.propose(content, largest=LARGEST_UNPACKED)


def recognised(content: bytes, layouts: Sequence[Mapping[str, Any]]) -> tuple[int, dict[str, Any]] | None:
    """Return which stored layout has the headings of a file, and the layout as it fits this file."""
    stated = [ColumnLayout.from_facts(dict(facts)) for facts in layouts]
    found = traces.recognised(content, stated, largest=LARGEST_UNPACKED)
    return None if found is None else (found[0], found[1].facts())


def of_the_file(code: str) -> bool:
    """Tell whether a refusal is a fault of the very file, whatever layout it is read by."""
    return code in {problem.value for problem in traces.OF_THE_FILE}


def first_guess(content: bytes) -> ColumnLayout:
    """Return how the lines of a file seem to be written, without columns."""
    return traces.first_guess(content, largest=LARGEST_UNPACKED)


def glance(content: bytes, layout: ColumnLayout) -> Glance:
    """Split the first lines of a file the way a layout says."""
    return traces.glance(content, layout, largest=LARGEST_UNPACKED)


def expected(model: CellModel) -> Expected:
    """Return what is known of a cell of this model."""
    return Expected(
        rated_ah=float(of(Measure.CAPACITY, model.rated_capacity_mah).to("Ah").magnitude),
        charge_limit_v=model.charge_limit_mv / 1000,
        end_of_discharge_v=model.end_of_discharge_mv / 1000,
    )


def _offers(figures: Figures) -> Iterator[Offer]:
    yield from _capacity(figures)
    yield from _resistance(figures)
    yield from _rest(figures)


def _capacity(figures: Figures) -> Iterator[Offer]:
    """The last discharge that measures capacity."""
    for test in figures.capacity_tests[-1:]:
        rate = "" if test.rate is None else f" ({test.rate:.2g} C)"
        method = f"discharge from {_plain(test.charged_to)} to {_plain(test.cut_off)}"
        words = (f"{_plain(test.current)}{rate}", _at(test.temperature))
        yield _offer(Measure.CAPACITY, test.capacity, method, *words)
        yield _offer(Measure.ENERGY, test.energy, method, *words)


def _resistance(figures: Figures) -> Iterator[Offer]:
    """The 10 s discharge pulse nearest to half charged; of unknown charge, the last."""
    pulses = [each for each in figures.pulses if each.seconds == PULSE_S and each.current.magnitude < 0]
    charged = [each for each in pulses if each.soc is not None]
    chosen = min(charged, key=lambda each: abs((each.soc or 0.0) - HALF_CHARGED)) if charged else None
    for pulse in [chosen] if chosen else pulses[-1:]:
        soc = "charge not known" if pulse.soc is None else f"{pulse.soc:.0%} charged"
        words = (
            _plain(ureg.Quantity(-pulse.current.to("A").magnitude, "A")),
            soc,
            f"after {pulse.rest_seconds:.0f} s rest",
            _at(pulse.temperature),
        )
        yield _offer(Measure.DC_RESISTANCE, pulse.resistance, f"{pulse.seconds:g} s pulse", *words)
    for reported in [each for each in figures.tester_resistances if each.one_kilohertz][-1:]:
        yield _offer(Measure.AC_RESISTANCE, reported.resistance, "1 kHz, by the tester")


def _rest(figures: Figures) -> Iterator[Offer]:
    for rest in [each for each in figures.rest_voltages if each.rest_seconds >= SHORTEST_REST_S][-1:]:
        hours = f"after {rest.rest_seconds / 3600:.1f} h rest"
        after = f", after {rest.after.value}" if rest.after else ""
        offer = _offer(Measure.REST_VOLTAGE, rest.voltage, f"end of a rest{after}", hours, _at(rest.temperature))
        yield replace(offer, doubt=EMPTY if rest.after is Flow.DISCHARGE else "")
    for fall in figures.self_discharges[-1:]:
        spread = f"± {1000 * fall.uncertainty.to('V/day').magnitude:.1f} mV/day"
        hours = f"{fall.from_seconds / 3600:.0f} to {fall.to_seconds / 3600:.0f} h of a rest"
        fell = ureg.Quantity(-fall.slope.to("V/day").magnitude, "V/day")
        yield _offer(Measure.SELF_DISCHARGE, fell, "slope of the rest voltage", hours, spread)


def _plain(quantity: Quantity) -> str:
    """A quantity as it stands in the book, the same whatever the shop writes on its pages."""
    return str(show(quantity, locale="en"))


NOT_KNOWN = "temperature not known"


def _at(temperature: Quantity | None) -> str:
    return NOT_KNOWN if temperature is None else f"at {_plain(temperature)}"


def as_stated(conditions: str, temperature: Quantity | None, channel: str = "") -> str:
    """Return conditions with what a file does not say and a person does: how warm it was, and in which channel."""
    said = conditions if temperature is None else conditions.replace(NOT_KNOWN, _at(temperature))
    if not channel:
        return said
    named = f", {IN_CHANNEL}{channel}"
    return said[: MOST_WORDS - len(named)] + named


def _offer(measure: Measure, quantity: Quantity, method: str, *conditions: str) -> Offer:
    return Offer(measure, to(measure, quantity), method[:80], ", ".join(conditions)[:MOST_WORDS])


guessed_columns = traces.guessed_columns
units_of = traces.units_of
TEXT = FileKind.TEXT

__all__ = [
    "TEXT", "Column", "ColumnLayout", "CurrentSign", "Glance", "Offer", "Proposal", "Role", "TraceRefused", "Understood", "as_stated",
    "expected", "first_guess", "glance", "guessed_columns", "of_the_file", "proposal", "recognised", "understand",
    "units_of",
]  # fmt: skip
