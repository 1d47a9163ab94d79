"""Every single and double fault as rows of arrays: which part, which state, and boxes of the unknown sizes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations
from math import log

import numpy as np
from numpy.typing import NDArray

from packs.faultfinding.faults import Fault, PartKind, State, single_faults
from packs.faultfinding.model import Figures, PackModel

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Numbers = NDArray[np.int64]

# Unknowns of a row: level and drop of sound groups, then rest voltage, drop and daily loss of either faulty part.
LEVEL, DROP = 0, 1
UNKNOWNS = 8
REST_OF, DROP_OF, LOSS_OF = (2, 3), (4, 5), (6, 7)
NONE = -1  # instead of a fault's number
OUTSIDE = -1  # of a part that is not in the stack, or of no part


@dataclass(frozen=True)
class Candidates:
    """Rows of hypotheses; ``faults[row]`` says what is wrong, nothing for a sound pack.

    Attributes
    ----------
    box : array of shape (2, 8, rows)
        Least and largest value of each unknown [V].
    element : array of shape (2, rows)
        Place of either fault along the stack, -1 outside it: 0 the negative lead, 2n - 1 group n, 2n the joint above.
    """

    faults: tuple[tuple[Fault, ...], ...]
    box: Floats
    element: Numbers
    group: Flags
    broken: Flags
    doubtful: Flags
    board: NDArray[np.str_]
    outlet_failed: Flags
    sensor: NDArray[np.str_]
    weak: Flags
    low: Flags
    high: Flags
    leaking: Flags
    worn: Flags
    cost: Floats
    fault: Numbers

    def __len__(self) -> int:
        return len(self.faults)

    def only(self, rows: Flags | Numbers) -> "Candidates":
        """The chosen rows, in their order."""
        chosen = np.flatnonzero(rows) if rows.dtype == np.bool_ else rows
        arrays = {name: getattr(self, name)[..., chosen] for name in _ARRAYS}
        return replace(self, faults=tuple(self.faults[row] for row in chosen), **arrays)


_ARRAYS = (
    "box",
    "element",
    "group",
    "broken",
    "doubtful",
    "board",
    "outlet_failed",
    "sensor",
    "weak",
    "low",
    "high",
    "leaking",
    "worn",
    "cost",
    "fault",
)


def all_candidates(model: PackModel) -> Candidates:
    """Return the sound pack, every single fault and every pair of faults of two parts, sizes unknown [V].

    References
    ----------
    R. Reiter, A theory of diagnosis from first principles, Artificial Intelligence 32 (1987) 57-95.
    """
    sensor = model.figures.sensor_ohm is not None
    kept = _structure(model.series, sensor)
    singles = single_faults(model.series, sensor=sensor)
    return replace(kept, box=_boxes(kept, singles, model.figures))


@lru_cache(maxsize=32)
def _structure(series: int, sensor: bool) -> Candidates:
    singles = single_faults(series, sensor=sensor)
    pairs = [(a, b) for a, b in combinations(singles, 2) if (a.kind, a.number) != (b.kind, b.number)]
    rows: tuple[tuple[Fault, ...], ...] = ((), *((fault,) for fault in singles), *pairs)
    rows = tuple(sorted(rows, key=lambda row: (len(row), sum(-log(fault.likelihood) for fault in row))))
    both = [[row[i] if i < len(row) else None for row in rows] for i in (0, 1)]
    element = np.array([[OUTSIDE if fault is None else place_of(fault, series) for fault in side] for side in both])
    kinds = [[fault.kind if fault else None for fault in side] for side in both]
    states = [[fault.state if fault else None for fault in side] for side in both]
    inside = element != OUTSIDE
    index = {fault: number for number, fault in enumerate(singles)}
    return Candidates(
        faults=rows,
        box=np.zeros((2, UNKNOWNS, 0)),
        element=element,
        group=np.array([[kind is PartKind.GROUP for kind in side] for side in kinds]),
        broken=inside & np.array([[state is State.OPEN for state in side] for side in states]),
        doubtful=inside & np.array([[state in (State.OPEN, State.RESISTIVE) for state in side] for side in states]),
        board=_state_of(rows, PartKind.BOARD),
        outlet_failed=_state_of(rows, PartKind.OUTLET) == "failed",
        sensor=_state_of(rows, PartKind.SENSOR),
        weak=np.array([[state is State.WEAK for state in side] for side in states]),
        low=np.array([[state is State.LOW for state in side] for side in states]),
        high=np.array([[state is State.HIGH for state in side] for side in states]),
        leaking=np.array([[state is State.LEAKING for state in side] for side in states]),
        worn=_state_of(rows, PartKind.STACK) == "worn",
        fault=np.array([[index[fault] if fault else NONE for fault in side] for side in both]),
        cost=np.array([sum(-log(fault.likelihood) for fault in row) for row in rows]),
    )


def place_of(fault: Fault, series: int) -> int:
    """Return where a faulty part lies along the stack, from 0 at the negative lead; -1 outside it [dimensionless].

    References
    ----------
    Derived here: counting.
    """
    places = {
        PartKind.NEGATIVE_LEAD: 0,
        PartKind.GROUP: 2 * fault.number - 1,
        PartKind.JOINT: 2 * fault.number,
        PartKind.POSITIVE_LEAD: 2 * series,
    }
    return places.get(fault.kind, OUTSIDE)


def _state_of(rows: tuple[tuple[Fault, ...], ...], kind: PartKind) -> NDArray[np.str_]:
    return np.array([next((str(fault.state) for fault in row if fault.kind is kind), "") for row in rows])


def _boxes(rows: Candidates, singles: Sequence[Fault], figures: Figures) -> Floats:
    """Sizes before anything was read: [least and largest, unknown, row]."""
    table = np.array([*(_sizes(one, figures) for one in singles), _sizes(None, figures)])
    fault = rows.fault
    box = np.empty((2, UNKNOWNS, len(rows)))
    box[:, LEVEL, :] = np.array(figures.level)[:, None]
    box[:, DROP, :] = np.array(figures.drop)[:, None]
    box[:, DROP, rows.worn] = np.array([figures.drop[1], figures.level[1]])[:, None]
    for side in (0, 1):
        for unknown, place in enumerate((REST_OF[side], DROP_OF[side], LOSS_OF[side])):
            box[:, place, :] = table[fault[side], unknown, :].T
    return box


def _sizes(fault: Fault | None, figures: Figures) -> list[tuple[float, float]]:
    """Bounds of rest voltage, drop and daily loss of a faulty part of the stack."""
    nothing = (0.0, 0.0)
    if fault is None or fault.kind in (PartKind.STACK, PartKind.BOARD, PartKind.OUTLET, PartKind.SENSOR):
        return [nothing, nothing, nothing]
    if fault.kind is not PartKind.GROUP:
        least = figures.joint_drop if fault.kind is PartKind.JOINT else figures.lead_drop
        return [nothing, (least, figures.largest_drop), nothing]
    top, largest = figures.level[1], figures.largest_drop
    drop, steady = (0.0, largest), (0.0, figures.least_loss)
    return {
        State.WEAK: [(figures.level[0] - figures.spread, top + figures.spread), drop, steady],
        State.LOW: [(figures.shorted_below - 0.05, top), drop, steady],
        State.HIGH: [(figures.level[0], figures.highest), drop, steady],
        State.LEAKING: [(figures.shorted_below - 0.05, top + figures.spread), drop, (figures.least_loss, top)],
        State.SHORTED: [(-0.02, figures.shorted_below), (0.0, figures.shorted_below), (-0.01, figures.shorted_below)],
        State.OPEN: [nothing, nothing, nothing],
    }[fault.state]
