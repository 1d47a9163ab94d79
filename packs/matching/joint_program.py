"""The bound of several parts under limits: all their windows in one linear program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from packs.matching.joint_bound import targets_at
from packs.matching.parts import Part
from packs.matching.program import Classes, Outcome, outcome_of
from packs.matching.table import BoolArray
from packs.matching.windows import maximal_windows

_TESTS = 24


def level_bound(parts: Sequence[Part], floors: Sequence[int | None], found: int, ceiling: int) -> int:
    """Upper bound on the level [steps] of the parts without a floor, between what is found and ``ceiling``; -1 for none.

    Notes
    -----
    Fractions of groups lie in the maximal windows of their part, which share the cells in fractions; the groups of
    one window reach their target together. Any arrangement is a solution, so that a level without one is out of
    reach.

    References
    ----------
    Derived here, as ``program.Program``, with the windows of all parts side by side.
    """
    if not any(part.limits.any for part in parts):
        return ceiling
    low, high = found, ceiling
    target = high
    for _ in range(_TESTS):
        if low >= high:
            break
        if _reachable(parts, targets_at(parts, floors, max(target, 0))):
            low = target
        else:
            high = target - 1
        target = (low + high + 1) // 2
    return high


def _reachable(parts: Sequence[Part], targets: Sequence[int]) -> bool:
    windows: list[BoolArray] = []
    for part, target in zip(parts, targets, strict=True):
        member = maximal_windows(part.cells, part.limits, target) & part.allowed
        member = member[member.sum(1) >= part.parallel]
        if not len(member):
            return False
        windows.append(member)
    part_of = np.repeat(np.arange(len(parts)), [len(member) for member in windows])
    places = sum(part.groups * part.parallel for part in parts)
    forced = np.logical_or.reduce([part.cells.forced & part.allowed for part in parts])
    if (forced & ~np.concatenate(windows).any(0)).any():
        return False
    classes = Classes.of(replace(parts[0].cells, forced=forced), np.concatenate(windows), places)
    found = outcome_of(
        classes,
        part_of,
        np.array([part.groups for part in parts]),
        np.array([part.parallel for part in parts]),
        np.array(targets, dtype=np.int64),
    )
    return found is not Outcome.IMPOSSIBLE
