"""Every way to fill a place of a plan anew with a given number of changed places, the best of them kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain, combinations, islice

import numpy as np

from packs.matching.deal import Candidates, Limits
from packs.matching.table import BoolArray, FloatArray, IntArray

_CHUNK = 40_000
# What opening a group costs, in groups looked at.
_STEP = 50

Groups = Mapping[int, tuple[int, ...]]
"""New cells of the groups that change."""


class EndOfBudget(Exception):
    """More replacements than this search tries."""


@dataclass(frozen=True, eq=False)
class Plan:
    """Groups that stand, which of their cells may move, and the free cells that may enter.

    ``least`` [steps] is what a changed group holds at least; ``stays`` marks cells that must not leave the plan;
    ``weaker_first`` ranks by least capacity used instead of by the weakest group.
    """

    cells: Candidates
    limits: Limits
    groups: tuple[tuple[int, ...], ...]
    movable: BoolArray
    free: IntArray
    stays: frozenset[int]
    least: int = 0
    weaker_first: bool = False


@dataclass(eq=False)
class Exchange:
    """Walks through the replacements with a given number of changed places; ``best`` is the best seen."""

    plan: Plan
    budget: int
    best: Groups | None = None
    rank: tuple[float, ...] = ()
    sums: IntArray = field(init=False)
    conductance: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        capacity, ohm = self.plan.cells.capacity, self.plan.cells.resistance
        self.sums = np.array([capacity[list(group)].sum() for group in self.plan.groups])
        self.conductance = 1.0 / np.where(ohm > 0, ohm, np.nan)

    def fill(self, out: int, changes: int) -> None:
        """Try every way to take a cell out with this many places changed.

        Raises
        ------
        EndOfBudget
            Not all were tried.
        """
        home = next(number for number, group in enumerate(self.plan.groups) if out in group)
        kept = tuple(cell for cell in self.plan.groups[home] if cell != out)
        self._settle({home: kept}, {}, frozenset(), changes)

    def _settle(self, holes: Groups, done: Groups, loose: frozenset[int], left: int) -> None:
        """Fill the first group with holes; ``loose`` are cells that left their group and may enter another."""
        self._spend(_STEP)
        group = next(iter(holes))
        waiting = {number: kept for number, kept in holes.items() if number != group}
        lacking = sum(len(self.plan.groups[number]) - len(kept) for number, kept in waiting.items())
        hole = len(self.plan.groups[group]) - len(holes[group])
        able = [cell for cell in holes[group] if self.plan.movable[cell]]
        for more in range(min(len(able), left - lacking - hole) + 1):
            for leaving in combinations(able, more):
                kept = tuple(cell for cell in holes[group] if cell not in leaving)
                self._fill(group, kept, waiting, done, loose, leaving, left - hole - more, lacking)

    def _fill(
        self,
        group: int,
        kept: tuple[int, ...],
        waiting: Groups,
        done: Groups,
        loose: frozenset[int],
        leaving: tuple[int, ...],
        left: int,
        lacking: int,
    ) -> None:
        """Fill a group up with free and loose cells, or with cells of groups that wait or stand, which then lack them."""
        count = len(self.plan.groups[group]) - len(kept)
        movers = self._movers(group, waiting, done)
        entered = {cell for cells in done.values() for cell in cells}
        free = [cell for cell in (*self.plan.free.tolist(), *sorted(loose)) if cell not in entered]
        for moved in range(min(count, left - lacking) + 1):
            for members in self._members(kept, movers, free, count, moved):
                if moved == 0 and not waiting and left == 0:
                    self._judge(group, members, done, loose | set(leaving))
                elif moved or waiting:
                    self._follow(group, members, waiting, done, loose, leaving, left)

    def _spend(self, tries: int) -> None:
        self.budget -= tries
        if self.budget < 0:
            raise EndOfBudget

    def _movers(self, group: int, waiting: Groups, done: Groups) -> list[int]:
        """Cells of other groups that may still leave them."""
        return [
            cell
            for number, members in enumerate(self.plan.groups)
            if number != group and number not in done
            for cell in waiting.get(number, members)
            if self.plan.movable[cell]
        ]

    def _members(
        self, kept: tuple[int, ...], movers: list[int], free: list[int], count: int, moved: int
    ) -> Iterator[IntArray]:
        """Groups of the kept cells, ``moved`` movers and free cells, in chunks, shape (m, parallel)."""
        ways = (
            (*kept, *some, *others)
            for some in combinations(movers, moved)
            for others in combinations(free, count - moved)
        )
        size = len(kept) + count
        while True:
            flat = np.fromiter(chain.from_iterable(islice(ways, _CHUNK)), dtype=np.int64)
            if not len(flat):
                return
            members = flat.reshape(-1, size)
            self._spend(len(members))
            limits = self.plan.limits if size > 1 else self.plan.limits.none()
            kept_all = replace(limits, parallel=size).keep(self.plan.cells, members)
            yield members[kept_all & (self.plan.cells.capacity[members].sum(1) >= self.plan.least)]

    def _follow(
        self,
        group: int,
        members: IntArray,
        waiting: Groups,
        done: Groups,
        loose: frozenset[int],
        leaving: tuple[int, ...],
        left: int,
    ) -> None:
        """Go on with each of these fillings: the groups that lost a cell to it wait to be filled."""
        for filled in members.tolist():
            inside = set(filled)
            holes = dict(waiting)
            for number, standing in enumerate(self.plan.groups):
                if number == group or number in done:
                    continue
                now = tuple(cell for cell in waiting.get(number, standing) if cell not in inside)
                if len(now) < len(standing):
                    holes[number] = now
            self._settle(holes, {**done, group: tuple(filled)}, (loose | set(leaving)) - inside, left)

    def _judge(self, group: int, members: IntArray, done: Groups, loose: frozenset[int]) -> None:
        """Keep the best of whole replacements that differ in the last group filled."""
        if not len(members):
            return
        sums = np.repeat(self.sums[None, :], len(members), axis=0)
        for number, cells in done.items():
            sums[:, number] = self.plan.cells.capacity[list(cells)].sum()
        sums[:, group] = self.plan.cells.capacity[members].sum(1)
        first = -sums.sum(1) if self.plan.weaker_first else sums.min(1)
        spread = np.ptp(sums, axis=1)
        best = np.flatnonzero(first == first.max())
        best = best[spread[best] == spread[best].min()]
        for at in best.tolist():
            new = {**done, group: tuple(members[at].tolist())}
            if self.plan.stays & (loose - set(new[group])):
                continue
            rank = (
                float(first[at]),
                -float(spread[at]),
                -self._resistance_spread(new),
                *(-cell for cell in new[group]),
            )
            if self.best is None or rank > self.rank:
                self.best, self.rank = new, rank

    def _resistance_spread(self, new: Groups) -> float:
        groups = [list(new.get(number, group)) for number, group in enumerate(self.plan.groups)]
        spread = float(np.ptp([1.0 / self.conductance[group].sum() for group in groups]))
        return 0.0 if np.isnan(spread) else spread
