"""Consistency-based diagnosis: what contradicts the readings is struck out, the rest is ranked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from packs.errors import ImpossibleValue
from packs.faultfinding.candidates import Candidates, Flags, Numbers, all_candidates
from packs.faultfinding.circuit import span_sum
from packs.faultfinding.faults import Fault
from packs.faultfinding.model import PackModel
from packs.faultfinding.narrowing import error_of, narrow, possible, related, relations
from packs.faultfinding.prediction import Prediction, across_stack, predict, proves_nothing
from packs.faultfinding.readings import Circumstance, Place, Reading

ROUNDS = 3
STANDS = -1


@dataclass(frozen=True)
class Diagnosis:
    """What is still possible after the readings, most likely first, and what was struck out by which reading.

    Attributes
    ----------
    model : PackModel
    readings : tuple of Reading
        All of them, also those that prove nothing.
    left : Candidates
        Candidates that explain every reading, fewest and most likely faults first.
    every : Candidates
        All candidates before any reading.
    struck_by : array of rows of ``every``
        Number of the reading that contradicted it, -1 where it stands.
    """

    model: PackModel
    readings: tuple[Reading, ...]
    left: Candidates
    every: Candidates
    struck_by: Numbers

    @property
    def possible(self) -> tuple[tuple[Fault, ...], ...]:
        """Sets of faults that explain every reading, best first; the empty set is a sound pack."""
        return self.left.faults

    @property
    def best(self) -> tuple[tuple[Fault, ...], ...]:
        """Those of them with the fewest faults."""
        return tuple(faults for faults in self.possible if len(faults) == len(self.possible[0]))

    @property
    def proving_nothing(self) -> tuple[Reading, ...]:
        """Readings that are kept and strike nothing out."""
        return tuple(one for one in self.readings if proves_nothing(self.model, (one.low, one.high), one.circumstance))


def diagnose(model: PackModel, readings: Sequence[Reading]) -> Diagnosis:
    """Strike out every single and double fault that contradicts the readings, and rank what is left.

    A candidate stands as long as some sizes of its faults, some level of the sound groups and some error of the meter
    explain all readings [V] together. Sizes are narrowed as intervals that never lose the truth, so the true faults
    stand; a few that contradict the readings only in finer ways may stand too.

    Parameters
    ----------
    model : PackModel
        Of the pack, sound or not.
    readings : sequence of Reading
        In any order, all of one visit to the bench: no charge and no repair between them but what a circumstance names.

    Raises
    ------
    ImpossibleValue
        Probe points of a reading do not belong together, or its circumstance does not reach them.

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95; J. de Kleer and
    B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987) 97-130.

    Examples
    --------
    >>> from packs.faultfinding.readings import Point
    >>> from packs.terms import Chemistry
    >>> from packs.units import ureg
    >>> pack = PackModel(2, Chemistry.NMC, ureg.Quantity(20, "mΩ"), ureg.Quantity(5, "A"), ureg.Quantity(6, "V"))
    >>> ends = [(Point(Place.GROUP, False, n), Point(Place.GROUP, True, n)) for n in (1, 2)]
    >>> rest = [ureg.Quantity(3.70, "V"), ureg.Quantity(3.20, "V")]
    >>> found = diagnose(pack, [Reading(*pair, Circumstance.REST, volts) for pair, volts in zip(ends, rest)])
    >>> sorted(str(fault) for (fault,) in found.best)[2]
    'group 2: low at rest, and stays there'
    """
    for reading in readings:
        check(model, reading)
    every = all_candidates(model)
    struck = np.full(len(every), STANDS)
    rows, kept = np.arange(len(every)), start(model, every)
    for _ in range(ROUNDS):
        before = kept.box.sum()
        for number in telling_order(model, readings):
            reading = readings[number]
            kept, stands = strike(model, kept, reading)
            if not stands.all():
                struck[rows[~stands]] = number
                rows, kept = rows[stands], kept.only(stands)
        if not len(kept) or abs(kept.box.sum() - before) < 1e-9:
            break
    return Diagnosis(model, tuple(readings), kept, every, struck)


def check(model: PackModel, reading: Reading) -> None:
    """Refuse a reading whose points do not belong together, or that its circumstance does not reach.

    Values in [V], at the sensor [Ω].

    Raises
    ------
    ImpossibleValue
        As said.

    References
    ----------
    Common practice, no source.
    """
    inside = reading.span(model.series) is not None
    at_stack = (Circumstance.REST, Circumstance.LOAD, Circumstance.NEXT_DAY)
    at_outlet = (Circumstance.REST, Circumstance.OUTLET_LOAD, Circumstance.WOKEN, Circumstance.CHARGED)
    sensor = reading.low.place is Place.SENSOR
    if reading.circumstance not in ((Circumstance.REST,) if sensor else at_stack if inside else at_outlet):
        raise ImpossibleValue(f"{reading.low.place.label}: not read {reading.circumstance.label}.")
    unit = "ohm" if sensor else "V"
    if reading.value is not None and not np.isfinite(reading.value.to(unit).magnitude):
        raise ImpossibleValue("A reading is a number, or unsteady.")


def strike(model: PackModel, rows: Candidates, reading: Reading) -> tuple[Candidates, Flags]:
    """Return the candidates with sizes narrowed by one reading [V], and which of them it leaves standing.

    References
    ----------
    Common practice, no source: a reading that does not settle hangs on something open, resistive or switched off.
    """
    figures, span = model.figures, reading.span(model.series)
    found = None if span is None else span_sum(rows, figures, span, reading.circumstance)
    expected = _expected(model, rows, reading) if found is None else across_stack(rows, found, figures)
    if reading.value is None:
        return rows, expected.may_unsteady
    value = float(reading.value.to("ohm" if reading.low.place is Place.SENSOR else "V").magnitude)
    error = error_of(value, figures)
    stands = expected.allows(value - error, value + error)
    if found is None:
        return rows, stands
    box = narrow(found, rows.box, value - error, value + error, stands & ~found.floats)
    rows = _related(model, replace(rows, box=box))
    return rows, stands & possible(rows.box)


def _expected(model: PackModel, rows: Candidates, reading: Reading) -> Prediction:
    return predict(model, rows, (reading.low, reading.high), reading.circumstance)


def telling_order(model: PackModel, readings: Sequence[Reading]) -> list[int]:
    """Return the readings that prove something: across the stack the middling one first, then those most unlike it [V].

    References
    ----------
    Derived here: most is struck out early that way.
    """
    telling = [n for n, one in enumerate(readings) if not proves_nothing(model, (one.low, one.high), one.circumstance)]
    per_group = {number: _volts_per_group(model, readings[number]) for number in telling}
    known = sorted(value for value in per_group.values() if value is not None)
    middle = known[len(known) // 2] if known else 0.0

    def unlike(number: int) -> float:
        value = per_group[number]
        return -1.0 if value is None else abs(value - middle)

    first = min((n for n in telling if per_group[n] is not None), key=unlike, default=None)
    return sorted(telling, key=lambda n: (n != first, -unlike(n)))


def _volts_per_group(model: PackModel, reading: Reading) -> float | None:
    span = reading.span(model.series)
    groups = 0 if span is None else span[1] // 2 - span[0] // 2
    if not groups or reading.value is None or reading.circumstance is not Circumstance.REST:
        return None
    return float(reading.value.to("V").magnitude) / groups


def _related(model: PackModel, rows: Candidates) -> Candidates:
    return replace(rows, box=related(rows.box, relations(rows, model.figures)))


def start(model: PackModel, every: Candidates) -> Candidates:
    """Return the candidates with their sizes before any reading: a board is latched off only below its wake voltage [V].

    References
    ----------
    Common practice, no source.
    """
    whole = span_sum(every, model.figures, (0, 2 * model.series + 1), Circumstance.REST)
    latched = (every.board == "latched_off") & ~whole.floats
    box = narrow(whole, every.box, -np.inf, model.figures.wake, latched)
    return _related(model, replace(every, box=box))
