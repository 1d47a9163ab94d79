"""Choose cells and deal them into groups: better answers and bounds until one is proven best or the effort ends."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import numpy as np

from packs.errors import Infeasible
from packs.matching import filters
from packs.matching.answer import Exclusion, Proposal
from packs.matching.effort import DEFAULT_ITERATIONS, Budget, Clock
from packs.matching.filters import Kind
from packs.matching.kind_search import Found, ProvenInfeasible, plain_bound, searched, sure_bound
from packs.matching.question import Objective, Question
from packs.matching.report import least_used, limiting, proposal
from packs.matching.sure import fifth_percentile, held_bound
from packs.matching.table import CAPACITY_STEPS_PER_MAH, BoolArray, CellTable


def propose(table: CellTable, question: Question, *, seed: int = 0, iterations: int = DEFAULT_ITERATIONS) -> Proposal:
    """Choose series x parallel of the tested cells and deal them into groups as well as possible.

    The last of `answers`, for a budget of iterations: it depends on the cells, the question, `seed` and `iterations`
    only, neither on the clock nor on the order of the cells. Parameters, errors and references as there. Capacities
    [mAh], voltages [mV], resistances [µΩ].

    References
    ----------
    As ``answers``: Performance ratios for the differencing method; Tabu search - Part I.
    """
    *_, last = answers(table, question, seed=seed, iterations=iterations)
    return last


def answers(
    table: CellTable,
    question: Question,
    *,
    seed: int = 0,
    iterations: int = DEFAULT_ITERATIONS,
    deadline: float | None = None,
    clock: Clock | None = None,
) -> Iterator[Proposal]:
    """Yield better and better answers: each has a better bound, or better groups, than the one before.

    Parameters
    ----------
    table : CellTable
    question : Question
    seed : int
    iterations : int
        Moves the search may try per phase, about 0.3 ms each without limits within the groups, 1 ms with.
    deadline : float, optional
        Moment [s] by `clock` at which the search ends with what it has.
    clock : callable, optional
        A monotonic clock, such as ``time.monotonic``.

    Yields
    ------
    Proposal
        The caller may stop after any of them.

    Raises
    ------
    packs.errors.Infeasible
        Too few usable cells, or no groups that keep the limits; the message says whether that is proven.
    packs.errors.ImpossibleValue
        A code asked for that is not in the table, fewer than 0 iterations, a deadline without a clock.

    References
    ----------
    First deal without limits: balanced largest differencing (see `construct.differencing`). Improvement: exchange
    of two cells, with recently moved cells barred (F. Glover, "Tabu search - Part I", ORSA Journal on Computing 1
    (1989) 190-206, recalled from memory), and anew dealing of a few groups by a beam of partial deals. Bound and
    start solutions under limits: see `program.Program`.
    """
    budget = Budget(iterations, deadline, clock)
    mask, excluded = filters.usable(table, question)
    ranked = _ranked(table, question, filters.kinds(table, question, mask), int(mask.sum()))
    choice = _Choice(table, question, ranked, mask, excluded)
    refused: Infeasible | None = None
    for index, (bound, kind) in enumerate(ranked):
        if choice.settled(index, bound):
            continue
        try:
            for found in searched(table, question, kind, bound, Random(seed), budget):
                if choice.take(index, found) and choice.enough:
                    yield choice.proposal(choice.best or found)
        except Infeasible as error:
            refused = refused or error
            choice.refuse(index, error)
    if choice.best is None:
        raise refused or Infeasible("No cells to choose from.")
    if not choice.enough:
        raise Infeasible(choice.too_little())
    if choice.changed:
        yield choice.proposal(choice.best)


class _Choice:
    """The best groups among all kinds of cells so far, and the bound over all kinds."""

    def __init__(
        self,
        table: CellTable,
        question: Question,
        ranked: list[tuple[int, Kind]],
        mask: BoolArray,
        excluded: tuple[Exclusion, ...],
    ) -> None:
        self.table, self.question, self.ranked = table, question, ranked
        self.mask, self.excluded = mask, excluded
        self.bounds = [bound for bound, _ in ranked]
        self.sure_bounds = [sure_bound(table, question, kind.rows) for _, kind in ranked]
        self.best: Found | None = None
        self.kind = 0
        self.changed = False

    def take(self, index: int, found: Found) -> bool:
        """Note what was found; True where the answer is better than the last one or closer to its bound."""
        before, sure_before = max(self.bounds), max(self.sure_bounds)
        self.bounds[index] = found.bound
        if found.sure_bound is not None:
            self.sure_bounds[index] = found.sure_bound
        better = self.best is None or self._preferred(found) > self._preferred(self.best)
        if better:
            self.best, self.kind = found, index
        closer = max(self.bounds) < before or max(self.sure_bounds) < sure_before
        return better or closer or (self.kind == index and self._last(found))

    @property
    def enough(self) -> bool:
        """Whether every group of the best has the capacity required."""
        return self.best is not None and self.best.weakest >= self.question.required_tenths

    def too_little(self) -> str:
        """Why the capacity required was not reached, and whether that is proven."""
        bound, found = max(self.bounds), 0 if self.best is None else self.best.weakest
        if bound < self.question.required_tenths:
            return _never(self.question, bound)
        return (
            f"No groups of at least {self.question.required_mah:g} mAh were found; the weakest of those that were has "
            f"{found / CAPACITY_STEPS_PER_MAH:g} mAh. That is no proof that there are none."
        )

    def _preferred(self, found: Found) -> tuple[bool, float, float]:
        """Enough in every group comes before everything else."""
        return found.weakest >= self.question.required_tenths, *self._rank(found)

    def _last(self, found: Found) -> bool:
        """Equal capacities may still come with resistances closer together."""
        if self.best is None or self._rank(found) != self._rank(self.best):
            return False
        changed = bool((found.groups != self.best.groups).any())
        self.best = found
        return changed

    def settled(self, index: int, bound: int) -> bool:
        """Whether a kind not searched yet cannot better what is found."""
        if self.best is None:
            return False
        if self.question.objective is Objective.ASSURED_CAPACITY:
            return self._rank(self.best)[0] >= self.sure_bounds[index]
        return self.best.weakest >= bound

    def _rank(self, found: Found) -> tuple[float, float]:
        if self.question.objective is Objective.ASSURED_CAPACITY:
            capacity = self.table.capacity_tenths[found.groups].astype(np.float64)
            return fifth_percentile(capacity, self.question.repeatability), 0.0
        sums = self.table.capacity_tenths[found.groups].sum(1)
        return found.weakest, -int(sums.max() - sums.min())

    def refuse(self, index: int, error: Infeasible) -> None:
        """A kind that is proven to have no groups bounds nothing."""
        if isinstance(error, ProvenInfeasible):
            self.changed = self.bounds[index] == max(self.bounds)
            self.bounds[index] = 0
            self.sure_bounds[index] = 0.0

    def _sure_bound(self) -> float:
        sizes, repeatability = [self.question.parallel] * self.question.series, self.question.repeatability
        return max(
            min(sure, held_bound(bound, sizes, repeatability))
            for sure, bound in zip(self.sure_bounds, self.bounds, strict=True)
        )

    def proposal(self, best: Found) -> Proposal:
        """The answer as it stands."""
        self.changed = False
        kind = self.ranked[self.kind][1]
        plain = self.ranked[self.kind][0]
        return proposal(
            self.table,
            self.question,
            best.groups,
            max(self.bounds),
            self._sure_bound(),
            least_used(self.table, self.question, self.mask),
            limiting(best.blocked, plain, best.weakest),
            self.excluded + filters.others(self.table, self.mask, kind),
        )


def _ranked(table: CellTable, question: Question, kinds: list[Kind], count: int) -> list[tuple[int, Kind]]:
    """Kinds that have enough cells, with their bounds [0.1 mAh], the highest first."""
    wanted = set(question.must_use)
    able = [kind for kind in kinds if wanted <= {table.codes[row] for row in kind.rows.tolist()}] if wanted else kinds
    if kinds and not able:
        raise Infeasible("The cells that must be used do not go together in one pack.")
    most = max((len(kind.rows) for kind in able), default=0)
    if most < question.cells:
        alike = "" if most == count else f", at most {most} of them go together"
        raise Infeasible(f"{count} of {len(table)} cells are usable{alike}; {question.cells} are needed.")
    bounds = [(plain_bound(table, question, kind.rows), kind) for kind in able if len(kind.rows) >= question.cells]
    reaching = [pair for pair in bounds if pair[0] >= question.required_tenths]
    if not reaching:
        raise Infeasible(_never(question, max(bound for bound, _ in bounds)))
    return sorted(reaching, key=lambda pair: (-pair[0], pair[1].label))


def _never(question: Question, bound: int) -> str:
    """No pack has the capacity required, as the bound [steps of 0.1 mAh] proves."""
    return (
        f"It is proven that no pack of these cells has {question.required_mah:g} mAh in every group: "
        f"{bound / CAPACITY_STEPS_PER_MAH:g} mAh is the most that its weakest group can have."
    )
