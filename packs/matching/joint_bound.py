"""What no arrangement of several parts out of one stock can exceed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product
from math import prod

import numpy as np

from packs.matching.construct import most_groups
from packs.matching.parts import Part
from packs.matching.table import IntArray

_CHOICES = 20_000


def possible(parts: Sequence[Part], targets: Sequence[int]) -> bool:
    """Whether the stock might give every part its groups of at least its target [steps]; False is proven.

    Parameters
    ----------
    parts : sequence of Part, length k
    targets : sequence of int, length k

    Notes
    -----
    Asked of every choice of parts (of single ones and of all where there are many). Of the cells open to the choice
    the `j` largest lie in at most `j` groups. Whichever groups those are, the others have none of them, so their
    targets together must not exceed the largest cells that follow, as many as their places. If that fails for every
    way to name `j` groups, for any `j`, the targets are out of reach. Limits within a group only take arrangements
    away. Each limit alone bounds the number of groups besides.

    References
    ----------
    Derived here, as ``bound.weakest_group_bound``, which it equals for one part of three or more in parallel.
    """
    numbers = range(len(parts))
    sizes = numbers if len(parts) <= 4 else (0, len(parts) - 1)
    return all(
        _together([parts[one] for one in chosen], [targets[one] for one in chosen])
        for size in sizes
        for chosen in combinations(numbers, size + 1)
    ) and all(_room(part) for part in parts)


def highest_level(parts: Sequence[Part], floors: Sequence[int | None]) -> int:
    """Upper bound on the level of the parts without a floor [steps], the others at theirs; -1 where none is possible.

    References
    ----------
    Derived here: bisection over ``possible``.
    """
    low, high = -1, max(_top(part) for part, floor in zip(parts, floors, strict=True) if floor is None)
    while low < high:
        middle = (low + high + 1) // 2
        if possible(parts, targets_at(parts, floors, middle)):
            low = middle
        else:
            high = middle - 1
    return low


def targets_at(parts: Sequence[Part], floors: Sequence[int | None], level: int) -> list[int]:
    """Capacity [steps] that a group of each part is asked: its floor, or that of the common level.

    References
    ----------
    Derived here.
    """
    return [part.least(level) if floor is None else floor for part, floor in zip(parts, floors, strict=True)]


def _top(part: Part) -> int:
    """Level of the strongest group that this part could have."""
    return part.level(int(np.sort(part.cells.capacity[part.allowed])[-part.parallel :].sum()))


def _room(part: Part) -> bool:
    """Whether each limit alone leaves room for as many groups."""
    if not part.limits.any:
        return True
    cells, among = part.cells, np.flatnonzero(part.allowed)
    return most_groups(cells.capacity[among], cells.resistance[among], cells.voltage[among], part.limits) >= part.groups


def _together(parts: Sequence[Part], targets: Sequence[int]) -> bool:
    places = sum(part.groups * part.parallel for part in parts)
    capacity = _dominating(parts, places)
    if len(capacity) < places:
        return False
    total = np.concatenate([[0], np.cumsum(capacity)])
    groups = [part.groups for part in parts]
    if prod(many + 1 for many in groups) > _CHOICES:
        return bool(total[places] >= sum(many * target for many, target in zip(groups, targets, strict=True)))
    named = np.array(list(product(*(range(many + 1) for many in groups))), dtype=np.int64)
    left = np.array(groups) - named
    skipped = named.sum(1)
    ends = skipped + left @ np.array([part.parallel for part in parts])
    enough = total[ends] - total[skipped] >= left @ np.array(targets, dtype=np.int64)
    return len(np.unique(skipped[enough])) == sum(groups) + 1


def _dominating(parts: Sequence[Part], places: int) -> IntArray:
    """Capacities, descending, of the cells that must be used and the largest others open to these parts."""
    forced = np.logical_or.reduce([part.cells.forced & part.allowed for part in parts])
    open_to = np.logical_or.reduce([part.allowed for part in parts]) & ~forced
    capacity = parts[0].cells.capacity
    others = np.sort(capacity[open_to])[::-1][: places - int(forced.sum())]
    return np.sort(np.concatenate([capacity[forced], others]))[::-1]
