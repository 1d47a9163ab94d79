"""What speaks for a set of faults and what against it, reading by reading."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from packs.errors import ImpossibleValue
from packs.faultfinding.diagnosis import STANDS, Diagnosis, start, strike, telling_order
from packs.faultfinding.faults import Fault
from packs.faultfinding.narrowing import error_of
from packs.faultfinding.prediction import predict
from packs.faultfinding.readings import Place, Reading
from packs.faultfinding.sags import Sag, sag_grounds
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class Grounds:
    """Readings that speak for a set of faults, and the one that contradicts it.

    Attributes
    ----------
    supporting : tuple of (Reading, int)
        Readings it explains that contradicted rivals with no more faults, the strongest first; each with how many single
        faults it struck out, a sound pack among them: the same number wherever that reading is told.
    against : Reading or None
        The reading that struck it out, with those read before; None where it stands.
    sags : tuple of (Sag, bool)
        What groups lose under load, where it speaks for the set or against it [V].
    """

    supporting: tuple[tuple[Reading, int], ...]
    against: Reading | None
    sags: tuple[tuple[Sag, bool], ...] = ()


def evidence(found: Diagnosis, faults: Collection[Fault]) -> Grounds:
    """Return what speaks for and against one set of faults; readings in [V], at the sensor [Ω].

    Raises
    ------
    ImpossibleValue
        The set is not among the candidates.

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95.
    """
    row = _row(found, faults)
    by = int(found.struck_by[row])
    sagging = tuple(sag_grounds(found.model, found.readings, faults))
    if by != STANDS:
        return Grounds((), found.readings[by], sagging)
    told, among_rivals = _struck(found, 1), _struck(found, max(len(set(faults)), 1))
    order = sorted(range(len(found.readings)), key=lambda number: -among_rivals[number])
    return Grounds(tuple((found.readings[n], told[n]) for n in order if among_rivals[n]), None, sagging)


@dataclass(frozen=True)
class Expected:
    """What a set of faults lets the meter show at a reading's points, from all other readings.

    Attributes
    ----------
    low, high : Quantity or None
        Between which it lies [V], at the sensor [Ω]; None where nothing steady is expected.
    """

    low: Quantity | None
    high: Quantity | None


def expected(found: Diagnosis, faults: Collection[Fault], reading: Reading) -> Expected:
    """Return what a set of faults predicts for a reading, with the meter's error, as if it had not been taken [V].

    At the sensor in [Ω].

    Raises
    ------
    ImpossibleValue
        The set is not among the candidates.

    References
    ----------
    J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987) 97-130: a candidate stands
    or falls by what it predicts.
    """
    model = found.model
    rows = start(model, found.every.only(np.array([_row(found, faults)])))
    others = [one for one in found.readings if one is not reading]
    for number in telling_order(model, others):
        rows, _ = strike(model, rows, others[number])
    told = predict(model, rows, (reading.low, reading.high), reading.circumstance)
    ends = [side[:, 0] for side, may in ((told.value, told.may_value), (told.other, told.may_other)) if may[0]]
    if not ends:
        return Expected(None, None)
    # of both, the interval that what was read lies in or next to
    volts = 0.0 if reading.value is None else float(reading.value.to(_unit(reading)).magnitude)
    low, high = min(ends, key=lambda one: max(one[0] - volts, volts - one[1]))
    low, high = low - error_of(low, model.figures), high + error_of(high, model.figures)
    return Expected(ureg.Quantity(float(low), _unit(reading)), ureg.Quantity(float(high), _unit(reading)))


def _unit(reading: Reading) -> str:
    return "ohm" if reading.low.place is Place.SENSOR else "V"


def _row(found: Diagnosis, faults: Collection[Fault]) -> int:
    wanted = set(faults)
    row = next((row for row, one in enumerate(found.every.faults) if set(one) == wanted), None)
    if row is None:
        raise ImpossibleValue("No candidate has these faults.")
    return row


def _struck(found: Diagnosis, most: int) -> list[int]:
    """How many sets of so many faults at most each reading struck out."""
    rows = np.array([len(one) <= most for one in found.every.faults]) & (found.struck_by != STANDS)
    counted: list[int] = np.bincount(found.struck_by[rows], minlength=len(found.readings)).tolist()
    return counted
