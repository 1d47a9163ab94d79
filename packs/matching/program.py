"""The mixed-integer program behind the bound under limits: whole numbers of groups per window, fractions of cells."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from packs.matching.deal import Candidates, Limits
from packs.matching.effort import Budget
from packs.matching.table import BoolArray, FloatArray, IntArray
from packs.matching.windows import maximal_windows

if TYPE_CHECKING:
    from scipy.optimize import OptimizeResult
    from scipy.sparse import csc_array

# Slack [steps] that keeps a group of exactly the target possible for a solver in floating point.
_SLACK = 0.01
_INFEASIBLE = 2
_SHARES = 12_000


class _Options(TypedDict, total=False):
    node_limit: int
    time_limit: float


class Outcome(Enum):
    """Whether a target can be reached, as far as the program tells."""

    POSSIBLE = "possible"
    IMPOSSIBLE = "impossible"
    OPEN = "open"


@dataclass(frozen=True, eq=False)
class Dealt:
    """A solution: groups per window used (k,), members (k, n) and the share of each cell in each window (k, n)."""

    groups: IntArray
    member: BoolArray
    share: FloatArray


@dataclass(frozen=True, eq=False)
class Reach:
    """What the program says about one target."""

    outcome: Outcome
    dealt: Dealt | None = None


@dataclass(frozen=True, eq=False)
class Program:
    """The question, relaxed: can `series` groups of at least a target lie in the maximal windows?

    A whole number of groups lies in each window; the cells inside are dealt in fractions, and the groups of one
    window reach the target together. Any arrangement that keeps the limits is a solution, so that an impossible
    target bounds the weakest group.

    References
    ----------
    Set packing by integer programming with a relaxed knapsack inside; G. L. Nemhauser, L. A. Wolsey, "Integer and
    Combinatorial Optimization", Wiley 1988, recalled from memory. Solver: HiGHS, Q. Huangfu, J. A. J. Hall,
    Mathematical Programming Computation 10 (2018) 119-142.
    """

    cells: Candidates
    limits: Limits
    series: int

    def reach(self, target: int, nodes: int, budget: Budget, *, whole: bool) -> Reach:
        """Whether the target can be reached; `whole` False takes fractions of groups too, quicker and weaker."""
        member = maximal_windows(self.cells, self.limits, target)
        forced = self.cells.forced
        if not len(member) or (forced & ~member.any(0)).any():
            return Reach(Outcome.IMPOSSIBLE)
        classes = Classes.of(self.cells, member, self.series * self.limits.parallel)
        found = _solved(
            classes, _Wanted.alike(classes, self.series, self.limits.parallel, target), whole, _options(nodes, budget)
        )
        if found.status == _INFEASIBLE:
            return Reach(Outcome.IMPOSSIBLE)
        if found.x is None:
            return Reach(Outcome.OPEN)
        return Reach(Outcome.POSSIBLE, classes.dealt(found.x, member) if whole else None)


@dataclass(frozen=True, eq=False)
class Classes:
    """Cells that lie in the same windows and count as equally large: one column of the program each.

    `head` is the first cell of each class, `label` the class of each cell (-1 for none), `count` cells per class.
    """

    head: IntArray
    label: IntArray
    count: IntArray
    capacity: IntArray
    forced: BoolArray
    member: BoolArray

    @classmethod
    def of(cls, cells: Candidates, member: BoolArray, most: int) -> Classes:
        """Classes as fine as the program can bear; capacities are rounded up where it could not bear them all."""
        useful = _strong_enough(cells, member, most)
        step = 1
        capacity = cells.capacity
        while True:
            rounded = -(-capacity // step) * step
            head, label, count = _grouped(rounded, cells.forced, member, useful)
            if int(member[:, head].sum()) <= _SHARES or step > capacity.max():
                return cls(head, label, count, rounded[head], cells.forced[head], member[:, head])
            step = step * 2 if step > 1 else max(2, int(capacity.max()) // 4000)

    def dealt(self, solution: FloatArray, member: BoolArray) -> Dealt:
        """The program's solution in terms of cells."""
        windows = len(self.member)
        groups = np.rint(solution[:windows]).astype(np.int64)
        share = np.zeros(self.member.shape)
        share[self.member] = solution[windows:]
        used = groups > 0
        each = (share / self.count)[used]
        per_cell = np.where(self.label >= 0, each[:, self.label], 0.0)
        return Dealt(groups[used], member[used], per_cell)


