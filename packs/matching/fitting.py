"""How many groups fit the limits, and the fewest cells to buy or to level so that all of them do."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packs.matching.construct import most_groups, packed
from packs.matching.deal import Candidates, Limits
from packs.matching.table import BoolArray, IntArray
from packs.matching.transport import Filled, Transport
from packs.matching.windows import maximal_windows

# Pairs of windows above which the fewest cells to level are not found within the time there is, measured here.
_PAIRS = 500


@dataclass(frozen=True, eq=False)
class Room:
    """Groups that keep the limits: no arrangement has more than `most`; `groups` (found, parallel) were found."""

    most: int
    groups: IntArray


@dataclass(frozen=True, eq=False)
class Stocked:
    """Cells to buy: for each group that needs any how many, and the cells in stock that stand beside them.

    `fewest` says whether fewer are proven not to do.
    """

    bought: tuple[int, ...]
    beside: tuple[IntArray, ...]
    fewest: bool


@dataclass(frozen=True, eq=False)
class Levelled:
    """Groups (series, parallel) that keep every limit once the cells marked in `level` have another rest voltage.

    `fewest` says whether fewer cells to level are proven not to do.
    """

    groups: IntArray
    level: BoolArray
    fewest: bool


def room(cells: Candidates, limits: Limits, series: int, *, all_or_none: bool = False) -> Room:
    """Most groups that keep the limits, `series` at most, whatever they hold.

    Parameters
    ----------
    cells : Candidates
        Capacities [steps of 0.1 mAh], resistances [nΩ], voltages [µV].
    limits : Limits
    series : int
    all_or_none : bool
        Whether it is enough to know that they are fewer than `series`: then one limit alone may prove it.

    Notes
    -----
    A group that keeps the limits lies in one maximal window, and any `parallel` cells of a window are a group. With
    whole numbers of groups per window what remains is a transport of cells to windows, which has whole solutions.
    Only the capacity window is held against the group's own mean: for it, windows too wide bound the number and
    windows narrow enough give the groups; the two may differ.

    References
    ----------
    G. B. Dantzig, "Linear Programming and Extensions", recalled from memory; see ``transport.Transport``.
    """
    most = min(series, most_groups(cells.capacity, cells.resistance, cells.voltage, limits))
    if most < 1 or (all_or_none and most < series):
        return Room(most, np.empty((0, limits.parallel), dtype=np.int64))
    if len(limits.apart()) < 2 and limits.window is None and limits.origin is None:
        return Room(most, _in_a_row(cells, limits)[:most])
    found = _transport(cells, narrowed(limits), series).most_groups()
    bounding = found
    if limits.window is not None:
        bounding = _transport(cells, limits, series).most_groups()
    if bounding is not None and bounding.proven:
        most = min(most, int(bounding.groups.sum()))
    groups = _groups(found, limits.parallel)
    return Room(most, groups[limits.keep(cells, groups)])


def may_fit(cells: Candidates, limits: Limits, series: int) -> bool:
    """Whether `series` groups might keep the limits, told far sooner than ``room``; False is proven.

    Capacities [steps of 0.1 mAh], resistances [nΩ], voltages [µV].

    References
    ----------
    Linear Programming and Extensions, as ``room``: fractions of groups are never fewer than whole ones.
    """
    if most_groups(cells.capacity, cells.resistance, cells.voltage, limits) < series:
        return False
    if len(limits.apart()) < 2 and limits.window is None and limits.origin is None:
        return True
    return _transport(cells, limits, series).may_hold()


def _in_a_row(cells: Candidates, limits: Limits) -> IntArray:
    """Most groups under one limit at most: runs of neighbours along its value."""
    order = np.argsort(cells.resistance if limits.ratio is not None else cells.voltage, kind="stable")
    runs = np.lib.stride_tricks.sliding_window_view(order, limits.parallel)
    return runs[packed(limits.keep(cells, runs), limits.parallel)]


def narrowed(limits: Limits) -> Limits:
    """Limits whose windows hold only cells that go together: from the smallest to 1 + w of it.

    Whatever the mean, it lies between the two, and neither is further from it than w of the smaller. Capacities
    [steps of 0.1 mAh].

    References
    ----------
    Derived here: (1 + v) / (1 - v) = 1 + w for v = w / (2 + w).
    """
    if limits.window is None:
        return limits
    part, whole = limits.window
    return replace(limits, window=(part, 2 * whole + part))


def shopping(cells: Candidates, limits: Limits, series: int, here: Room) -> Stocked:
    """Fewest cells to buy, each fitting the group it is bought for, so that `series` groups keep the limits.

    One cell completes one group at most, so that as many are needed at least as groups are lacking to the most
    that are possible ``here``. Capacities [steps of 0.1 mAh], resistances [nΩ], voltages [µV].

    References
    ----------
    Linear Programming and Extensions, as ``room``; cells bought are one more source of the transport, at a price.
    """
    member = np.zeros((0, len(cells.rows)), dtype=np.bool_)
    if len(cells.rows):
        member = maximal_windows(cells, replace(narrowed(limits), parallel=1), 0)
    least = series - here.most
    simple = _completed(member, limits.parallel, series, here.groups)
    if sum(simple.bought) <= least:
        return replace(simple, fewest=True)
    filled = Transport.of(member, limits.parallel, series, bare=True).fewest_bought(least)
    if filled is None:
        return simple
    lacking = [
        (limits.parallel - len(own), own)
        for many, given in zip(filled.groups.tolist(), filled.cells, strict=True)
        for own in _in_groups(given, many, limits.parallel)
        if len(own) < limits.parallel
    ]
    bought = tuple(few for few, _ in lacking)
    # Under a capacity window groups may be wider than the windows here: then only the least number proves it.
    fewest = sum(bought) <= least or (filled.proven and limits.window is None)
    found = Stocked(bought, tuple(own for _, own in lacking), fewest)
    return simple if not found.fewest and sum(simple.bought) <= sum(found.bought) else found


def _completed(member: BoolArray, parallel: int, series: int, groups: IntArray) -> Stocked:
    """The groups that were found as they are; each further one begins with the most cells left over that go together."""
    free = np.ones(member.shape[1], dtype=np.bool_)
    free[groups[:series].ravel()] = False
    beside: list[IntArray] = []
    for _ in range(series - len(groups)):
        together = member & free
        own = np.flatnonzero(together[together.sum(1).argmax()])[:parallel] if len(member) else np.empty(0, np.int64)
        free[own] = False
        beside.append(own)
    lacking = [own for own in beside if len(own) < parallel]
    return Stocked(tuple(parallel - len(own) for own in lacking), tuple(lacking), fewest=False)


def _in_groups(given: IntArray, many: int, parallel: int) -> list[IntArray]:
    """The cells of one window as its groups, all full but the last ones."""
    return [given[first : first + parallel] for first in range(0, many * parallel, parallel)]


def levelled(cells: Candidates, limits: Limits, series: int) -> Levelled | None:
    """Fewest cells to bring to another rest voltage so that `series` groups keep the limits.

    None where the question is too large for it, or no groups were found. Capacities [steps of 0.1 mAh], resistances
    [nΩ], voltages [µV].

    References
    ----------
    Linear Programming and Extensions, as ``room``; a cell outside the voltage window of its group stands there at a price.
    """
    others = maximal_windows(cells, narrowed(replace(limits, voltage=None)), 0)
    volts = maximal_windows(cells, replace(limits.none(), parallel=1, voltage=limits.voltage), 0)
    if len(others) * len(volts) > _PAIRS:
        return None
    pairs = [(one, one & ~volt) for one in others for volt in volts if (one & volt).any()]
    if not pairs:
        return None
    member, price = (np.stack(part) for part in zip(*pairs, strict=True))
    filled = Transport.of(member, limits.parallel, series, price).cheapest()
    if filled is None:
        return None
    groups = _groups(filled, limits.parallel)
    level = np.concatenate(filled.dear).reshape(groups.shape)
    # As for buying: the windows narrowed for a capacity window prove nothing about groups that are wider.
    return Levelled(groups, level, filled.proven and limits.window is None)


def levelled_as_dealt(cells: Candidates, limits: Limits, groups: IntArray) -> Levelled:
    """Of each group of a deal the cells outside the voltage window that holds most of its cells.

    Groups (series, parallel); voltages [µV].

    References
    ----------
    Arithmetic.
    """
    volt = cells.voltage[groups]
    above = volt[:, None, :] - volt[:, :, None]
    inside = (above >= 0) & (above <= (limits.voltage or 0))
    best = inside.sum(2).argmax(1)
    return Levelled(groups, ~np.take_along_axis(inside, best[:, None, None], axis=1)[:, 0], fewest=False)


def _transport(cells: Candidates, limits: Limits, series: int) -> Transport:
    return Transport.of(maximal_windows(cells, limits, 0), limits.parallel, series)


def _groups(filled: Filled | None, parallel: int) -> IntArray:
    if filled is None or not filled.cells:
        return np.empty((0, parallel), dtype=np.int64)
    return np.concatenate([given.reshape(-1, parallel) for given in filled.cells])
