"""A deal of several parts out of one stock, and its moves: change two cells, or deal two groups anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from packs.matching.deal import FREE, in_float
from packs.matching.moves import choices
from packs.matching.parts import Part
from packs.matching.table import BoolArray, FloatArray, IntArray

_PAIRS = 24_000
_LOOKED_AT = 96


@dataclass(frozen=True, eq=False)
class Goals:
    """Capacity wanted of each group [steps], shape (groups,), and what a step short of or above it costs, squared."""

    wanted: IntArray
    short: FloatArray
    over: FloatArray

    def cost(self, groups: IntArray | int, sums: IntArray | FloatArray) -> FloatArray:
        """Cost of these groups at these capacities."""
        short = np.maximum(self.wanted[groups] - sums, 0.0)
        over = np.maximum(sums - self.wanted[groups], 0.0)
        result: FloatArray = self.short[groups] * short * short + self.over[groups] * over * over
        return result


class Mixed:
    """Groups of several parts.

    Attributes
    ----------
    groups : list of array of int
        Cells of each group, part after part.
    part_of, sums : array of int, shape (groups,)
        Part and capacity [steps] of each group.
    home : array of int, shape (n,)
        Group of each cell, or FREE.
    """

    def __init__(self, parts: Sequence[Part], groups: Sequence[IntArray]) -> None:
        self.parts = tuple(parts)
        self.capacity = parts[0].cells.capacity
        self.allowed = np.stack([part.allowed for part in parts])
        self.groups: list[IntArray] = [group.copy() for part in groups for group in part]
        self.part_of = np.repeat(np.arange(len(parts)), [len(part) for part in groups])
        self.home = np.full(len(self.capacity), FREE, dtype=np.int64)
        self.sums = np.zeros(len(self.groups), dtype=np.int64)
        for group, cells in enumerate(self.groups):
            self.put(group, cells)

    def put(self, group: int, cells: IntArray) -> None:
        """Let a group hold these cells; what it held before is not freed."""
        self.groups[group] = cells
        self.home[cells] = group
        self.sums[group] = self.capacity[cells].sum()

    def by_part(self) -> list[IntArray]:
        """Cells of each part's groups, shape (groups, parallel) each."""
        return [
            np.array([self.groups[group] for group in np.flatnonzero(self.part_of == number)], dtype=np.int64)
            for number in range(len(self.parts))
        ]

    def part(self, group: int) -> Part:
        """The part that a group belongs to."""
        return self.parts[self.part_of[group]]

    def keeps(self, group: int, members: IntArray) -> BoolArray:
        """Whether each of these sets of cells, shape (m, parallel), keeps the limits of a group."""
        part = self.part(group)
        kept = np.asarray(part.limits.keep(part.cells, members))
        return kept & part.allowed[members].all(axis=-1)

    def swap(self, out: int, into: int) -> None:
        """Let a dealt cell and another one, free or in another group, change places."""
        here, there = int(self.home[out]), int(self.home[into])
        self.home[out] = FREE
        if there != FREE:
            self.put(there, np.where(self.groups[there] == into, out, self.groups[there]))
        self.put(here, np.where(self.groups[here] == out, into, self.groups[here]))


@dataclass(frozen=True)
class Change:
    """Two cells that may change places, and what that adds to the cost."""

    out: int
    into: int
    cost: float


def best_change(deal: Mixed, group: int, goals: Goals, rnd: Random, barred: BoolArray | None = None) -> Change | None:
    """The cheapest change of a cell of this group for a free one or one of another group; None where none is allowed.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: every exchange of one cell is tried, as ``moves.best_swap``.
    """
    places, others = deal.groups[group], _others(deal, group, rnd)
    if barred is not None:
        others = others[~barred[others]]
    if not len(others):
        return None
    cost = _costs(deal, group, others, goals)
    flat = cost.ravel()
    order = np.argpartition(flat, _LOOKED_AT)[:_LOOKED_AT] if len(flat) > _LOOKED_AT else np.arange(len(flat))
    order = np.sort(order)
    order = order[np.isfinite(flat[order])]
    order = order[np.argsort(flat[order], kind="stable")]
    place, other = np.divmod(order, len(others))
    members = np.repeat(places[None, :], len(order), axis=0)
    members[np.arange(len(order)), place] = others[other]
    for at in np.flatnonzero(deal.keeps(group, members)).tolist():
        out, into = int(places[place[at]]), int(others[other[at]])
        if _other_keeps(deal, out, into):
            return Change(out, into, float(flat[order[at]]))
    return None


def _others(deal: Mixed, group: int, rnd: Random) -> IntArray:
    others = np.flatnonzero((deal.home != group) & deal.part(group).allowed)
    most = max(1, _PAIRS // len(deal.groups[group]))
    if len(others) <= most:
        return others
    return others[np.array(sorted(rnd.sample(range(len(others)), most)))]


def _costs(deal: Mixed, group: int, others: IntArray, goals: Goals) -> FloatArray:
    """What each change adds to the cost, shape (places, others); infinite where a cell may not stand there."""
    places, there = deal.groups[group], deal.home[others]
    gain = deal.capacity[others][None, :] - deal.capacity[places][:, None]
    cost = goals.cost(group, deal.sums[group] + gain) - goals.cost(group, deal.sums[group])
    dealt = there != FREE
    homes = there[dealt]
    cost[:, dealt] += goals.cost(homes, deal.sums[homes][None, :] - gain[:, dealt]) - goals.cost(
        homes, deal.sums[homes]
    )
    cost[:, dealt] = np.where(deal.allowed[deal.part_of[homes]][:, places].T, cost[:, dealt], np.inf)
    locked = deal.part(group).cells.forced[places]
    cost[np.ix_(locked, ~dealt)] = np.inf
    return cost


def _other_keeps(deal: Mixed, out: int, into: int) -> bool:
    there = int(deal.home[into])
    if there == FREE:
        return True
    members = np.where(deal.groups[there] == into, out, deal.groups[there])
    return bool(deal.keeps(there, members[None, :])[0])


def redeal_two(deal: Mixed, one: int, other: int, goals: Goals) -> float:
    """Deal the cells of two groups anew, the cheapest of all ways that keep their limits; returns what that saves.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: every way to deal the cells of two groups is tried.
    """
    pool = np.concatenate([deal.groups[one], deal.groups[other]])
    taken, left, member = choices(len(pool), len(deal.groups[one]))
    sums = np.rint(in_float(deal.capacity[pool]) @ member).astype(np.int64)
    cost = goals.cost(one, sums) + goals.cost(other, int(deal.capacity[pool].sum()) - sums)
    before = float(goals.cost(one, deal.sums[one]) + goals.cost(other, deal.sums[other]))
    ways = np.argsort(cost, kind="stable")[:_LOOKED_AT]
    ways = ways[cost[ways] < before]
    ways = ways[deal.keeps(one, pool[taken[ways]])] if len(ways) else ways
    ways = ways[deal.keeps(other, pool[left[ways]])] if len(ways) else ways
    if not len(ways):
        return 0.0
    deal.put(one, pool[taken[ways[0]]])
    deal.put(other, pool[left[ways[0]]])
    return before - float(cost[ways[0]])
