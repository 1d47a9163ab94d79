"""First deals: differencing where groups have no limit, a sweep along the resistance where they have."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

import numpy as np

from packs.matching.deal import Candidates, Limits
from packs.matching.table import BoolArray, IntArray

_BISECTIONS = 8
_WINDOWS = 12
_TOPS = 128


def largest_cells(cells: Candidates, count: int) -> IntArray:
    """The forced cells and the largest others, `count` in all; cells stand in descending order of capacity.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: no choice of as many cells has a larger sum.
    """
    forced = np.flatnonzero(cells.forced)
    others = np.flatnonzero(~cells.forced)[: count - len(forced)]
    return np.sort(np.concatenate([forced, others]))


def differencing(cells: Candidates, chosen: IntArray, series: int) -> IntArray:
    """Deal the chosen cells into `series` equally large groups by balanced largest differencing.

    Slices of `series` neighbouring cells, one cell per group each, are merged two at a time: those whose sums lie
    widest apart, the largest sum of one with the smallest of the other. Capacities [steps of 0.1 mAh].

    References
    ----------
    W. Michiels, J. Korst, E. Aarts, J. van Leeuwen, "Performance ratios for the differencing method applied to the
    balanced number partitioning problem", STACS 2003, LNCS 2607, 583-595; W. Michiels et al., "Computer-assisted
    proof of performance ratios for the differencing method", Discrete Optimization 9 (2012) 1-16. Recalled from
    memory in detail.
    """
    capacity = cells.capacity
    ordered = chosen[np.argsort(-capacity[chosen], kind="stable")]
    slices = [ordered[start : start + series, None] for start in range(0, len(ordered), series)]
    while len(slices) > 1:
        slices.sort(key=lambda part: int(np.ptp(capacity[part].sum(1))))
        slices.append(_merged(capacity, slices.pop(), slices.pop()))
    return slices[0]


def _merged(capacity: IntArray, one: IntArray, other: IntArray) -> IntArray:
    rising = one[np.argsort(capacity[one].sum(1), kind="stable")]
    falling = other[np.argsort(-capacity[other].sum(1), kind="stable")]
    return np.concatenate([rising, falling], axis=1)


def bottleneck_pairs(chosen: IntArray) -> IntArray:
    """Pair the largest with the smallest and so inwards: no pairing has a stronger weakest pair.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here by exchange: uncrossing two pairs never helps the weaker one.
    """
    return np.stack([chosen, chosen[::-1]], axis=1)[: len(chosen) // 2]


def single_cells(cells: Candidates, chosen: IntArray) -> IntArray:
    """One cell per group: the weakest as strong as can be, then the others as little above it as can be.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: a group of one cell is that cell.
    """
    weakest = cells.capacity[chosen].min()
    forced = np.flatnonzero(cells.forced)
    strong = np.flatnonzero((cells.capacity >= weakest) & ~cells.forced)
    return np.concatenate([forced, strong[len(strong) - len(chosen) + len(forced) :]])[:, None]


def most_groups(capacity: IntArray, resistance: IntArray, voltage: IntArray, limits: Limits) -> int:
    """Upper bound on the number of disjoint groups that keep the limits, from each limit alone.

    Along one axis, taking the lowest run of cells that keeps together, again and again, gives the most groups. For
    the capacity window the run is as wide as the window lets it be: (1 + w) / (1 - w) from end to end. Capacities [steps of 0.1 mAh], resistances [µΩ], voltages [mV].

    References
    ----------
    Derived here: the greedy choice of disjoint intervals on a line is the largest.
    """
    most = len(capacity) // limits.parallel
    if limits.ratio is not None:
        most = min(most, _runs(resistance, limits.parallel, *limits.ratio))
    if limits.window is not None:
        part, whole = limits.window
        most = min(most, _runs(capacity, limits.parallel, whole + part, whole - part))
    if limits.voltage is not None:
        most = min(most, _steps(voltage, limits.parallel, limits.voltage))
    return most


def _runs(values: IntArray, parallel: int, part: int, whole: int) -> int:
    ordered = np.sort(values)
    fits = ordered[parallel - 1 :] * whole <= ordered[: len(ordered) - parallel + 1] * part
    return len(packed(fits, parallel))


def _steps(values: IntArray, parallel: int, width: int) -> int:
    ordered = np.sort(values)
    return len(packed(ordered[parallel - 1 :] - ordered[: len(ordered) - parallel + 1] <= width, parallel))


def packed(fits: BoolArray, parallel: int) -> list[int]:
    """Starts of the most disjoint runs of `parallel` that can be taken, given which starts fit.

    Values along any one axis [Ω], [V].

    References
    ----------
    Derived here: the greedy choice of disjoint intervals on a line is the largest.
    """
    starts: list[int] = []
    for start in np.flatnonzero(fits).tolist():
        if not starts or start >= starts[-1] + parallel:
            starts.append(start)
    return starts


def sweep(cells: Candidates, limits: Limits, series: int, ceiling: int, rnd: Random) -> IntArray | None:
    """Groups that keep the limits, the weakest as strong as a bisection over sweeps finds.

    None where no sweep found enough groups, which is no proof that there are none. ``ceiling`` [steps of 0.1 mAh].

    References
    ----------
    Common practice, no source: bisection over a greedy deal.
    """
    sweeper = Sweep(cells, limits, rnd)
    best = sweeper.run(series, 0)
    if best is None:
        return None if cells.forced.any() else _neighbours(cells, limits, series)
    low, high = int(cells.capacity[best].sum(1).min()), ceiling
    for _ in range(_BISECTIONS):
        if high - low < 2:
            break
        middle = (low + high + 1) // 2
        found = sweeper.run(series, middle)
        if found is None:
            high = middle
        else:
            best, low = found, max(middle, int(cells.capacity[found].sum(1).min()))
    return best


def _neighbours(cells: Candidates, limits: Limits, series: int) -> IntArray | None:
    """Runs of neighbours along one of the three values; for one limit alone this finds groups if there are any."""
    for column in (cells.resistance, cells.voltage, -cells.capacity):
        ordered = np.lexsort((column, cells.origin))
        runs = np.lib.stride_tricks.sliding_window_view(ordered, limits.parallel)
        starts = packed(limits.keep(cells, runs), limits.parallel)
        if len(starts) >= series:
            return runs[starts[:series]]
    return None


@dataclass
class Sweep:
    """Takes groups from windows that slide down one value; `skip` leaves out that share of the windows by chance."""

    cells: Candidates
    limits: Limits
    rnd: Random
    skip: float = 0.0

    def run(self, series: int, target: int, among: BoolArray | None = None) -> IntArray | None:
        """`series` groups of at least `target` [steps] each, out of the cells marked in `among`; None if not found."""
        order = np.argsort(-self._axis(), kind="stable")
        free = np.ones(len(order), dtype=np.bool_) if among is None else among.copy()
        order = order[free[order]]
        groups = self._around_forced(free)
        if groups is None:
            return None
        for top, end in self._windows(order):
            if self.skip and self.rnd.random() < self.skip:
                continue
            while len(groups) < series:
                inside = order[top:end]
                inside = inside[free[inside]]
                group = self._pick(inside, target)
                if group is None:
                    break
                free[group] = False
                groups.append(group)
        return np.stack(groups) if len(groups) == series else None

    def _around_forced(self, free: BoolArray) -> list[IntArray] | None:
        """Groups grown around the cells that must be used; None where one finds no company."""
        groups: list[IntArray] = []
        for cell in np.flatnonzero(self.cells.forced).tolist():
            if free[cell]:
                group = self._grown(cell, free)
                if group is None:
                    return None
                free[group] = False
                groups.append(group)
        return groups

    def _grown(self, cell: int, free: BoolArray) -> IntArray | None:
        """Add cells that go with all so far: first those that must be used, then those nearest to the first one."""
        ohm, volt, charge = self.cells.resistance, self.cells.voltage, self.cells.capacity
        far = sum(np.abs(column / max(column[cell], 1) - 1.0) for column in (ohm, volt, charge))
        order = np.lexsort((far, ~self.cells.forced))
        group = [cell]
        for other in order[free[order] & (order != cell)].tolist():
            if len(group) < self.limits.parallel and self.limits.harmless(self.cells, np.array([*group, other])):
                group.append(other)
        return np.array(group) if len(group) == self.limits.parallel else None

    def _axis(self) -> IntArray:
        """What the windows slide along: the rest voltage where it alone is limited, else the resistance."""
        only_voltage = self.limits.ratio is None and self.limits.voltage is not None
        return self.cells.voltage if only_voltage else self.cells.resistance

    def _windows(self, order: IntArray) -> list[tuple[int, int]]:
        """First place and end of each window, in an order of descending values."""
        value = self._axis()[order]
        if self.limits.ratio is not None:
            part, whole = self.limits.ratio
            ends = np.searchsorted(-value * part, -value * whole, side="right")
        elif self.limits.voltage is not None:
            ends = np.searchsorted(-value, self.limits.voltage - value, side="right")
        else:
            return [(0, len(order))]
        stride = max(1, self.limits.parallel // 4, len(order) // _TOPS)
        return [(top, int(ends[top])) for top in range(0, len(order), stride)]

    def _pick(self, inside: IntArray, target: int) -> IntArray | None:
        """A group out of cells in descending order of resistance, with as little above the target as is easy."""
        for part in self._of_one_origin(inside):
            group = self._pick_any(part, target)
            if group is not None:
                return group
        return None

    def _of_one_origin(self, inside: IntArray) -> list[IntArray]:
        if self.limits.origin is None:
            return [inside]
        origin = self.cells.origin[inside]
        return [inside[origin == one] for one in np.unique(origin).tolist()]

    def _pick_any(self, inside: IntArray, target: int) -> IntArray | None:
        if len(inside) < self.limits.parallel:
            return None
        if self.limits.voltage is None or self.limits.ratio is None:
            return self._choose(inside, target)
        for part in self._voltage_windows(inside):
            group = self._choose(part, target)
            if group is not None:
                return group
        return None

    def _voltage_windows(self, inside: IntArray) -> list[IntArray]:
        """Cells within one voltage window each, in the order given, those strongest in the largest cells first."""
        width, parallel = self.limits.voltage or 0, self.limits.parallel
        volt = self.cells.voltage[inside]
        starts = np.unique(volt)
        starts = starts[:: max(1, len(starts) // _WINDOWS)]
        member = (volt[None, :] >= starts[:, None]) & (volt[None, :] <= starts[:, None] + width)
        charge = np.sort(np.where(member, self.cells.capacity[inside][None, :], 0), axis=1)[:, -parallel:].sum(1)
        return [inside[member[k]] for k in np.argsort(-charge, kind="stable")[:4].tolist()]

    def _choose(self, inside: IntArray, target: int) -> IntArray | None:
        if len(inside) < self.limits.parallel:
            return None
        return self._raised(inside, target) if self.limits.window is None else self._run(inside, target)

    def _raised(self, inside: IntArray, target: int) -> IntArray | None:
        """Start from the highest resistances; change the weakest cells for the strongest others until it is enough."""
        parallel, capacity = self.limits.parallel, self.cells.capacity
        first, rest = inside[:parallel], inside[parallel:]
        first = first[np.argsort(capacity[first], kind="stable")]
        rest = rest[np.argsort(-capacity[rest], kind="stable")][:parallel]
        gains = np.maximum(capacity[rest] - capacity[first[: len(rest)]], 0)
        sums = int(capacity[first].sum()) + np.concatenate([[0], np.cumsum(gains)])
        if sums[-1] < target:
            return None
        changed = int(np.argmax(sums >= target))
        return np.concatenate([rest[:changed], first[changed:]])

    def _run(self, inside: IntArray, target: int) -> IntArray | None:
        """The weakest run of neighbours in capacity that keeps the window and reaches the target."""
        parallel = self.limits.parallel
        ordered = inside[np.argsort(-self.cells.capacity[inside], kind="stable")]
        runs = np.lib.stride_tricks.sliding_window_view(ordered, parallel)
        fits = self.limits.keep(self.cells, runs) & (self.cells.capacity[runs].sum(1) >= target)
        return runs[np.flatnonzero(fits)[-1]] if fits.any() else None