def _strong_enough(cells: Candidates, member: BoolArray, most: int) -> BoolArray:
    """Cells that lie in a window; of those in exactly the same windows the strongest that a pack can take."""
    _, pattern = np.unique(np.packbits(member, axis=0), axis=1, return_inverse=True)
    order = np.argsort(pattern, kind="stable")
    ordered = pattern[order]
    start = np.searchsorted(ordered, ordered)
    useful = np.zeros(len(cells.rows), dtype=np.bool_)
    useful[order[np.arange(len(order)) - start < most]] = True
    return (useful | cells.forced) & member.any(0)


def _grouped(
    capacity: IntArray, forced: BoolArray, member: BoolArray, useful: BoolArray
) -> tuple[IntArray, IntArray, IntArray]:
    rows = np.flatnonzero(useful)
    keys = np.concatenate([np.packbits(member[:, rows], axis=0).T, capacity[rows, None], forced[rows, None]], axis=1)
    _, first, inverse, count = np.unique(keys, axis=0, return_index=True, return_inverse=True, return_counts=True)
    label = np.full(len(capacity), -1, dtype=np.int64)
    label[rows] = inverse
    return rows[first], label, count.astype(np.int64)


@dataclass(frozen=True, eq=False)
class _Wanted:
    """Groups wanted per part (k,); the part, the cells per group and the target [steps] of each window (w,)."""

    groups: IntArray
    part_of: IntArray
    parallel: IntArray
    target: IntArray

    @classmethod
    def alike(cls, classes: Classes, series: int, parallel: int, target: int) -> _Wanted:
        """One part to which all windows belong."""
        every = np.ones(len(classes.member), dtype=np.int64)
        return cls(np.array([series]), every - 1, every * parallel, every * target)


def outcome_of(classes: Classes, part_of: IntArray, groups: IntArray, parallel: IntArray, target: IntArray) -> Outcome:
    """Whether fractions of groups of several parts can lie in the windows of the classes.

    Parameters
    ----------
    classes : Classes
    part_of : array of int, shape (windows,)
    groups, parallel, target : array of int, shape (parts,)
        Groups wanted, cells per group, capacity of a group [steps].

    References
    ----------
    Derived here, as ``Program``.
    """
    wanted = _Wanted(groups, part_of, parallel[part_of], target[part_of])
    found = _solved(classes, wanted, whole=False, options={})
    if found.status == _INFEASIBLE:
        return Outcome.IMPOSSIBLE
    return Outcome.OPEN if found.x is None else Outcome.POSSIBLE


def _solved(classes: Classes, wanted: _Wanted, whole: bool, options: _Options) -> OptimizeResult:
    # Imported here: the solver takes longer to load than all of packs, and most questions never need it.
    from scipy.optimize import Bounds, LinearConstraint, milp

    windows = len(classes.member)
    each = np.arange(windows)
    window, head = np.nonzero(classes.member)
    shares = np.arange(windows, windows + len(window))
    width = windows + len(window)
    places = _rows(np.ones(len(window)), window, shares, windows, width) - _rows(
        wanted.parallel, each, each, windows, width
    )
    above = classes.capacity[head] - ((wanted.target - _SLACK) / wanted.parallel)[window]
    reach = _rows(above / classes.capacity.max() * 100.0, window, shares, windows, width)
    taken = _rows(np.ones(len(head)), head, shares, len(classes.head), width)
    total = _rows(np.ones(windows), wanted.part_of, each, len(wanted.groups), width)
    room = classes.member @ classes.count // wanted.parallel
    return milp(
        np.zeros(width),
        constraints=[
            LinearConstraint(places, 0, 0),
            LinearConstraint(reach, 0, np.inf),
            LinearConstraint(taken, np.where(classes.forced, classes.count, 0), classes.count),
            LinearConstraint(total, wanted.groups, wanted.groups),
        ],
        integrality=(np.arange(width) < (windows if whole else 0)).astype(np.int64),
        bounds=Bounds(0, np.concatenate([room, classes.count[head]])),
        options=options,  # type: ignore[arg-type]  # the stubs ask for a closed form of the same keys
    )


def _options(nodes: int, budget: Budget) -> _Options:
    seconds = budget.seconds()
    return {"node_limit": nodes} if seconds is None else {"node_limit": nodes, "time_limit": max(seconds, 0.01)}


def _rows(values: FloatArray | IntArray, row: IntArray, column: IntArray, height: int, width: int) -> csc_array:
    from scipy.sparse import coo_array, csc_array

    return csc_array(coo_array((values, (row, column)), shape=(height, width)))
