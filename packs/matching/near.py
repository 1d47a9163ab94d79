"""One group beside others that stand: enough capacity, none wasted, the resistance near a target."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations
from math import comb, sqrt

import numpy as np

from packs.matching.parts import Part
from packs.matching.table import BoolArray, FloatArray, IntArray
from packs.network.parallel import in_parallel

_ROUNDS = 60
_NEAREST = 200
_LOOKED_AT = 2000
_TRIED = 6000
_ANCHORS = 4
# Share of the target resistance within which no other group is sought; common practice, no source.
_CLOSE = 0.002

Cost = Callable[[IntArray, FloatArray], FloatArray]
"""Cost of groups by their capacities [steps] and resistances; infinite where they will not do."""


@dataclass(frozen=True)
class Wish:
    """At least ``least`` [steps], as little above as can be but for ``slack`` [steps]; then near ``target`` [nΩ].

    ``anywhere`` also starts from cells near the target, not from the group given alone.
    """

    least: int
    slack: int
    target: float | None
    anywhere: bool = True

    def thrifty(self, sums: IntArray, resistance: FloatArray) -> FloatArray:
        """The capacity of a group that has enough."""
        return np.where(sums >= self.least, sums.astype(np.float64), np.inf)

    def into(self, most: int) -> Cost:
        """How far from enough, or above this, the capacity of a group is."""

        def cost(sums: IntArray, _: FloatArray) -> FloatArray:
            return np.maximum(np.maximum(self.least - sums, sums - most), 0).astype(np.float64)

        return cost

    def near(self, most: int) -> Cost:
        """How far from the target a group is that has enough and at most this."""

        def cost(sums: IntArray, resistance: FloatArray) -> FloatArray:
            off = np.abs(resistance - (self.target or 0.0)) if self.target is not None else np.zeros(len(sums))
            within = (sums >= self.least) & (sums <= most) & ~np.isnan(off)
            return np.where(within, off, np.inf)

        return cost


def slack_of(capacity: int, parallel: int, repeatability: float) -> int:
    """What the tests cannot tell apart: the standard deviation of a group of equal cells, in the unit of its capacity [steps].

    References
    ----------
    Errors of independent tests add in squares; common practice, no source: differences within one standard deviation
    count as none.
    """
    return int(repeatability * capacity / sqrt(parallel))


def fitted(part: Part, group: IntArray, free: BoolArray, wish: Wish) -> IntArray:
    """The group changed for one that has enough with little above it, then for one nearer to the target.

    Small choices are decided by trying every group; in others one or two cells at a time change for free ones.
    Capacities [steps].

    References
    ----------
    Derived here: enumeration, and exchange of one or two cells.
    """
    if comb(int((free & part.allowed).sum()) + part.parallel, part.parallel) <= _TRIED:
        thrifty = _of_all(part, group, free, wish.thrifty)
        return _of_all(part, thrifty, _freed(free, group, thrifty), wish.near(_sum(part, thrifty) + wish.slack))
    thrifty = _exchanged(part, group, free, wish.thrifty, wish.least)
    near = wish.near(_sum(part, thrifty) + wish.slack)
    close = _CLOSE * (wish.target or 0.0)
    among = _freed(free, group, thrifty)
    best = _exchanged(part, thrifty, among, near, close)
    for start in _around(part, thrifty, among, wish):
        if _price(part, best, near) <= close:
            break
        inside = _exchanged(part, start, _freed(among, thrifty, start), wish.into(_sum(part, thrifty) + wish.slack))
        closer = _exchanged(part, inside, _freed(among, thrifty, inside), near, close)
        best = min(best, closer, key=lambda one: _price(part, one, near))
    return best


def _price(part: Part, group: IntArray, cost: Cost) -> float:
    return float(cost(np.array([_sum(part, group)]), _resistance(part, group[None, :]))[0])


def _freed(free: BoolArray, before: IntArray, now: IntArray) -> BoolArray:
    """What is free once a group gives its cells up for others."""
    left = free.copy()
    left[before], left[now] = True, False
    return left


def _around(part: Part, group: IntArray, free: BoolArray, wish: Wish) -> list[IntArray]:
    """Groups of cells alike that each lie near the target resistance of a group, whatever they hold."""
    if wish.target is None or not wish.anywhere or part.cells.forced[group].any():
        return []
    pool = np.flatnonzero(_freed(free, group, group[:0]) & part.allowed & (part.cells.resistance > 0))
    off = np.abs(part.cells.resistance[pool] - wish.target * part.parallel)
    pool = pool[np.argsort(off, kind="stable")]
    grown = [_grown(part, int(anchor), pool) for anchor in pool[: _ANCHORS * part.parallel : part.parallel]]
    return [one for one in grown if one is not None]


def _grown(part: Part, anchor: int, pool: IntArray) -> IntArray | None:
    """The anchor with the first cells of the pool that go with all so far; None where they are too few."""
    group = [anchor]
    for cell in pool.tolist():
        if len(group) == part.parallel:
            break
        if cell != anchor and part.limits.harmless(part.cells, np.array([*group, cell])):
            group.append(cell)
    return np.array(group) if len(group) == part.parallel else None


def _sum(part: Part, group: IntArray) -> int:
    return int(part.cells.capacity[group].sum())


def _resistance(part: Part, members: IntArray) -> FloatArray:
    ohm = part.cells.resistance[members].astype(np.float64)
    return in_parallel(np.where(ohm > 0, ohm, np.nan))


def _of_all(part: Part, group: IntArray, free: BoolArray, cost: Cost) -> IntArray:
    """The cheapest of all groups out of these cells and the free ones; of equal ones the poorest, then the first."""
    among = np.flatnonzero(free & part.allowed)
    pool = np.union1d(among, group)
    members = np.array(list(combinations(pool.tolist(), part.parallel)), dtype=np.int64)
    members = members[part.limits.keep(part.cells, members)]
    must = np.flatnonzero(part.cells.forced[group])
    for cell in group[must].tolist():
        members = members[(members == cell).any(1)]
    sums = part.cells.capacity[members].sum(1)
    price = cost(sums, _resistance(part, members))
    if not len(price) or not np.isfinite(price.min()):
        return group
    order = np.lexsort((sums, price))
    return members[order[0]]


def _exchanged(part: Part, group: IntArray, free: BoolArray, cost: Cost, least: float = 0.0) -> IntArray:
    """Change one or two cells for free ones, the cheapest first, until none is cheaper or ``least`` is reached."""
    free = free & part.allowed  # a copy: it changes below
    for _ in range(_ROUNDS):
        now = _price(part, group, cost)
        if now <= least:
            return group
        found = min(
            (one for many in (1, 2) if (one := _best(part, group, free, cost, many)) is not None),
            key=lambda one: one[0],
            default=None,
        )
        if found is None or not found[0] < now - 1e-9:
            return group
        free[group], free[found[1]] = True, False
        group = found[1]
    return group


def _best(part: Part, group: IntArray, free: BoolArray, cost: Cost, many: int) -> tuple[float, IntArray] | None:
    """The cheapest group that differs in this many cells, with its cost; None where none will do."""
    able = group[~part.cells.forced[group]]
    others = _nearest(part, group, np.flatnonzero(free))
    if len(able) < many or len(others) < many:
        return None
    pairs = np.stack(np.triu_indices(len(others), 1), axis=1) if many == 2 else np.arange(len(others))[:, None]
    found = [
        one
        for leaving in combinations(able.tolist(), many)
        if (one := _cheapest(part, group[~np.isin(group, leaving)], others[pairs], cost)) is not None
    ]
    return min(found, key=lambda one: one[0], default=None)


def _cheapest(part: Part, kept: IntArray, entering: IntArray, cost: Cost) -> tuple[float, IntArray] | None:
    """The cheapest group of the kept cells and one row of those entering, shape (m, many); None where none will do."""
    siemens = 1.0 / np.where(part.cells.resistance > 0, part.cells.resistance, np.nan)
    sums = _sum(part, kept) + part.cells.capacity[entering].sum(1)
    price = cost(sums, 1.0 / (siemens[kept].sum() + siemens[entering].sum(1)))
    order = np.flatnonzero(np.isfinite(price))
    order = order[np.argsort(price[order], kind="stable")][:_LOOKED_AT]
    if not len(order):
        return None
    members = np.concatenate([np.tile(kept, (len(order), 1)), entering[order]], axis=1)
    keeping = np.flatnonzero(part.limits.keep(part.cells, members))
    return (float(price[order[keeping[0]]]), members[keeping[0]]) if len(keeping) else None


def _nearest(part: Part, group: IntArray, others: IntArray) -> IntArray:
    """The free cells nearest in capacity to the mean of the group."""
    if len(others) <= _NEAREST:
        return others
    mean = part.cells.capacity[group].mean()
    return np.sort(others[np.argsort(np.abs(part.cells.capacity[others] - mean), kind="stable")[:_NEAREST]])
