"""Small questions decided by trying every deal: groups by their smallest cell, each deal once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np

from packs.matching.parts import Part
from packs.matching.table import IntArray

_GROUPS = 6000
_TRIES = 400_000


@dataclass(frozen=True, eq=False)
class Ways:
    """Every group that a part may have: its cells, as a bit mask too, and its capacity [steps]."""

    members: IntArray
    masks: tuple[int, ...]
    sums: tuple[int, ...]


class TooMany(Exception):
    """More deals than this search tries."""


def all_ways(parts: Sequence[Part]) -> list[Ways] | None:
    """Every group of each part that keeps its limits; None where there are too many to try.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: enumeration.
    """
    if sum(comb(int(part.allowed.sum()), part.parallel) for part in parts) > _GROUPS:
        return None
    return [_ways(part) for part in parts]


def _ways(part: Part) -> Ways:
    among = np.flatnonzero(part.allowed).tolist()
    members = np.array(list(combinations(among, part.parallel)), dtype=np.int64).reshape(-1, part.parallel)
    members = members[part.limits.keep(part.cells, members)] if len(members) else members
    masks = tuple(sum(1 << cell for cell in group) for group in members.tolist())
    return Ways(members, masks, tuple(part.cells.capacity[members].sum(1).tolist()))


Chosen = tuple[tuple[int, int], ...]
"""A deal, whole or so far: pairs (part, way)."""


class Deals:
    """Walks through every deal once: ``follow`` says whether a deal so far is worth more groups, ``keep`` takes a whole one."""

    def __init__(
        self,
        parts: Sequence[Part],
        ways: Sequence[Ways],
        follow: Callable[[Chosen], bool],
        keep: Callable[[Chosen], None],
    ) -> None:
        self.parts, self.ways, self.follow, self.keep = parts, ways, follow, keep
        self.tries = 0
        forced = np.logical_or.reduce([part.cells.forced & part.allowed for part in parts])
        open_to = np.logical_or.reduce([part.allowed for part in parts])
        self.cells = np.flatnonzero(open_to).tolist()
        self.forced = {cell for cell in self.cells if forced[cell]}
        self.starting = {cell: self._starting_at(cell) for cell in self.cells}

    def _starting_at(self, cell: int) -> list[tuple[int, int]]:
        """Groups (part, way) whose first cell is this one, the strongest first."""
        found = [
            (number, way)
            for number, ways in enumerate(self.ways)
            for way in np.flatnonzero(ways.members[:, 0] == cell).tolist()
        ]
        return sorted(found, key=lambda one: -self.parts[one[0]].level(self.ways[one[0]].sums[one[1]]))

    def walk(self) -> None:
        """Try every deal.

        Raises
        ------
        TooMany
            The budget of tries ran out before all were made.
        """
        wanted = [part.groups for part in self.parts]
        places = sum(part.groups * part.parallel for part in self.parts)
        self._from(0, 0, wanted, len(self.cells) - places, ())

    def _from(self, at: int, used: int, wanted: list[int], spare: int, deal: Chosen) -> None:
        while at < len(self.cells) and used >> self.cells[at] & 1:
            at += 1
        if not any(wanted):
            if not any(not used >> cell & 1 for cell in self.forced):
                self.keep(deal)
            return
        if at == len(self.cells):
            return
        cell = self.cells[at]
        self.tries += 1 + len(self.starting[cell])
        if self.tries > _TRIES:
            raise TooMany
        for number, way in self.starting[cell]:
            mask = self.ways[number].masks[way]
            if not wanted[number] or mask & used or not self.follow((*deal, (number, way))):
                continue
            wanted[number] -= 1
            self._from(at + 1, used | mask, wanted, spare, (*deal, (number, way)))
            wanted[number] += 1
        if spare and cell not in self.forced:
            self._from(at + 1, used, wanted, spare - 1, deal)


def groups_of(parts: Sequence[Part], ways: Sequence[Ways], deal: Chosen) -> list[IntArray]:
    """Cells of a deal's groups, one array per part, shape (groups, parallel); no units [dimensionless].

    References
    ----------
    Derived here.
    """
    return [
        np.array([ways[number].members[way] for at, way in deal if at == number], dtype=np.int64).reshape(
            -1, part.parallel
        )
        for number, part in enumerate(parts)
    ]


def highest(
    parts: Sequence[Part], ways: Sequence[Ways], floors: Sequence[int | None], above: int, ceiling: int
) -> tuple[list[IntArray] | None, int]:
    """The deal of the highest level above ``above`` [steps], found by trying all; None where no deal lies above.

    Parts with a floor [steps] hold it. The search ends at ``ceiling``.

    Raises
    ------
    TooMany
        There are more deals than this search tries.

    References
    ----------
    Derived here: enumeration, without the deals that hold a group no better than the best so far.
    """
    best: list[Chosen] = []
    reached = above

    def level(number: int, way: int) -> int:
        floor, capacity = floors[number], ways[number].sums[way]
        if floor is None:
            return parts[number].level(capacity)
        return ceiling if capacity >= floor else -1

    def follow(deal: Chosen) -> bool:
        return reached < ceiling and all(level(*one) > reached for one in deal)

    def keep(deal: Chosen) -> None:
        nonlocal reached
        best[:] = [deal]
        reached = min(level(*one) for one in deal)

    Deals(parts, ways, follow, keep).walk()
    return (groups_of(parts, ways, best[0]), reached) if best else (None, above)
