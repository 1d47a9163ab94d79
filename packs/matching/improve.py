"""Local search: raise the weakest group, then narrow the spread."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, floor
from random import Random

import numpy as np

from packs.matching.construct import Sweep
from packs.matching.deal import FREE, Deal
from packs.matching.effort import Budget
from packs.matching.moves import Goal, best_swap, redeal
from packs.matching.table import IntArray

# Weights, lengths and ways below were chosen by trial on stored stocks; a deal is valid with any others.
_NEVER = 1e6
_WASTE = 1e-3
_TENURE = 8
_REDEAL_EVERY = 10
_ROUND, _SWEEPS = 60, 25
_SKIPPED = (0.0, 0.3, 0.6, 0.85)
_PATIENCE = 30
_JOINING = 4
# Fewest cells in parallel that are worth levelling: single cells and pairs start with the best weakest group.
_LEVELLED = 3
# Groups to open and places to open in each, by cells in parallel.
_WAYS = {2: ((4, 2), (5, 2)), 3: ((5, 3), (4, 3)), 4: ((4, 4), (5, 3)), 5: ((3, 5), (4, 4))}
_WIDE = ((3, 5), (2, 6))


@dataclass
class Search:
    """A deal under improvement, the best groups seen, and the moves that may still be tried."""

    deal: Deal
    rnd: Random
    moves: int
    budget: Budget = field(default_factory=Budget)
    best: tuple[int, int] = field(init=False)
    groups: IntArray = field(init=False)

    def __post_init__(self) -> None:
        self.best, self.groups = self.deal.rank, self.deal.groups.copy()

    def note(self) -> bool:
        """Keep the deal if it is the best so far."""
        if self.deal.rank <= self.best:
            return False
        self.best, self.groups = self.deal.rank, self.deal.groups.copy()
        return True

    def back(self) -> None:
        """Return to the best groups seen."""
        self.deal.replace(np.arange(len(self.groups)), self.groups)

    def spend(self) -> bool:
        """Take one move from the budget; False when none is left."""
        self.moves -= 1
        return self.moves >= 0 and not self.budget.over()


def level(search: Search, first: int = 0) -> None:
    """Bring the sums of the groups to their common mean; the cells in use, and the groups before `first`, stay.

    Sums [steps of 0.1 mAh].

    References
    ----------
    Derived here: exchange of cells between the groups farthest from the mean.
    """
    deal = search.deal
    if deal.groups.shape[1] < _LEVELLED:
        return
    mean = int(deal.sums[first:].sum()) / len(deal.sums[first:])
    goal = Goal(floor(mean), ceil(mean))
    while np.ptp(deal.sums[first:]) > goal.high - goal.low and search.spend():
        _redeal_some(search, goal, extra=0, start=first)
        search.note()
    search.back()


def even(search: Search) -> None:
    """Narrow the spread, also by cells not in use, while the weakest group keeps its capacity.

    Sums [steps of 0.1 mAh].

    References
    ----------
    Derived here: exchange of cells, as ``level``.
    """
    deal = search.deal
    free = bool((deal.home == FREE).any())
    least = 0 if free or int(deal.sums.sum()) % len(deal.sums) == 0 else 1
    goal = Goal(deal.weakest, deal.weakest, short=_NEVER)
    idle = 0
    while -search.best[1] > least and idle < _PATIENCE and search.spend():
        swap = best_swap(deal, int(deal.sums.argmax()), goal, search.rnd)
        if swap is not None and swap.change < 0:
            deal.swap(swap.out, swap.into)
        else:
            _redeal_some(search, goal, extra=_JOINING if free else 0)
        idle = 0 if search.note() else idle + 1
    search.back()


def use_less(search: Search, required: int) -> None:
    """Change cells for poorer ones while every group keeps the required capacity [steps].

    References
    ----------
    Derived here: exchange of cells, as ``level``.
    """
    deal = search.deal
    free = bool((deal.home == FREE).any())
    goal = Goal(required, required, short=_NEVER)
    least, idle = int(deal.sums.sum()), 0
    while least > required * len(deal.sums) and idle < _PATIENCE and search.spend():
        swap = best_swap(deal, int(deal.sums.argmax()), goal, search.rnd)
        if swap is not None and swap.change < 0:
            deal.swap(swap.out, swap.into)
        else:
            _redeal_some(search, goal, extra=_JOINING if free else 0)
        idle += 1
        if deal.weakest >= required and int(deal.sums.sum()) < least:
            least, idle = int(deal.sums.sum()), 0
            search.best, search.groups = deal.rank, deal.groups.copy()
    search.back()


def climb(search: Search, ceiling: int, *, sweeping: bool = True) -> None:
    """Raise the weakest group under limits, by turns: sweeps over a part of the groups, then one cell at a time.

    A cell that just moved is barred for a while, so that the walk leaves a deal that no single change betters.
    ``ceiling`` [steps of 0.1 mAh].

    References
    ----------
    F. Glover, "Tabu search - Part I" (recalled from memory): cells that just moved are barred.
    """
    deal = search.deal
    barred_until = np.zeros(len(deal.home), dtype=np.int64)
    turn = 0
    while search.best[0] < ceiling and search.spend():
        turn += 1
        wanted = search.best[0] + max(1, (ceiling - search.best[0]) // 64)
        goal = Goal(wanted, wanted, over=_WASTE)
        if sweeping and turn % _ROUND < _SWEEPS:
            _sweep_some(search)
        elif turn % _REDEAL_EVERY == 1:
            _redeal_some(search, goal, extra=_JOINING)
        else:
            _tabu_step(search, goal, barred_until, turn)
        search.note()
    search.back()


def _tabu_step(search: Search, goal: Goal, barred_until: IntArray, turn: int) -> None:
    deal, rnd = search.deal, search.rnd
    below = np.flatnonzero(deal.sums < goal.low)
    if not len(below):
        return
    group = int(deal.sums.argmin()) if rnd.random() < 0.5 else int(below[rnd.randrange(len(below))])
    swap = best_swap(deal, group, goal, rnd, barred=barred_until > turn)
    if swap is None:
        return
    deal.swap(swap.out, swap.into)
    barred_until[[swap.out, swap.into]] = turn + _TENURE + rnd.randrange(_TENURE)


def _sweep_some(search: Search) -> None:
    """From the best groups, free the weakest and some near it in resistance; sweep for as many, all stronger."""
    deal, rnd = search.deal, search.rnd
    search.back()
    series = len(deal.sums)
    level_of = deal.cells.resistance[deal.groups].mean(1)
    near = np.argsort(np.abs(level_of - level_of[deal.sums.argmin()]), kind="stable")
    opened = near[: rnd.randint(2, 6)] if rnd.random() < 0.5 else near[: rnd.randint(1, series)]
    among = deal.home == FREE
    among[deal.groups[opened]] = True
    sweeper = Sweep(deal.cells, deal.limits, rnd, rnd.choice(_SKIPPED))
    groups = sweeper.run(len(opened), int(deal.sums.min()) + 1, among)
    if groups is not None:
        deal.replace(opened, groups)


def _redeal_some(search: Search, goal: Goal, extra: int, start: int = 0) -> None:
    """Open the weakest or the strongest group from `start` on and a few others, and deal them anew."""
    deal, rnd = search.deal, search.rnd
    series, parallel = deal.groups.shape
    ways = _WAYS.get(parallel, _WIDE)
    many, opened = ways[rnd.randrange(len(ways))]
    sums = deal.sums[start:]
    first = start + int(sums.argmin() if rnd.random() < 0.5 else sums.argmax())
    others = [group for group in range(start, series) if group != first]
    chosen = [first, *rnd.sample(others, min(many - 1, len(others)))]
    redeal(deal, np.array(chosen), goal, rnd, opened=min(opened, parallel), extra=extra)
