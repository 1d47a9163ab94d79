"""Whole groups per window and whole cells in them: the program behind what fits, what to buy and what to level."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from packs.matching.table import BoolArray, FloatArray, IntArray

if TYPE_CHECKING:
    from scipy.sparse import csc_array

_OPTIMAL, _IMPOSSIBLE = 0, 2
# Most that the solver may take [s]: to tell how many groups fit, and to look for fewer cells to buy or to level.
_FITTING, _FEWEST = 1.0, 0.2
# Above this the solver takes longer than a page waits: windows with the fewest cells are left out then.
_PLACES = 20_000


@dataclass(frozen=True, eq=False)
class Filled:
    """Groups of each window used: `groups` (k,), the `cells` in it, which of them stand there at a price."""

    groups: IntArray
    cells: tuple[IntArray, ...]
    dear: tuple[BoolArray, ...]
    proven: bool
    """Whether nothing better is possible."""


@dataclass(frozen=True, eq=False)
class Transport:
    """Cells that lie in the same windows at the same price as one class.

    `member` and `price` say of each (window, class) whether its cells may stand there and whether that costs
    something; `cells` are the cells of each class. `whole` says whether all windows take part, so that what the
    solver proves is proven.

    References
    ----------
    Transport problems have whole solutions: G. B. Dantzig, "Linear Programming and Extensions", Princeton 1963,
    recalled from memory. Solver as ``program.Program``.
    """

    member: BoolArray
    price: BoolArray
    cells: tuple[IntArray, ...]
    parallel: int
    series: int
    whole: bool

    @classmethod
    def of(
        cls, member: BoolArray, parallel: int, series: int, price: BoolArray | None = None, *, bare: bool = False
    ) -> Transport:
        """Put cells of the same windows and prices together; `bare` adds a window without any cell."""
        windows = len(member)
        keys = np.concatenate([member, np.zeros_like(member) if price is None else price & member])
        patterns, label = np.unique(keys, axis=1, return_inverse=True) if keys.size else (keys, np.empty(0, int))
        useful = np.flatnonzero(patterns[:windows].any(0))
        kept, dear = patterns[:windows, useful], patterns[windows:, useful]
        order = np.argsort(-(kept & ~dear).sum(1), kind="stable")
        fitting = np.sort(order[np.cumsum(kept.sum(1)[order]) <= _PLACES])
        kept, dear = np.pad(kept[fitting], ((0, bare), (0, 0))), np.pad(dear[fitting], ((0, bare), (0, 0)))
        cells = tuple(np.flatnonzero(label.ravel() == kind) for kind in useful.tolist())
        return cls(kept, dear, cells, parallel, series, len(fitting) == windows)

    def most_groups(self) -> Filled | None:
        """As many groups as fit, `series` at most; None where the solver found nothing in time."""
        return self._solved(-np.ones(len(self.member)), 0.0, _FITTING, least=0, bought=None)

    def may_hold(self) -> bool:
        """Whether `series` groups fit in fractions of groups; where they do not, it is proven that none do in whole ones."""
        if not self.whole:
            return True
        if not self.member.any():
            return False
        from scipy.optimize import Bounds, LinearConstraint, milp

        rules = [LinearConstraint(*rule) for rule in self._rules(0, self.series, 0)]
        width = len(self.member) + int(self.member.sum())
        return bool(milp(np.zeros(width), constraints=rules, bounds=Bounds(0, np.inf)).status != _IMPOSSIBLE)

    def fewest_bought(self, least: int) -> Filled | None:
        """Exactly `series` groups with as few cells bought as will do, `least` at least: windows with cells lacking."""
        return self._solved(np.zeros(len(self.member)), 0.0, _FEWEST, least=self.series, bought=least)

    def cheapest(self) -> Filled | None:
        """Exactly `series` groups with as few cells at a price as will do."""
        return self._solved(np.zeros(len(self.member)), 1.0, _FEWEST, least=self.series, bought=None)

    def _solved(
        self, wish: FloatArray, dear: float, seconds: float, *, least: int, bought: int | None
    ) -> Filled | None:
        if not self.member.any() and bought is None:
            return None
        # Imported here: the solver takes longer to load than all of packs, and most questions never need it.
        from scipy.optimize import Bounds, LinearConstraint, milp

        windows = len(self.member)
        buyable = 0 if bought is None else windows
        taken = slice(windows, windows + int(self.member.sum()))
        rules = [LinearConstraint(*rule) for rule in self._rules(buyable, least, bought or 0)]
        price = np.concatenate([wish, dear * self.price[self.member], np.ones(buyable)])
        top = np.concatenate([np.full(windows, self.series), self._count()[np.nonzero(self.member)[1]]])
        top = np.concatenate([top, np.full(buyable, self.parallel * self.series)]).astype(np.float64)
        whole = (np.arange(len(price)) < windows).astype(np.int64)
        found = milp(
            price, constraints=rules, integrality=whole, bounds=Bounds(0, top), options={"time_limit": seconds}
        )
        if found.x is None:
            return None
        low = np.zeros(len(price))
        low[:windows] = top[:windows] = np.rint(found.x[:windows])
        # With the groups given, the simplex method ends in a corner of a transport problem: whole cells.
        corner = milp(price, constraints=rules, bounds=Bounds(low, top))
        if corner.x is None:
            return None
        proven = found.status == _OPTIMAL and self.whole
        return self._filled(np.rint(low[:windows]).astype(np.int64), np.rint(corner.x[taken]).astype(np.int64), proven)

    def _count(self) -> IntArray:
        return np.array([len(one) for one in self.cells], dtype=np.int64)

    def _rules(self, buyable: int, least: int, bought: int) -> list[tuple[csc_array, IntArray | int, IntArray | int]]:
        """Every group is full, every cell stands once, as many groups as asked, as many cells bought as must be."""
        windows, (window, kind) = len(self.member), np.nonzero(self.member)
        every, places = np.arange(windows), np.arange(len(window))
        width = windows + len(window) + buyable
        full = _matrix(
            np.concatenate([np.ones(len(window)), np.ones(buyable), np.full(windows, -self.parallel)]),
            np.concatenate([window, every[:buyable], every]),
            np.concatenate([np.arange(windows, width), every]),
            (windows, width),
        )
        total = _matrix(np.ones(windows), np.zeros(windows, dtype=np.int64), every, (1, width))
        rules: list[tuple[csc_array, IntArray | int, IntArray | int]] = [(full, 0, 0), (total, least, self.series)]
        if len(self.cells):
            once = _matrix(np.ones(len(window)), kind, windows + places, (len(self.cells), width))
            rules.append((once, 0, self._count()))
        if buyable:
            new = np.arange(width - buyable, width)
            lacking = _matrix(np.ones(buyable), np.zeros(buyable, dtype=np.int64), new, (1, width))
            rules.append((lacking, bought, self.parallel * self.series))
        return rules

    def _filled(self, groups: IntArray, taken: IntArray, proven: bool) -> Filled:
        """The cells of each window used: as many of each class as were taken, in their order."""
        used = [0] * len(self.cells)
        given: list[list[int]] = [[] for _ in self.member]
        dear: list[list[bool]] = [[] for _ in self.member]
        window, kind = np.nonzero(self.member)
        for where, what, many in zip(window.tolist(), kind.tolist(), taken.tolist(), strict=True):
            given[where] += self.cells[what][used[what] : used[what] + many].tolist()
            dear[where] += [bool(self.price[where, what])] * many
            used[what] += many
        kept = np.flatnonzero(groups).tolist()
        return Filled(
            groups[kept],
            tuple(np.array(given[one], dtype=np.int64) for one in kept),
            tuple(np.array(dear[one], dtype=np.bool_) for one in kept),
            proven,
        )


def _matrix(values: FloatArray, row: IntArray, column: IntArray, shape: tuple[int, int]) -> csc_array:
    from scipy.sparse import coo_array, csc_array

    return csc_array(coo_array((values, (row, column)), shape=shape))
