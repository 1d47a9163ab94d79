"""Maximal windows: the largest sets of cells out of which a group that keeps the limits can come."""

from __future__ import annotations

import numpy as np

from packs.matching.deal import Candidates, Limits
from packs.matching.table import BoolArray, IntArray

_MEMBERSHIPS = 3_000_000


def maximal_windows(cells: Candidates, limits: Limits, target: int) -> BoolArray:
    """Windows that can hold a group of at least `target` [steps], each with the cells such a group can have.

    Every group that keeps the limits and reaches the target lies within one of them: its smallest resistance,
    voltage and capacity start the windows along these values. Where there are too many, neighbouring windows are
    joined to wider ones, which only adds to what is possible.

    Returns
    -------
    array of bool, shape (windows, n)
        Which cells lie in which window.

    References
    ----------
    Derived here in the paragraph above.
    """
    member = np.ones((1, len(cells.rows)), dtype=np.bool_)
    along = axes(cells, limits)
    most = max(4, int((_MEMBERSHIPS / len(cells.rows)) ** (1 / max(1, len(along)))))
    for values, ends in along:
        inside = _along(values, ends, most)
        member = (member[:, None, :] & inside[None, :, :]).reshape(-1, member.shape[1])
        member = _reaching(member, cells, limits.parallel, target)
    return _without_parts(member)


def axes(cells: Candidates, limits: Limits) -> list[tuple[IntArray, IntArray]]:
    """Per limit the values of the cells, and for each the largest value that may stand beside it as the smallest.

    Capacities [steps of 0.1 mAh], resistances [µΩ], voltages [mV].

    References
    ----------
    Derived here from the limits.
    """
    found: list[tuple[IntArray, IntArray]] = []
    if limits.origin is not None:
        found.append((cells.origin, cells.origin + limits.origin))
    if limits.ratio is not None:
        part, whole = limits.ratio
        found.append((cells.resistance, cells.resistance * part // whole))
    if limits.voltage is not None:
        found.append((cells.voltage, cells.voltage + limits.voltage))
    if limits.window is not None:
        part, whole = limits.window
        found.append((cells.capacity, cells.capacity * (whole + part) // (whole - part)))
    return found


def _along(values: IntArray, ends: IntArray, most: int) -> BoolArray:
    """Maximal runs of values along one axis, at most `most` of them."""
    starts, first = np.unique(values, return_index=True)
    last = np.searchsorted(starts, ends[first], side="right") - 1
    kept = np.flatnonzero(np.concatenate([[True], last[1:] > last[:-1]]))
    parts = np.array_split(kept, min(most, len(kept)))
    low = np.array([starts[part[0]] for part in parts])
    high = np.array([starts[last[part[-1]]] for part in parts])
    return (values[None, :] >= low[:, None]) & (values[None, :] <= high[:, None])


def _reaching(member: BoolArray, cells: Candidates, parallel: int, target: int) -> BoolArray:
    """Windows whose strongest group reaches the target, without the cells that no such group can have."""
    rank = np.cumsum(member, axis=1)
    charge = cells.capacity
    strongest = (member & (rank <= parallel)) @ charge
    company = (member & (rank < parallel)) @ charge
    able = (rank[:, -1] >= parallel) & (strongest >= target)
    member, company = member[able], company[able]
    member &= charge[None, :] + company[:, None] >= target
    return member


def _without_parts(member: BoolArray) -> BoolArray:
    """Windows that are no part of another one."""
    member = np.unique(member, axis=0)
    size = member.sum(1)
    member = member[np.argsort(-size, kind="stable")]
    used = member.any(0)
    flags = member[:, used].astype(np.float32)
    shared = flags @ flags.T
    part_of = np.tril(shared >= flags.sum(1)[:, None] - 0.5, -1)
    return member[~part_of.any(1)]
