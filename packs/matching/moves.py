"""Ways to better a deal: change two cells, or deal the free places of a few groups anew."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from random import Random

import numpy as np

from packs.matching.deal import FREE, Deal, in_float
from packs.matching.table import BoolArray, FloatArray, IntArray

_BEAM = 40
_LOOKED_AT = 200
_PAIRS = 24_000


@dataclass(frozen=True)
class Goal:
    """Capacity wanted of each group [steps], and what a shortfall or an excess costs per step squared."""

    low: float
    high: float
    short: float = 1.0
    over: float = 1.0

    def cost(self, sums: FloatArray | IntArray) -> FloatArray:
        """Cost of each group."""
        short = np.maximum(self.low - sums, 0.0)
        over = np.maximum(sums - self.high, 0.0)
        result: FloatArray = self.short * short * short + self.over * over * over
        return result


@dataclass(frozen=True)
class Swap:
    """Two cells that may change places and what that adds to the cost."""

    out: int
    into: int
    change: float


def best_swap(deal: Deal, group: int, goal: Goal, rnd: Random, *, barred: BoolArray | None = None) -> Swap | None:
    """Cheapest change of one cell of `group` for a free one or one of another group; None where none may be made.

    Capacities [steps of 0.1 mAh]; a cost in the unit of its goal.

    References
    ----------
    Derived here: every exchange of one cell is tried.
    """
    places, others = _sampled(deal, group, rnd)
    if not len(others):
        return None
    gain = deal.cells.capacity[others][None, :] - deal.cells.capacity[places][:, None]
    there = deal.home[others]
    before = goal.cost(deal.sums)
    change = goal.cost(deal.sums[group] + gain) - before[group]
    dealt = there != FREE
    homes = there[dealt]
    change[:, dealt] += goal.cost(deal.sums[homes][None, :] - gain[:, dealt]) - before[homes][None, :]
    change[~_allowed(deal, places, others)] = np.inf
    if barred is not None:
        change[:, barred[others]] = np.inf
    best = int(change.argmin())
    place, other = divmod(best, len(others))
    if not np.isfinite(change[place, other]):
        return None
    return Swap(int(places[place]), int(others[other]), float(change[place, other]))


def _sampled(deal: Deal, group: int, rnd: Random) -> tuple[IntArray, IntArray]:
    places: IntArray = deal.groups[group]
    others = np.flatnonzero(deal.home != group)
    if len(places) * len(others) > _PAIRS:
        keep = max(1, _PAIRS // len(places))
        if keep < len(others):
            others = others[np.array(sorted(rnd.sample(range(len(others)), keep)))]
    return places, others


def _allowed(deal: Deal, places: IntArray, others: IntArray) -> BoolArray:
    allowed = deal.may_take(places, others)
    allowed &= deal.may_take(others, places).T
    locked = deal.cells.forced[places]
    if locked.any():
        allowed &= ~(locked[:, None] & (deal.home[others] == FREE)[None, :])
    return allowed


@lru_cache(maxsize=64)
def choices(many: int, few: int) -> tuple[IntArray, IntArray, FloatArray]:
    """All ways to take `few` of `many`: those taken, those left, and a 0/1 matrix (many, ways) [dimensionless].

    References
    ----------
    Derived here: enumeration.
    """
    taken = np.array(list(combinations(range(many), few)), dtype=np.int64)
    member = np.zeros((len(taken), many))
    np.put_along_axis(member, taken, 1.0, axis=1)
    left = np.nonzero(member == 0)[1].reshape(len(taken), many - few)
    return taken, left, np.ascontiguousarray(member.T)


@dataclass(frozen=True, eq=False)
class _Beam:
    """Partial deals kept so far: cells not yet dealt (b, m), cost (b,), places dealt per group (b, g, f)."""

    left: IntArray
    cost: FloatArray
    dealt: IntArray


def redeal(deal: Deal, groups: IntArray, goal: Goal, rnd: Random, *, opened: int, extra: int = 0) -> float | None:
    """Open `opened` places of each of a few groups and deal the cells anew, keeping the best partial deals.

    Capacities [steps of 0.1 mAh]; a cost in the unit of its goal.

    Parameters
    ----------
    deal : Deal
        Changed in place when the new deal costs no more than the old one.
    groups : array of int, shape (k,)
    goal : Goal
    rnd : Random
        Chooses the places to open, and `extra` free cells that join the deal.

    Returns
    -------
    float or None
        What the change added to the cost (0 or less); None where the deal stands.

    References
    ----------
    Common practice, no source: a beam search that keeps the best partial deals.
    """
    places = np.array([rnd.sample(range(deal.groups.shape[1]), opened) for _ in groups])
    current = deal.groups[groups]
    open_cells = np.take_along_axis(current, places, axis=1)
    kept = _kept(current, places)
    pool = _joining(deal, extra, rnd)
    before = float(goal.cost(deal.sums[groups]).sum())
    beam = _Beam(np.concatenate([open_cells.ravel(), pool])[None, :], np.zeros(1), np.empty((1, 0, opened), np.int64))
    for frozen in kept:
        step = _next_group(deal, beam, frozen, goal, opened, before)
        if step is None:
            return None
        beam = step
    return _accept(deal, groups, kept, beam, before)


def _kept(current: IntArray, places: IntArray) -> IntArray:
    """Members of each group whose places are not opened, shape (k, parallel - opened)."""
    stays = np.ones(current.shape, dtype=np.bool_)
    np.put_along_axis(stays, places, False, axis=1)
    return current[stays].reshape(len(current), -1)


def _joining(deal: Deal, extra: int, rnd: Random) -> IntArray:
    free = np.flatnonzero(deal.home == FREE) if extra else np.empty(0, dtype=np.int64)
    if len(free) <= extra:
        return free
    return free[np.array(rnd.sample(range(len(free)), extra))]


def _next_group(deal: Deal, beam: _Beam, frozen: IntArray, goal: Goal, opened: int, ceiling: float) -> _Beam | None:
    taken, left, member = choices(beam.left.shape[1], opened)
    capacity = deal.cells.capacity
    sums = in_float(capacity[beam.left]) @ member + float(capacity[frozen].sum())
    cost = goal.cost(sums) + beam.cost[:, None]
    best = _cheapest(cost.ravel(), _LOOKED_AT if deal.limits.any else _BEAM, ceiling)
    source, way = np.divmod(best, len(taken))
    if deal.limits.any:
        keeps = _group_keeps(deal, np.take_along_axis(beam.left[source], taken[way], axis=1), frozen)
        best, source, way = best[keeps][:_BEAM], source[keeps][:_BEAM], way[keeps][:_BEAM]
    if not len(best):
        return None
    picked = np.take_along_axis(beam.left[source], taken[way], axis=1)
    rest = np.take_along_axis(beam.left[source], left[way], axis=1)
    return _Beam(rest, cost.ravel()[best], np.concatenate([beam.dealt[source], picked[:, None, :]], axis=1))


def _cheapest(cost: FloatArray, most: int, ceiling: float) -> IntArray:
    """Positions of the cheapest deals, cheapest first, none above the ceiling.

    Of the equally dear ones at the edge some from all over count: a library's choice among them differs from one
    processor to the next, and neighbours deal much alike.
    """
    if len(cost) > most:
        dearest = np.partition(cost, most - 1)[most - 1]
        cheaper, equal = np.flatnonzero(cost < dearest), np.flatnonzero(cost == dearest)
        among = most - len(cheaper)
        best = np.sort(np.concatenate([cheaper, equal[np.arange(among) * len(equal) // among]]))
    else:
        best = np.arange(len(cost))
    best = best[cost[best] <= ceiling]
    return best[np.argsort(cost[best], kind="stable")]


def _group_keeps(deal: Deal, picked: IntArray, frozen: IntArray) -> BoolArray:
    fixed = np.broadcast_to(frozen, (len(picked), len(frozen)))
    return deal.limits.keep(deal.cells, np.concatenate([picked, fixed], axis=1))


def _accept(deal: Deal, groups: IntArray, kept: IntArray, beam: _Beam, before: float) -> float | None:
    cost = beam.cost.copy()
    if beam.left.shape[1]:
        cost[deal.cells.forced[beam.left].any(axis=1)] = np.inf
    best = int(cost.argmin())
    if cost[best] > before:
        return None
    deal.replace(groups, np.concatenate([kept, beam.dealt[best]], axis=1))
    return float(cost[best]) - before
