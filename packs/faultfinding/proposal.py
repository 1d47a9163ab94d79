"""The next measurement: the one that tells most for its effort and risk."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from packs.faultfinding.candidates import DROP, LEVEL, Candidates, Flags, Floats
from packs.faultfinding.diagnosis import Diagnosis
from packs.faultfinding.faults import PartKind
from packs.faultfinding.measurements import EFFORT, Access, Measurement
from packs.faultfinding.model import Figures, PackModel
from packs.faultfinding.narrowing import related, relations
from packs.faultfinding.offers import available, suspected_pairs
from packs.faultfinding.prediction import Prediction, predict
from packs.faultfinding.readings import Circumstance
from packs.faultfinding.safety import empty_groups

MOST_ROWS, MOST_OUTCOMES = 160, 16  # judged by a sample where more is left
PLACES = (0.02, 0.5, 0.98)  # of what a candidate predicts: near the least, the middle, near the greatest
ALIKE = 0.95  # what tells so much of the best, for its effort, tells as much: candidates are judged by a sample
BEHIND = frozenset({PartKind.BOARD, PartKind.OUTLET})  # a load drawn at the board's input tells nothing of them
NARROW = 0.01  # V, how well the common level is taken to be known once a group was read


@dataclass(frozen=True)
class Proposal:
    """What to measure next.

    Attributes
    ----------
    measurement : Measurement
    bits : float
        Mean halvings of what is left [dimensionless].
    """

    measurement: Measurement
    bits: float


def next_measurement(found: Diagnosis, *, may_charge: bool = False) -> Proposal | None:
    """Return the measurement that splits what is left best for its effort, or None where none can split it further.

    The value of a measurement is the mean, over what it may show, of how often it halves the candidates; of each, three
    places within what it predicts stand for what would be read [V]. It is divided by effort and risk: case shut before
    case open, before under load, before the charger and another day; each further pair of points costs a little, and
    opening the case costs once. What tells the simplest explanations apart goes before what tells of a second fault; a load
    at the board's input is none of it while they name nothing but board and outlet. Of those that tell about as much for it the safest goes first, then the easiest.

    Parameters
    ----------
    found : Diagnosis
        So far.
    may_charge : bool
        As ``available``.

    References
    ----------
    J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987) 97-130: the least
    expected entropy; weighing by effort: common practice, no source.
    """
    offered = available(found, may_charge=may_charge)
    if len(found.left) < 2 or not offered:
        return None
    woken = _waking(found, offered)
    if woken is not None:
        return woken
    simplest = _simplest(found)
    if len(simplest) > 1:
        told = _best(found.model, _sample(simplest), offered)
        if told is not None:
            return _before_waiting(found, told, offered)
        if all(fault.kind in BEHIND for faults in simplest.faults for fault in faults):
            if not may_charge:
                return None
            offered = [one for one in offered if one.circumstance is not Circumstance.LOAD]
    best = _best(found.model, _sample(found.left), offered)
    if best is None and len(found.left) > MOST_ROWS:
        best = _best(found.model, found.left, offered)
    return best


def _before_waiting(found: Diagnosis, told: Proposal, offered: list[Measurement]) -> Proposal:
    """What can be read of the suspected parts today, where it tells anything, before a day is waited for."""
    if told.measurement.access is not Access.WAITING:
        return told
    few = set(suspected_pairs(found))
    today = [one for one in offered if one.access is not Access.WAITING and few.issuperset(one.pairs)]
    return _best(found.model, _sample(found.left), today) or told


def _simplest(found: Diagnosis) -> Candidates:
    return found.left.only(np.arange(len(found.best)))


def _waking(found: Diagnosis, offered: list[Measurement]) -> Proposal | None:
    """With empty groups that may be charged, the supervised wake comes first: a load or another day tells no more."""
    if not empty_groups(found.model, found.readings) or not _may_be_board(found):
        return None
    wake = next((one for one in offered if one.circumstance is Circumstance.WOKEN), None)
    if wake is None:
        wake = next((one for one in offered if one.circumstance is Circumstance.CHARGED), None)
    bits = halvings(found.model, _level_known(_sample(found.left), found.model.figures), wake) if wake else 0.0
    return Proposal(wake, bits) if wake and bits > 0 else None


def _may_be_board(found: Diagnosis) -> bool:
    """Whether the simplest explanations leave open that nothing but what lies behind the stack is at fault."""
    return any(all(fault.kind in BEHIND for fault in faults) for faults in found.best)


def _best(model: PackModel, rows: Candidates, offered: list[Measurement]) -> Proposal | None:
    rows = _level_known(rows, model.figures)
    split = [Proposal(one, halvings(model, rows, one)) for one in offered]
    telling = [one for one in split if one.bits > 0]
    least = ALIKE * max((_worth(one) for one in telling), default=0.0)
    return min((one for one in telling if _worth(one) >= least), key=_ease, default=None)


def _worth(one: Proposal) -> float:
    return one.bits / one.measurement.effort


def _ease(one: Proposal) -> tuple[float, float, float]:
    """Safest first, then easiest, then what tells most."""
    return EFFORT[one.measurement.access], one.measurement.effort, -one.bits


def _sample(rows: Candidates) -> Candidates:
    if len(rows) <= MOST_ROWS:
        return rows
    return rows.only(np.unique(np.linspace(0, len(rows) - 1, MOST_ROWS).astype(np.int64)))


def _level_known(rows: Candidates, figures: Figures) -> Candidates:
    """Judge as if level and drop of the sound groups were known: a reading of the first group tells them."""
    box = rows.box.copy()
    for unknown in (LEVEL, DROP):
        middle = box[:, unknown].mean()
        centre = np.clip(middle, box[0, unknown], box[1, unknown])
        box[0, unknown] = np.maximum(box[0, unknown], centre - NARROW)
        box[1, unknown] = np.minimum(box[1, unknown], centre + NARROW)
    return replace(rows, box=related(box, relations(rows, figures)))


def halvings(model: PackModel, rows: Candidates, measurement: Measurement) -> float:
    """Return how often a measurement halves the candidates on average [dimensionless].

    References
    ----------
    Derived here.
    """
    chosen = np.unique(np.linspace(0, len(rows) - 1, min(len(rows), MOST_OUTCOMES)).astype(np.int64))
    agree = np.ones((2 * len(PLACES), len(chosen), len(rows)), dtype=np.bool_)
    for pair in measurement.pairs:
        expected = predict(model, rows, pair, measurement.circumstance)
        for kind, outcomes in enumerate(_outcomes(expected.only(chosen))):
            agree[kind] &= _allowed(expected, outcomes, model.figures)
    left = np.maximum(agree.sum(axis=2), 1)
    return float(np.log2(len(rows) / left).mean())


def _outcomes(expected: Prediction) -> Iterator[Floats]:
    """What may be read, by candidate: a steady value, or what is left of a dead circuit; NaN where nothing settles."""
    for place in PLACES:
        steady = np.where(expected.may_value, _between(expected.value, place), np.nan)
        dead = np.where(expected.may_other, _between(expected.other, place), np.nan)
        yield np.where(np.isnan(steady), dead, steady)
        yield np.where(np.isnan(dead), steady, dead)


def _between(ends: Floats, place: float) -> Floats:
    """A place between the ends of an interval; above the least where there is no greatest."""
    open_end = np.isinf(ends[1])
    return np.where(open_end, ends[0] * 1.1, ends[0] + place * (np.where(open_end, ends[0], ends[1]) - ends[0]))


def _allowed(expected: Prediction, outcomes: Floats, figures: Figures) -> Flags:
    """Whether each row allows each outcome: array of shape (outcomes, rows)."""
    error = (figures.share * np.abs(outcomes) + figures.offset)[:, None]
    low, high = outcomes[:, None] - error, outcomes[:, None] + error
    return np.asarray(expected.allows(low, high))
