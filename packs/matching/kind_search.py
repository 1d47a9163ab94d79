"""Search among cells that may stand in one pack together: each phase pauses with what it has found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from random import Random

import numpy as np

from packs.errors import Infeasible
from packs.matching.aligning import align, align_closer
from packs.matching.assured import assured
from packs.matching.bound import weakest_group_bound
from packs.matching.construct import most_groups
from packs.matching.deal import FREE, Candidates, Deal, Limits, candidates
from packs.matching.effort import Budget
from packs.matching.filters import Kind
from packs.matching.first import first_search
from packs.matching.improve import Search, climb, even, use_less
from packs.matching.limited import Hunt
from packs.matching.parts import part_of
from packs.matching.question import Objective, Question
from packs.matching.sure import fifth_percentile_bound
from packs.matching.table import CellTable, IntArray

_LIMITED_POOL = 1000
_SPARE = 64
_FIRST_MOVES = 20


class ProvenInfeasible(Infeasible):
    """No groups that keep the limits exist among these cells."""


@dataclass(frozen=True, eq=False)
class Found:
    """Groups as table rows, their weakest capacity and its bound [0.1 mAh], and what kept better cells out.

    ``sure_bound`` is the highest 5th percentile of any deal [0.1 mAh], where it is known.
    """

    groups: IntArray
    weakest: int
    bound: int
    blocked: Counter[str]
    sure_bound: float | None = None


def plain_bound(table: CellTable, question: Question, rows: IntArray) -> int:
    """Bound on the weakest group [0.1 mAh] whatever the limits.

    References
    ----------
    Derived here, see ``bound.weakest_group_bound``.
    """
    wanted = set(question.must_use)
    forced = [place for place, row in enumerate(rows.tolist()) if table.codes[row] in wanted] if wanted else []
    capacity = table.capacity_tenths[rows]
    return weakest_group_bound(
        capacity, question.series, question.parallel, np.array(forced, dtype=np.int64), question.window
    )


def sure_bound(table: CellTable, question: Question, rows: IntArray) -> float:
    """Bound on the 5th percentile of the pack [0.1 mAh] whatever the limits.

    References
    ----------
    Derived here, see ``sure.fifth_percentile_bound``.
    """
    wanted = set(question.must_use)
    forced = [place for place, row in enumerate(rows.tolist()) if table.codes[row] in wanted] if wanted else []
    sizes = [question.parallel] * question.series
    places = np.array(forced, dtype=np.int64)
    return fifth_percentile_bound(table.capacity_tenths[rows], sizes, question.repeatability, places)


def searched(
    table: CellTable, question: Question, kind: Kind, bound: int, rnd: Random, budget: Budget
) -> Iterator[Found]:
    """Better and better groups of one kind of cells.

    ``bound`` [steps of 0.1 mAh].

    Raises
    ------
    ProvenInfeasible, packs.errors.Infeasible
        No groups found; the message says whether that is proven.

    References
    ----------
    Derived here: deals by ``construct`` and ``improve`` against a bound.
    """
    limits = Limits.of(question)
    _check_room(table, question, kind, limits)
    if question.objective is Objective.USE_UP_WEAKER:
        yield _weaker(table, question, kind, limits, bound, rnd, budget)
        return
    if question.objective is Objective.ASSURED_CAPACITY:
        yield from _assured(table, question, kind, bound, rnd, budget)
        return
    cells = candidates(table, strongest(table, kind.rows, 2 * question.cells + _SPARE, question), question)
    if limits.harmless(cells, np.arange(len(cells.rows))):
        search = first_search(cells, limits.none(), question, bound // cells.step, rnd, budget)
        if question.parallel > 1 and -search.best[1] > 0:
            yield _found(search, limits, bound)
        yield from _finished(search, limits, question, bound)
        return
    yield from _hunted(table, question, kind, limits, bound, rnd, budget)


def _assured(
    table: CellTable, question: Question, kind: Kind, bound: int, rnd: Random, budget: Budget
) -> Iterator[Found]:
    """Groups of most capacity, then those whose 5th percentile is highest."""
    found: list[Found] = []
    asked = replace(question, objective=Objective.MOST_CAPACITY)
    for one in searched(table, asked, kind, bound, rnd, budget):
        found.append(one)
        yield one
    if question.repeatability == 0:
        return
    part = part_of(table, question, kind.rows)
    place = np.full(len(table), FREE, dtype=np.int64)
    place[part.cells.rows] = np.arange(len(part.cells.rows))
    starts = [place[one.groups] for one in found]
    groups, highest = assured(part, [starts[0], starts[-1]], question.repeatability, rnd, budget.iterations)
    rows, sums = part.cells.rows[groups], part.cells.capacity[groups].sum(1)
    sure = None if highest is None else highest * part.cells.step
    yield Found(rows, int(sums.min()) * part.cells.step, found[-1].bound, found[-1].blocked, sure)


def _hunted(
    table: CellTable, question: Question, kind: Kind, limits: Limits, bound: int, rnd: Random, budget: Budget
) -> Iterator[Found]:
    """First deal, bound by fractions of groups, climbing, bound and groups by whole ones, finish."""
    everyone = candidates(table, kind.rows, question)
    hunt = Hunt(everyone, limits, question.series, bound // everyone.step, rnd, budget)
    with suppress(Infeasible):
        hunt.search = _first(table, kind, limits, question, bound, rnd, budget)
        yield from _hunt_found(hunt)
    for pause in (hunt.close_in(whole=False), hunt.climb(), hunt.close_in(whole=True)):
        for _ in pause:
            if hunt.bound < 0:
                raise ProvenInfeasible(_proven(table, question, kind))
            yield from _hunt_found(hunt)
    if hunt.search is None:
        raise Infeasible(
            f"{len(kind.rows)} cells are usable and {question.cells} are needed, but no groups that keep the limits "
            "were found. That is no proof that there are none."
        )
    yield from _finished(hunt.search, limits, question, hunt.bound * hunt.cells.step)


def _hunt_found(hunt: Hunt) -> Iterator[Found]:
    """What a hunt has, if it has anything yet."""
    if hunt.search is not None:
        yield _found(hunt.search, hunt.limits, hunt.bound * hunt.cells.step)


def _first(
    table: CellTable, kind: Kind, limits: Limits, question: Question, bound: int, rnd: Random, budget: Budget
) -> Search:
    """Search among the strongest cells, and among all where those yield nothing."""
    few = Budget(min(_FIRST_MOVES, budget.iterations), budget.deadline, budget.clock)
    rows = strongest(table, kind.rows, max(_LIMITED_POOL, 4 * question.cells), question)
    pools = [rows] if len(rows) == len(kind.rows) else [rows, kind.rows]
    for pool in pools:
        cells = candidates(table, pool, question)
        try:
            return first_search(cells, limits, question, bound // cells.step, rnd, few)
        except Infeasible:
            if pool is pools[-1]:
                raise
    raise Infeasible("No cells to choose from.")


def _finished(search: Search, limits: Limits, question: Question, bound: int) -> Iterator[Found]:
    """Narrow the spread of capacities, then that of resistances: by a few exchanges, and by new deals of groups."""
    if question.parallel > 1:
        search.moves = search.budget.iterations
        even(search)
    search.moves = search.budget.iterations
    align(search)
    yield _found(search, limits, bound)
    search.moves = search.budget.iterations
    align_closer(search)
    yield _found(search, limits, bound)


def _weaker(
    table: CellTable, question: Question, kind: Kind, limits: Limits, bound: int, rnd: Random, budget: Budget
) -> Found:
    """The required capacity in every group out of as few of the poorest cells as a bisection finds enough."""
    required = question.required_tenths
    capacity = table.capacity_tenths[kind.rows]
    wanted = set(question.must_use)
    last = np.array([table.codes[row] not in wanted for row in kind.rows.tolist()])
    poorest = kind.rows[np.lexsort((np.array([table.codes[row] for row in kind.rows.tolist()]), capacity, last))]
    low, high, best = question.cells, len(poorest), None
    while low <= high:
        many = high if best is None else (low + high) // 2
        search = _reaching(table, question, poorest[:many], limits, rnd, budget)
        if search is None:
            if best is None:
                break
            low = many + 1
        else:
            best, high = search, many - 1
    if best is None:
        raise Infeasible(f"No groups of at least {question.required_mah:g} mAh that keep the limits were found.")
    best.moves = budget.iterations
    use_less(best, -(-required // best.deal.cells.step))
    return _found(best, limits, bound)


def _reaching(
    table: CellTable, question: Question, rows: IntArray, limits: Limits, rnd: Random, budget: Budget
) -> Search | None:
    """Groups of the required capacity out of these cells, if some are found."""
    required = question.required_tenths
    if plain_bound(table, question, rows) < required:
        return None
    cells = candidates(table, rows, question)
    own = limits.none() if limits.harmless(cells, np.arange(len(rows))) else limits
    ceiling = -(-required // cells.step)
    try:
        search = first_search(cells, own, question, ceiling, rnd, budget)
    except Infeasible:
        return None
    search.moves = budget.iterations
    climb(search, ceiling)
    return search if search.best[0] >= ceiling else None


def _check_room(table: CellTable, question: Question, kind: Kind, limits: Limits) -> None:
    """Refuse what one limit alone proves impossible."""
    columns = (table.capacity_tenths[kind.rows], table.dcir_nohm[kind.rows], table.ocv_uv[kind.rows])
    most = most_groups(*columns, limits)
    if most < question.series:
        raise ProvenInfeasible(_proven(table, question, kind, _most(most, question.parallel)))


def _most(most: int, parallel: int) -> str:
    """At most so many groups, in words."""
    return f"at most {most} group{'s' * (most != 1)} of {parallel}" if most else f"no group of {parallel}"


def _proven(table: CellTable, question: Question, kind: Kind, most: str = "") -> str:
    what = most or _most(question.series - 1, question.parallel)
    return (
        f"{len(kind.rows)} of {len(table)} cells are usable and {question.cells} are needed. It is proven that {what} "
        f"can keep the limits; {question.series} {'is' if question.series == 1 else 'are'} needed."
    )


def strongest(table: CellTable, rows: IntArray, count: int, question: Question) -> IntArray:
    """The rows of largest capacity, those equal to the last of them too, and those that must be used.

    Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: weaker cells than these are never needed.
    """
    if len(rows) <= count:
        return rows
    capacity = table.capacity_tenths[rows]
    strong = capacity >= np.partition(capacity, -count)[-count]
    if question.must_use:
        wanted = set(question.must_use)
        strong |= np.array([table.codes[row] in wanted for row in rows.tolist()])
    return rows[strong]


def _found(search: Search, limits: Limits, bound: int) -> Found:
    cells = search.deal.cells
    return Found(cells.rows[search.groups], search.best[0] * cells.step, bound, _blocked(cells, limits, search.groups))


def _blocked(cells: Candidates, limits: Limits, groups: IntArray) -> Counter[str]:
    """Per limit, how many changes of a cell of the weakest group for a better free one it alone forbids or shares."""
    weakest = groups[int(cells.capacity[groups].sum(1).argmin())]
    blocked: Counter[str] = Counter()
    for name, limit in limits.apart():
        deal = Deal(cells, limit, groups)
        free = np.flatnonzero(deal.home == FREE)
        better = cells.capacity[free][None, :] > cells.capacity[weakest][:, None]
        blocked[name] = int((better & ~deal.may_take(weakest, free)).sum())
    return +blocked
