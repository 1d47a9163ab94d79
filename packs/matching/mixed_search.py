"""Several parts out of one stock: first deals, then changes of cells that raise the common level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import islice, permutations
from math import comb
from random import Random

import numpy as np

from packs.matching.construct import Sweep
from packs.matching.joint_bound import targets_at
from packs.matching.mixed import Goals, Mixed, best_change, redeal_two
from packs.matching.parts import Part
from packs.matching.table import IntArray

# Weights, lengths and counts below were chosen by trial; a deal is valid with any others.
_ORDERS = 6
_BISECTIONS = 10
_HELD = 1e6
_WASTE = 1e-4
_TENURE = 8
_REDEAL_EVERY = 8
_PATIENCE = 24
_REDEALT = 1000

Floors = Sequence[int | None]


def level_of(parts: Sequence[Part], floors: Floors, groups: Sequence[IntArray]) -> int:
    """Level [steps] of the weakest group of the parts without a floor; -1 where a floor is not held.

    References
    ----------
    Derived here.
    """
    levels: list[int] = []
    for part, floor, dealt in zip(parts, floors, groups, strict=True):
        weakest = int(part.cells.capacity[dealt].sum(1).min())
        if floor is None:
            levels.append(part.level(weakest))
        elif weakest < floor:
            return -1
    return min(levels)


def first_deal(parts: Sequence[Part], floors: Floors, ceiling: int, rnd: Random) -> list[IntArray] | None:
    """The best of the first deals: by need where no part has limits, and part after part by sweeps in every order.

    None where none was found. ``ceiling`` [steps].

    References
    ----------
    Common practice, no source: bisection over a greedy deal, as ``construct.sweep``.
    """
    found = [
        dealt
        for order in islice(permutations(range(len(parts))), _ORDERS)
        if (dealt := _swept(parts, floors, ceiling, order, rnd)) is not None
    ]
    if not any(part.limits.any for part in parts):
        by_need = _by_need(parts, targets_at(parts, floors, ceiling))
        found += [by_need] if by_need is not None else []
    return max(found, key=lambda groups: level_of(parts, floors, groups), default=None)


def _swept(
    parts: Sequence[Part], floors: Floors, ceiling: int, order: Sequence[int], rnd: Random
) -> list[IntArray] | None:
    best = _sweep_at(parts, targets_at(parts, floors, 0), order, rnd)
    if best is None:
        return None
    low, high = max(level_of(parts, floors, best), 0), ceiling
    for _ in range(_BISECTIONS):
        if high <= low:
            break
        middle = (low + high + 1) // 2
        found = _sweep_at(parts, targets_at(parts, floors, middle), order, rnd)
        if found is None:
            high = middle - 1
        else:
            best, low = found, max(middle, level_of(parts, floors, found))
    return best


def _sweep_at(
    parts: Sequence[Part], targets: Sequence[int], order: Sequence[int], rnd: Random
) -> list[IntArray] | None:
    """Groups of at least the targets, part after part in this order, each from what the ones before have left."""
    free = np.ones(len(parts[0].allowed), dtype=np.bool_)
    found: dict[int, IntArray] = {}
    for number in order:
        part = parts[number]
        cells = replace(part.cells, forced=part.cells.forced & part.allowed)
        groups = Sweep(cells, part.limits, rnd).run(part.groups, targets[number], free & part.allowed)
        if groups is None:
            return None
        free[groups] = False
        found[number] = groups
    return [found[number] for number in range(len(parts))]


def _by_need(parts: Sequence[Part], targets: Sequence[int]) -> list[IntArray] | None:
    """The largest cells, each to the group that lacks most per place still open; None where a group stays short."""
    part_of = [number for number, part in enumerate(parts) for _ in range(part.groups)]
    places = np.array([parts[number].parallel for number in part_of])
    lacks = np.array([targets[number] for number in part_of], dtype=np.float64)
    allowed = np.stack([parts[number].allowed for number in part_of])
    forced = np.logical_or.reduce([part.cells.forced & part.allowed for part in parts])
    members: list[list[int]] = [[] for _ in part_of]
    capacity = parts[0].cells.capacity
    for cell in (*np.flatnonzero(forced).tolist(), *np.flatnonzero(~forced).tolist()):
        need = np.where(allowed[:, cell] & (places > 0), lacks / np.maximum(places, 1), -np.inf)
        group = int(need.argmax())
        if need[group] > -np.inf:
            members[group].append(cell)
            places[group] -= 1
            lacks[group] -= capacity[cell]
    if places.any():
        return None
    return [
        np.array([one for one, at in zip(members, part_of, strict=True) if at == number], dtype=np.int64)
        for number in range(len(parts))
    ]


def climb_together(
    parts: Sequence[Part], floors: Floors, groups: Sequence[IntArray], ceiling: int, rnd: Random, moves: int
) -> list[IntArray]:
    """Raise the level of a deal by changes of cells, at most to ``ceiling`` [steps]; floors are held.

    A cell that just moved is barred for a while, so that the walk leaves a deal that no single change betters.

    References
    ----------
    F. Glover, "Tabu search - Part I" (recalled from memory): cells that just moved are barred.
    """
    deal = Mixed(parts, groups)
    best, level = list(groups), level_of(parts, floors, groups)
    barred_until = np.zeros(len(deal.home), dtype=np.int64)
    for turn in range(1, moves + 1):
        if level >= ceiling:
            break
        goals = _goals(deal, floors, level + max(1, (ceiling - level) // 64))
        short = np.flatnonzero(deal.sums < goals.wanted)
        if len(short):
            group = _weakest(deal, goals) if rnd.random() < 0.5 else int(short[rnd.randrange(len(short))])
            if turn % _REDEAL_EVERY == 1:
                _redealt(deal, group, goals)
            else:
                _stepped(deal, group, goals, rnd, barred_until, turn)
        now = deal.by_part()
        if (reached := level_of(parts, floors, now)) > level:
            best, level = now, reached
    return best


def _goals(deal: Mixed, floors: Floors, level: int) -> Goals:
    targets = np.array(targets_at(deal.parts, floors, level), dtype=np.int64)[deal.part_of]
    each = [1.0 if floor is None else _HELD for floor in floors]
    worth = np.array([min(part.weight for part in deal.parts) / part.weight for part in deal.parts])
    short = np.array(each)[deal.part_of] * (worth * worth)[deal.part_of]
    return Goals(targets, short, np.full(len(targets), _WASTE))


def _weakest(deal: Mixed, goals: Goals) -> int:
    return int(np.argmax((goals.wanted - deal.sums) * np.sqrt(goals.short)))


def _stepped(deal: Mixed, group: int, goals: Goals, rnd: Random, barred_until: IntArray, turn: int) -> None:
    change = best_change(deal, group, goals, rnd, barred_until > turn)
    if change is not None:
        deal.swap(change.out, change.into)
        barred_until[[change.out, change.into]] = turn + _TENURE + rnd.randrange(_TENURE)


def _redealt(deal: Mixed, group: int, goals: Goals) -> None:
    """Deal the group anew with each other one, where the ways are few."""
    size = len(deal.groups[group])
    for other in range(len(deal.groups)):
        if other != group and comb(size + len(deal.groups[other]), size) <= _REDEALT:
            redeal_two(deal, group, other, goals)


def narrow_together(
    parts: Sequence[Part], least: Sequence[int], groups: Sequence[IntArray], rnd: Random, moves: int
) -> list[IntArray]:
    """Bring the groups of each part down to its least capacity [steps], none below it.

    References
    ----------
    Derived here: exchange of cells, as ``improve.even``.
    """
    deal = Mixed(parts, groups)
    wanted = np.array(least, dtype=np.int64)[deal.part_of]
    goals = Goals(wanted, np.full(len(wanted), _HELD), np.ones(len(wanted)))
    idle = 0
    for _ in range(moves):
        if idle >= _PATIENCE or bool((deal.sums <= wanted).all()):
            break
        over = np.argsort(wanted - deal.sums, kind="stable")
        group = int(over[min(idle // 2, len(over) - 1)])
        change = best_change(deal, group, goals, rnd)
        before = float(goals.cost(np.arange(len(wanted)), deal.sums).sum())
        if change is not None and change.cost < 0:
            deal.swap(change.out, change.into)
        else:
            _redealt(deal, group, goals)
        idle = 0 if float(goals.cost(np.arange(len(wanted)), deal.sums).sum()) < before - 1e-9 else idle + 1
    return deal.by_part()
