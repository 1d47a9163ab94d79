"""Choose cells and deal them into groups: the one entry that joins filters, bound, first deal and local search."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.bound import weakest_group_bound
from packs.matching.construct import (
    bottleneck_pairs,
    differencing,
    largest_cells,
    most_groups,
    single_cells,
    sweep,
)
from packs.matching.deal import Candidates, Deal, Limits, candidates
from packs.matching.filters import Kind
from packs.matching.improve import Search, align, climb, even, level
from packs.matching.problem import CAPACITY_STEPS_PER_MAH, CellTable, Exclusion, IntArray, Proposal, Question

DEFAULT_ITERATIONS = 120
_LIMITED_POOL = 1000
_SPARE = 64


@dataclass(frozen=True, eq=False)
class _Answer:
    """Groups found among one kind of cells, as table rows, and their weakest capacity [0.1 mAh]."""

    kind: Kind
    groups: IntArray
    weakest: int


def propose(table: CellTable, question: Question, *, seed: int = 0, iterations: int = DEFAULT_ITERATIONS) -> Proposal:
    """Choose series x parallel of the tested cells and deal them into groups as well as possible.

    The weakest group's capacity is made as large as the search can, then the spread of the group capacities small,
    then the spread of the group resistances. The answer depends on the cells, the question, `seed` and `iterations`
    only, neither on the clock nor on the order of the cells.

    Parameters
    ----------
    table : CellTable
    question : Question
    seed : int
    iterations : int
        Moves the search may try per phase, about 0.3 ms each without limits within the groups, 1 ms with.

    Returns
    -------
    Proposal

    Raises
    ------
    packs.errors.Infeasible
        Too few usable cells, or no groups that keep the limits; the message says whether that is proven.
    packs.errors.ImpossibleValue
        A code asked for that is not in the table, or fewer than 0 iterations.

    References
    ----------
    First deal without limits: balanced largest differencing (see `construct.differencing`). Improvement: exchange
    of two cells, with recently moved cells barred (F. Glover, "Tabu search - Part I", ORSA Journal on Computing 1
    (1989) 190-206, recalled from memory), and anew dealing of a few groups by a beam of partial deals.
    """
    if iterations < 0:
        raise ImpossibleValue(f"A search cannot take {iterations} iterations.")
    mask, excluded = filters.usable(table, question)
    ranked = _ranked(table, question, filters.kinds(table, question, mask), int(mask.sum()))
    answer = _best_answer(table, question, ranked, Random(seed), iterations)
    return _proposal(table, answer, ranked[0][0], excluded + filters.others(table, mask, answer.kind))


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
    bounds = [(_bound(table, question, kind), kind) for kind in able if len(kind.rows) >= question.cells]
    return sorted(bounds, key=lambda pair: (-pair[0], pair[1].label))


def _bound(table: CellTable, question: Question, kind: Kind) -> int:
    wanted = set(question.must_use)
    forced = [place for place, row in enumerate(kind.rows.tolist()) if table.codes[row] in wanted] if wanted else []
    capacity = table.capacity_tenths[kind.rows]
    return weakest_group_bound(capacity, question.series, question.parallel, np.array(forced, dtype=np.int64))


def _best_answer(
    table: CellTable, question: Question, ranked: list[tuple[int, Kind]], rnd: Random, iterations: int
) -> _Answer:
    best: _Answer | None = None
    refused: Infeasible | None = None
    for bound, kind in ranked:
        if best is not None and best.weakest >= bound:
            break
        try:
            answer = _answer(table, question, kind, bound, rnd, iterations)
        except Infeasible as error:
            refused = refused or error
            continue
        if best is None or answer.weakest > best.weakest:
            best = answer
    if best is None:
        raise refused or Infeasible("No cells to choose from.")
    return best


def _answer(table: CellTable, question: Question, kind: Kind, bound: int, rnd: Random, iterations: int) -> _Answer:
    limits = Limits.of(question)
    _check_room(table, question, kind, limits)
    cells = candidates(table, _strongest(table, kind.rows, 2 * question.cells + _SPARE, question), question)
    if limits.harmless(cells, np.arange(len(cells.rows))):
        search = _searched(cells, limits.none(), question, bound, rnd, iterations)
    else:
        search = _searched_widely(table, kind, limits, question, bound, rnd, iterations)
    cells = search.deal.cells
    return _Answer(kind, cells.rows[search.groups], search.best[0] * cells.step)


def _searched_widely(
    table: CellTable, kind: Kind, limits: Limits, question: Question, bound: int, rnd: Random, iterations: int
) -> Search:
    """Search among the strongest cells, and among all where those yield nothing."""
    rows = _strongest(table, kind.rows, max(_LIMITED_POOL, 4 * question.cells), question)
    try:
        return _searched(candidates(table, rows, question), limits, question, bound, rnd, iterations)
    except Infeasible:
        if len(rows) == len(kind.rows):
            raise
        return _searched(candidates(table, kind.rows, question), limits, question, bound, rnd, iterations)


def _check_room(table: CellTable, question: Question, kind: Kind, limits: Limits) -> None:
    """Refuse what one limit alone proves impossible."""
    columns = (table.capacity_tenths[kind.rows], table.dcir_nohm[kind.rows], table.ocv_uv[kind.rows])
    most = most_groups(*columns, limits)
    if most < question.series:
        raise Infeasible(
            f"{len(kind.rows)} of {len(table)} cells are usable and {question.cells} are needed. It is proven that "
            f"at most {most} groups of {question.parallel} keep the limits; {question.series} are needed."
        )


def _strongest(table: CellTable, rows: IntArray, count: int, question: Question) -> IntArray:
    """The rows of largest capacity, those equal to the last of them too, and those that must be used."""
    if len(rows) <= count:
        return rows
    capacity = table.capacity_tenths[rows]
    strong = capacity >= np.partition(capacity, -count)[-count]
    if question.must_use:
        wanted = set(question.must_use)
        strong |= np.array([table.codes[row] in wanted for row in rows.tolist()])
    return rows[strong]


def _searched(
    cells: Candidates, limits: Limits, question: Question, bound: int, rnd: Random, iterations: int
) -> Search:
    """First deal and all phases of the search, for one set of cells."""
    ceiling = bound // cells.step
    search = _first_search(cells, limits, question, ceiling, rnd, iterations)
    if question.parallel > 1:
        if search.best[0] < ceiling and search.deal.limits.any:
            search.moves = iterations
            climb(search, ceiling)
        search.moves = iterations
        even(search)
    search.moves = iterations
    align(search)
    return search


def _first_search(
    cells: Candidates, limits: Limits, question: Question, ceiling: int, rnd: Random, iterations: int
) -> Search:
    """The levelled deal of the strongest cells where the limits allow it, else the better of it and a sweep."""
    plain = _plain_deal(cells, question)
    options: list[Search] = []
    if bool(limits.keep(cells, plain).all()):
        search = Search(Deal(cells, limits, plain), rnd, iterations)
        level(search)
        options.append(search)
    if limits.any and not (options and options[0].best[0] >= ceiling):
        options.extend(_swept(cells, limits, question, ceiling, rnd, iterations))
    if not options:
        raise Infeasible(
            f"{len(cells.rows)} cells are usable and {question.cells} are needed, but no groups that keep the limits "
            "were found. That is no proof that there are none."
        )
    return max(options, key=lambda option: option.best)


def _plain_deal(cells: Candidates, question: Question) -> IntArray:
    chosen = largest_cells(cells, question.cells)
    if question.parallel == 1:
        return single_cells(cells, chosen)
    if question.parallel == 2:
        return bottleneck_pairs(chosen)
    return differencing(cells, chosen, question.series)


def _swept(
    cells: Candidates, limits: Limits, question: Question, ceiling: int, rnd: Random, iterations: int
) -> list[Search]:
    groups = sweep(cells, limits, question.series, ceiling, rnd)
    return [] if groups is None else [Search(Deal(cells, limits, groups), rnd, iterations)]


def _proposal(table: CellTable, answer: _Answer, bound: int, excluded: tuple[Exclusion, ...]) -> Proposal:
    groups = _in_order(table, answer.groups)
    members = np.array(groups)
    tenths = table.capacity_tenths[members].sum(1)
    with np.errstate(invalid="ignore"):
        resistance = 1.0 / (1.0 / table.dcir_uohm[members]).sum(1)
    weakest, strongest = int(tenths.min()), int(tenths.max())
    return Proposal(
        groups=groups,
        group_capacity_mah=tuple(_mah(value) for value in tenths.tolist()),
        group_resistance_uohm=tuple(resistance.tolist()),
        weakest_mah=_mah(weakest),
        spread_mah=_mah(strongest - weakest),
        resistance_spread_uohm=float(resistance.max() - resistance.min()),
        bound_mah=_mah(bound),
        gap_mah=_mah(bound - weakest),
        excluded=excluded,
    )


def _in_order(table: CellTable, groups: IntArray) -> tuple[tuple[int, ...], ...]:
    """Cells of a group by code, groups by their first cell: a deal has one way to be written down."""
    sorted_groups = [tuple(sorted(group, key=lambda row: table.codes[row])) for group in groups.tolist()]
    return tuple(sorted(sorted_groups, key=lambda group: table.codes[group[0]]))


def _mah(tenths: int) -> float:
    return tenths / CAPACITY_STEPS_PER_MAH
