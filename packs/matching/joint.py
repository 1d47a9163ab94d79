"""Settle several parts out of one stock: part after part as high as it can be, the ones before held at theirs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from packs.errors import Infeasible
from packs.matching.effort import Budget
from packs.matching.exhaustive import TooMany, all_ways, highest
from packs.matching.filters import Kind
from packs.matching.joint_bound import highest_level
from packs.matching.joint_program import level_bound
from packs.matching.kind_search import ProvenInfeasible, plain_bound, searched
from packs.matching.leftover import one_after_the_other
from packs.matching.mixed_search import Floors, climb_together, first_deal, level_of, narrow_together
from packs.matching.parts import Asked, Part
from packs.matching.table import CellTable, IntArray

_MOVES = 8


@dataclass(frozen=True, eq=False)
class Settled:
    """Groups per part, shape (groups, parallel) each, the level of each part and what it cannot exceed.

    The bound of a part holds for any arrangement in which the parts settled before it are at least at their levels.
    """

    groups: tuple[IntArray, ...]
    levels: tuple[int, ...]
    bounds: tuple[int, ...]
    order: tuple[int, ...]


def settled(
    parts: Sequence[Part],
    *,
    seed: int,
    iterations: int,
    places: Sequence[int] | None = None,
    only_weakest: bool = False,
) -> Settled:
    """Raise the weakest part as high as it can be, then the next weakest.

    With ``places``, one per part, that is done among the parts of the first place, then of the second, and so on.
    ``only_weakest`` stops at the first level [steps], as for the parts of one pack, and brings all groups near it.

    Raises
    ------
    ProvenInfeasible, packs.errors.Infeasible
        No groups found; the message says whether that is proven.

    References
    ----------
    Derived here: one level after the other is raised, those before it held.
    """
    rnd, parts = Random(seed), list(parts)
    places = places or [1] * len(parts)
    later = sorted(set(places))
    floors: list[int | None] = [None if place == later[0] else 0 for place in places]
    groups: list[IntArray] = []
    given = None
    if len(later) > 1:
        by_place = sorted(range(len(parts)), key=lambda number: places[number])
        dealt = one_after_the_other([parts[number] for number in by_place], rnd, iterations)
        given = None if dealt is None else [dealt[by_place.index(number)] for number in range(len(parts))]
    order: list[int] = []
    levels, bounds = [0] * len(parts), [0] * len(parts)
    while len(order) < len(parts):
        groups, bound = _raised(parts, floors, given, rnd, iterations)
        given = groups
        number = _weakest(parts, floors, groups)
        capacity = int(parts[number].cells.capacity[groups[number]].sum(1).min())
        floors[number], levels[number], bounds[number] = capacity, parts[number].level(capacity), bound
        order.append(number)
        if only_weakest:
            floors = [part.least(levels[number]) for part in parts]
            break
        if None not in floors and len(order) < len(parts):
            later = later[1:]
            floors = [None if place == later[0] else floor for place, floor in zip(places, floors, strict=True)]
    least = [floor or 0 for floor in floors]
    groups = narrow_together(parts, least, groups, rnd, _MOVES * iterations)
    return Settled(tuple(groups), tuple(levels), tuple(bounds), tuple(order))


def settled_as_one(table: CellTable, asked: Asked, part: Part, kind: Kind, seed: int, iterations: int) -> Settled:
    """One part alone: the search for one pack, and every deal tried where that leaves a gap and the deals are few.

    Levels [steps].

    Raises
    ------
    ProvenInfeasible, packs.errors.Infeasible
        No groups found; the message says whether that is proven.

    References
    ----------
    Derived here: as ``kind_search.searched``.
    """
    question = replace(asked.question, series=asked.groups, parallel=asked.parallel)
    bound = plain_bound(table, question, kind.rows)
    try:
        *_, found = searched(table, question, kind, bound, Random(seed), Budget(iterations))
    except ProvenInfeasible:
        raise
    except Infeasible:
        return settled([part], seed=seed, iterations=iterations)
    if found.weakest < found.bound and all_ways([part]) is not None:
        return settled([part], seed=seed, iterations=iterations)
    place = np.full(len(table), -1, dtype=np.int64)
    place[part.cells.rows] = np.arange(len(part.cells.rows))
    level, ceiling = part.level(found.weakest // part.cells.step), part.level(found.bound // part.cells.step)
    groups = [place[found.groups]]
    if level < ceiling:
        groups = climb_together([part], [None], groups, ceiling, Random(seed), _MOVES * iterations)
        level = level_of([part], [None], groups)
    return Settled(tuple(groups), (level,), (ceiling,), (0,))


def _weakest(parts: Sequence[Part], floors: Floors, groups: Sequence[IntArray]) -> int:
    """The part without a floor whose level is lowest."""
    levels = {
        number: part.level(int(part.cells.capacity[dealt].sum(1).min()))
        for number, (part, dealt) in enumerate(zip(parts, groups, strict=True))
        if floors[number] is None
    }
    return min(levels, key=lambda number: (levels[number], number))


def _raised(
    parts: Sequence[Part], floors: Floors, given: list[IntArray] | None, rnd: Random, iterations: int
) -> tuple[list[IntArray], int]:
    """Groups of the highest level found, and its bound."""
    ceiling = highest_level(parts, floors)
    if ceiling < 0:
        raise ProvenInfeasible(_refused(parts, "It is proven that they cannot hold all groups."))
    found = first_deal(parts, floors, ceiling, rnd)
    options = [groups for groups in (given, found) if groups is not None]
    groups = max(options, key=lambda one: level_of(parts, floors, one), default=None)
    level = -1 if groups is None else level_of(parts, floors, groups)
    if groups is not None and level >= ceiling:
        return groups, ceiling
    tried = _tried(parts, floors, level, ceiling)
    if tried is not None:
        better, reached = tried
        if better is None and groups is None:
            raise ProvenInfeasible(_refused(parts, "It is proven that no groups keep the limits."))
        return _not_none(parts, better or groups), reached
    return _climbed(parts, floors, groups, ceiling, rnd, iterations)


def _climbed(
    parts: Sequence[Part], floors: Floors, groups: list[IntArray] | None, ceiling: int, rnd: Random, iterations: int
) -> tuple[list[IntArray], int]:
    """Groups raised by changes of cells, and the bound by the program where a gap is left."""
    level = -1
    if groups is not None:
        groups = climb_together(parts, floors, groups, ceiling, rnd, _MOVES * iterations)
        level = level_of(parts, floors, groups)
    if level < ceiling:
        ceiling = level_bound(parts, floors, level, ceiling)
    if ceiling < 0:
        raise ProvenInfeasible(_refused(parts, "It is proven that they cannot hold all groups."))
    return _not_none(parts, groups), ceiling


def _tried(parts: Sequence[Part], floors: Floors, level: int, ceiling: int) -> tuple[list[IntArray] | None, int] | None:
    """Better groups, if any, by trying all deals, and the highest level there is; None where there are too many."""
    ways = all_ways(parts)
    if ways is None:
        return None
    try:
        return highest(parts, ways, floors, level, ceiling)
    except TooMany:
        return None


def _not_none(parts: Sequence[Part], groups: list[IntArray] | None) -> list[IntArray]:
    if groups is None:
        raise Infeasible(_refused(parts, "No groups that keep the limits were found. That is no proof of none."))
    return groups


def _refused(parts: Sequence[Part], why: str) -> str:
    usable = int(np.logical_or.reduce([part.allowed for part in parts]).sum())
    places = sum(part.groups * part.parallel for part in parts)
    return f"{usable} cells are usable and {places} are needed. {why}"
