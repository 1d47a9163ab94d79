"""Search and bound under limits, by turns: each solution of the program is rounded and improved, each refusal bounds."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from packs.matching.deal import Candidates, Deal, Limits
from packs.matching.effort import Budget
from packs.matching.improve import Search, climb
from packs.matching.program import Dealt, Outcome, Program
from packs.matching.rounding import rounded

_TESTS = 24
_WHOLE_TESTS = 12
_NODES = 30
_POLISH = 60


class Hunt:
    """The best groups found among some cells, and the bound that closes in on them.

    Attributes
    ----------
    search : Search or None
        Where the best groups are.
    bound : int
        No weakest group lies above [steps of the candidates]; -1 where no groups are possible at all.
    """

    def __init__(self, cells: Candidates, limits: Limits, series: int, bound: int, rnd: Random, budget: Budget) -> None:
        self.cells, self.limits, self.rnd, self.budget = cells, limits, rnd, budget
        self.program = Program(cells, limits, series)
        self.search: Search | None = None
        self.bound = bound

    @property
    def weakest(self) -> int:
        """Capacity of the weakest group found [steps]; -1 while none is found."""
        if self.search is None:
            return -1
        return self.search.best[0] * self.search.deal.cells.step // self.cells.step

    def close_in(self, *, whole: bool) -> Iterator[None]:
        """Bisect between what is found and the bound; pauses after every better bound or better groups.

        Fractions ask for the bound first: where it is possible, nothing below it needs to be asked.
        """
        possible, top = self.weakest, self.bound
        target = (max(possible, 0) + top + 1) // 2 if whole else top
        for _ in range(min(_WHOLE_TESTS, self.budget.iterations) if whole else _TESTS):
            if possible >= top or self.budget.over():
                return
            reach = self.program.reach(target, _NODES, self.budget, whole=whole)
            if reach.outcome is Outcome.POSSIBLE:
                possible = target
            else:
                top = target - 1
            if reach.outcome is Outcome.IMPOSSIBLE:
                self.bound = top
                yield
            if reach.dealt is not None and self._take(reach.dealt):
                possible = max(possible, self.weakest)
                yield
            target = max((possible + top + 1) // 2, 0)

    def climb(self) -> Iterator[None]:
        """Climb from the best groups with the whole budget; pauses where that made them better."""
        before = self.weakest
        if self.search is None or before >= self.bound:
            return
        self.search.moves = self.budget.iterations
        climb(self.search, self.bound * self.cells.step // self.search.deal.cells.step)
        if self.weakest > before:
            yield

    def _take(self, dealt: Dealt) -> bool:
        """Round a solution and improve it; True where it beats what was found before."""
        groups = rounded(self.cells, self.limits, dealt)
        if groups is None:
            return False
        search = Search(Deal(self.cells, self.limits, groups), self.rnd, _POLISH, self.budget)
        climb(search, self.bound, sweeping=False)
        before = self.weakest
        if search.best[0] <= before:
            return False
        self.search = search
        return True
