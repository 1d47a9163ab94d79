"""A deal of cells into groups, with the limits every group keeps while cells change places."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from packs.matching.question import Question, Together
from packs.matching.table import BoolArray, CellTable, FloatArray, IntArray

FREE = -1
"""Home of a cell that lies in no group."""

_FAR = np.int64(2**62)


@dataclass(frozen=True, eq=False)
class Candidates:
    """Cells the search may use: capacity [steps of `step` x 0.1 mAh], resistance [nΩ], rest voltage [µV].

    `origin` numbers the lot or donor that a group may not mix; 0 throughout where that is not asked.
    """

    rows: IntArray
    capacity: IntArray
    resistance: IntArray
    voltage: IntArray
    origin: IntArray
    forced: BoolArray
    step: int


@dataclass(frozen=True)
class Limits:
    """What a group keeps to, as whole numbers: ratio and window as (numerator, denominator)."""

    parallel: int
    ratio: tuple[int, int] | None
    window: tuple[int, int] | None
    voltage: int | None
    origin: int | None = None

    @classmethod
    def of(cls, question: Question) -> Limits:
        """Limits of a question; a cell alone in its group has nothing to agree with."""
        if question.parallel == 1:
            return cls(1, None, None, None)
        ratio, window = question.ratio, question.window
        return cls(
            question.parallel,
            None if ratio is None else (ratio.numerator, ratio.denominator),
            None if window is None else (window.numerator, window.denominator),
            question.ocv_window_uv,
            0 if question.together else None,
        )

    def none(self) -> Limits:
        """The same groups without any limit."""
        return Limits(self.parallel, None, None, None)

    def apart(self) -> list[tuple[str, Limits]]:
        """Each limit that is set, alone, with its name."""
        each = (
            ("resistance ratio", replace(self.none(), ratio=self.ratio), self.ratio),
            ("capacity window", replace(self.none(), window=self.window), self.window),
            ("voltage window", replace(self.none(), voltage=self.voltage), self.voltage),
            ("lots or donors kept together", replace(self.none(), origin=self.origin), self.origin),
        )
        return [(name, limits) for name, limits, limit in each if limit is not None]

    @property
    def any(self) -> bool:
        """Whether any limit is set."""
        return not (self.ratio is None and self.window is None and self.voltage is None and self.origin is None)

    def harmless(self, cells: Candidates, among: IntArray) -> bool:
        """Whether any group out of these cells keeps the limits, judged by the extremes of all of them."""
        ohm, volt, charge = cells.resistance[among], cells.voltage[among], cells.capacity[among]
        agree = self.ratio is None or int(ohm.max()) * self.ratio[1] <= int(ohm.min()) * self.ratio[0]
        agree &= self.voltage is None or int(volt.max() - volt.min()) <= self.voltage
        agree &= self.origin is None or int(np.ptp(cells.origin[among])) <= self.origin
        if self.window is not None:
            part, whole = self.window
            agree &= int(charge.max()) * whole <= int(charge.min()) * (whole + part)
        return agree

    def keep(self, cells: Candidates, members: IntArray) -> BoolArray:
        """Which groups keep the limits; `members` has the cells of a group along its last axis."""
        kept = np.ones(members.shape[:-1], dtype=np.bool_)
        if self.ratio is not None:
            ohm = cells.resistance[members]
            kept &= ohm.max(-1) * self.ratio[1] <= ohm.min(-1) * self.ratio[0]
        if self.voltage is not None:
            volt = cells.voltage[members]
            kept &= volt.max(-1) - volt.min(-1) <= self.voltage
        if self.origin is not None:
            kept &= np.ptp(cells.origin[members], axis=-1) <= self.origin
        if self.window is not None:
            part, whole = self.window
            charge = cells.capacity[members]
            total = charge.sum(-1)
            off = np.maximum(charge.max(-1) * self.parallel - total, total - charge.min(-1) * self.parallel)
            kept &= off * whole <= total * part
        return kept


def candidates(table: CellTable, rows: IntArray, question: Question) -> Candidates:
    """Columns of the given rows, in an order that does not depend on the order of the table.

    Capacities become whole [steps of 0.1 mAh].

    References
    ----------
    Common practice, no source: a stable order makes answers repeatable.
    """
    forced = set(question.must_use)
    origin = _origins(table, rows, question)
    capacity, ohm, volt = table.capacity_tenths[rows], table.dcir_nohm[rows], table.ocv_uv[rows]
    names = np.array([table.codes[row] for row in rows.tolist()])
    order = np.lexsort((names, volt, ohm, -capacity))
    step = int(np.gcd.reduce(capacity))
    return Candidates(
        rows=rows[order],
        capacity=capacity[order] // step,
        resistance=ohm[order],
        voltage=volt[order],
        origin=origin[order],
        forced=np.array([name in forced for name in names[order].tolist()], dtype=np.bool_),
        step=step,
    )


def _origins(table: CellTable, rows: IntArray, question: Question) -> IntArray:
    if not question.together:
        return np.zeros(len(rows), dtype=np.int64)
    column = table.lot if question.together is Together.LOT else table.donor
    numbers = {word: number for number, word in enumerate(sorted(set(column)))}
    return np.array([numbers[column[row]] for row in rows.tolist()], dtype=np.int64)


class Deal:
    """Groups of cells under limits. Per cell it knows what a cell taking its place may measure.

    Attributes
    ----------
    groups : array of int, shape (series, parallel)
    sums : array of int, shape (series,)
    home : array of int, shape (n,)
        Group of each cell, or FREE.
    low, high : array of int, shape (4, n)
        For each dealt cell the least and greatest capacity, resistance, voltage and origin that may stand in its place.
    """

    def __init__(self, cells: Candidates, limits: Limits, groups: IntArray) -> None:
        self.cells, self.limits = cells, limits
        self.groups = groups.copy()
        self.values = np.stack([cells.capacity, cells.resistance, cells.voltage, cells.origin])
        self.home = np.full(len(cells.rows), FREE, dtype=np.int64)
        self.low = np.full((4, len(cells.rows)), -_FAR)
        self.high = np.full((4, len(cells.rows)), _FAR)
        self.sums = np.zeros(len(groups), dtype=np.int64)
        self._settle(np.arange(len(groups)))

    @property
    def weakest(self) -> int:
        """Capacity of the weakest group [steps]."""
        return int(self.sums.min())

    @property
    def spread(self) -> int:
        """Strongest minus weakest group [steps]."""
        return int(self.sums.max() - self.sums.min())

    @property
    def rank(self) -> tuple[int, int]:
        """Greater is better: the weakest group first, then the smaller spread."""
        return self.weakest, -self.spread

    def replace(self, indices: IntArray, members: IntArray) -> None:
        """Give the groups at `indices` new members; cells they no longer hold become free."""
        self._release(self.groups[indices])
        self.groups[indices] = members
        self._settle(indices)

    def swap(self, out: int, into: int) -> None:
        """Let a dealt cell and another one, free or in another group, change places."""
        here, there = int(self.home[out]), int(self.home[into])
        self.groups[here][self.groups[here] == out] = into
        if there == FREE:
            self._release(np.array([out]))
            self._settle(np.array([here]))
            return
        self.groups[there][self.groups[there] == into] = out
        self._settle(np.array([here, there]))

    def may_take(self, places: IntArray, others: IntArray) -> BoolArray:
        """Whether each of `others` may stand where each of `places` stands, shape (places, others)."""
        fits = np.ones((len(places), len(others)), dtype=np.bool_)
        for kind in self._limited():
            value = self.values[kind][others][None, :]
            fits &= (value >= self.low[kind][places][:, None]) & (value <= self.high[kind][places][:, None])
        return fits

    def _limited(self) -> list[int]:
        limits = (self.limits.window, self.limits.ratio, self.limits.voltage, self.limits.origin)
        return [kind for kind, limit in enumerate(limits) if limit is not None]

    def _release(self, cells: IntArray) -> None:
        self.home[cells] = FREE
        self.low[:, cells] = -_FAR
        self.high[:, cells] = _FAR

    def _settle(self, indices: IntArray) -> None:
        members = self.groups[indices]
        self.home[members] = indices[:, None]
        charge = self.cells.capacity[members]
        self.sums[indices] = charge.sum(1)
        if self.limits.ratio is not None:
            part, whole = self.limits.ratio
            least, most = _extremes_of_others(self.cells.resistance[members])
            self.low[1][members], self.high[1][members] = -(-most * whole // part), least * part // whole
        if self.limits.voltage is not None:
            least, most = _extremes_of_others(self.cells.voltage[members])
            self.low[2][members], self.high[2][members] = most - self.limits.voltage, least + self.limits.voltage
        if self.limits.origin is not None:
            self.low[3][members] = self.high[3][members] = self.cells.origin[members]
        if self.limits.window is not None:
            self.low[0][members], self.high[0][members] = _capacity_room(charge, self.limits.window)


def _extremes_of_others(values: IntArray) -> tuple[IntArray, IntArray]:
    """Per place the least and the greatest value among the other places of its group."""
    ordered = np.sort(values, axis=1)
    least = np.where(values == ordered[:, :1], ordered[:, 1:2], ordered[:, :1])
    most = np.where(values == ordered[:, -1:], ordered[:, -2:-1], ordered[:, -1:])
    return least, most


def _capacity_room(charge: IntArray, window: tuple[int, int]) -> tuple[IntArray, IntArray]:
    """Per place the capacities that keep every cell within the window around the changed mean.

    With n cells, mean m, window w = a/b: each cell c needs b |n c - sum| <= a sum. For the newcomer and for the
    extremes of the others this is linear in the newcomer.
    """
    part, whole = window
    count = charge.shape[1]
    least, most = _extremes_of_others(charge)
    rest = charge.sum(1, keepdims=True) - charge
    low = np.maximum(
        -(-(whole * count * most) // (whole + part)) - rest,
        -(-((whole - part) * rest) // (whole * (count - 1) + part)),
    )
    high = np.minimum(
        whole * count * least // (whole - part) - rest,
        (whole + part) * rest // (whole * (count - 1) - part),
    )
    return low, high


def in_float(values: IntArray) -> FloatArray:
    """Whole numbers below 2**53 as floats, exact, for fast products.

    Steps stay [steps of 0.1 mAh].

    References
    ----------
    Arithmetic in double precision.
    """
    return values.astype(np.float64)
