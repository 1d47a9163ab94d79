"""Several packs out of one stock, each as its question asks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.answer import Exclusion, Proposal
from packs.matching.effort import DEFAULT_ITERATIONS
from packs.matching.filters import Kind
from packs.matching.joint import Settled, settled, settled_as_one
from packs.matching.joint_bound import highest_level
from packs.matching.kind_search import plain_bound, sure_bound
from packs.matching.parts import SHARE_STEPS, Asked, Part, parts_of
from packs.matching.question import Objective, Question
from packs.matching.report import least_used, proposal
from packs.matching.search import propose
from packs.matching.shared import SharedStock, Shares
from packs.matching.table import BoolArray, CellTable, IntArray

_KINDS = 64


def propose_together(
    table: CellTable,
    questions: Sequence[Question],
    *,
    shares: Shares = Shares.FAIR,
    places: Sequence[int] | None = None,
    seed: int = 0,
    iterations: int = DEFAULT_ITERATIONS,
) -> SharedStock:
    """Choose cells for several packs out of one stock and deal them into groups; no cell stands in two packs.

    Parameters
    ----------
    table : CellTable
    questions : sequence of Question, length k
        Each with the limits of its own pack; all ask for most capacity.
    shares : Shares
        Fair: the weakest pack as good as can be, then the next weakest. By priority: the first pack as good as can
        be while the others can still be built, then the second. Packs with equally many cells per group compare by
        their weakest groups [mAh], others by the share of what each would have alone.
    places : sequence of int, length k, optional
        By priority the place of each pack, the lowest first; packs of one place are shared fairly among themselves.
        The order of the questions where not given.
    seed, iterations : int
        As for ``propose``.

    Returns
    -------
    SharedStock

    Raises
    ------
    packs.errors.Infeasible
        One pack alone, or all together, cannot be built; the message says whether that is proven.
    packs.errors.ImpossibleValue
        No question, one that asks to use up weaker cells, or a cell that two packs must use.

    Notes
    -----
    Small questions are decided by trying every deal. Packs asked alike are one question with more groups, dealt back
    so that each pack's groups lie close together.

    References
    ----------
    Derived here: one level after the other is raised, those before it held; see `joint.settled`.
    """
    _check(questions)
    ranks = _ranks(len(questions), shares, places)
    alone = _alone(table, questions, seed, iterations)
    stocks = [_stock(table, question) for question in questions]
    best: _Settled | None = None
    refused: Infeasible | None = None
    for bound, plan in _plans(table, questions, stocks, alone, ranks):
        if best is not None and best.levels[0] >= bound:
            break
        try:
            found = _settle(table, plan, ranks, seed, iterations)
        except Infeasible as error:
            refused = refused or error
            continue
        best = found if best is None or found.levels > best.levels else best
    if best is None:
        raise refused or Infeasible("There are no cells for all packs together.")
    return _written(table, questions, stocks, alone, (shares, ranks), best)


def _check(questions: Sequence[Question]) -> None:
    if not questions:
        raise ImpossibleValue("At least one pack is needed.")
    if any(question.objective is not Objective.MOST_CAPACITY for question in questions):
        raise ImpossibleValue("Packs that share a stock each ask for most capacity.")
    wanted = [code for question in questions for code in sorted(set(question.must_use))]
    twice = sorted(code for code in set(wanted) if wanted.count(code) > 1)
    if twice:
        raise ImpossibleValue(f"Cell {twice[0]} is to be used in two packs.")


def _ranks(many: int, shares: Shares, places: Sequence[int] | None) -> tuple[int, ...]:
    """The place of each pack; one place for all where they are shared fairly."""
    if places is not None and len(places) != many:
        raise ImpossibleValue(f"{len(places)} places do not fit {many} packs.")
    if shares is Shares.FAIR:
        return (1,) * many
    return tuple(range(1, many + 1)) if places is None else tuple(places)


def _alone(table: CellTable, questions: Sequence[Question], seed: int, iterations: int) -> tuple[float, ...]:
    """Weakest group [mAh] of each pack with the stock to itself; empty where packs compare without it."""
    if len({question.parallel for question in questions}) == 1:
        return ()
    found: list[float] = []
    for number, question in enumerate(questions, start=1):
        try:
            found.append(propose(table, question, seed=seed, iterations=iterations).weakest_mah)
        except Infeasible as error:
            raise Infeasible(f"Pack {number} alone: {error}") from error
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Stock:
    """What one pack may use: kinds of cells, the cells usable at all, and why the others are not."""

    kinds: list[Kind]
    mask: BoolArray
    excluded: tuple[Exclusion, ...]


def _stock(table: CellTable, question: Question) -> _Stock:
    mask, excluded = filters.usable(table, question)
    wanted = set(question.must_use)
    kinds = [
        kind
        for kind in filters.kinds(table, question, mask)
        if len(kind.rows) >= question.cells and wanted <= {table.codes[row] for row in kind.rows.tolist()}
    ]
    return _Stock(kinds, mask, excluded)


@dataclass(frozen=True, eq=False)
class _Plan:
    """Which kind of cells each pack takes, the parts that follow from it, and the packs of each part."""

    kinds: tuple[Kind, ...]
    asked: list[Asked]
    packs: list[list[int]]
    parts: list[Part]

    @property
    def unit(self) -> int:
        """What one step of a level is: of a share as it is, of a capacity in steps of 0.1 mAh."""
        return 1 if self.parts[0].scale > 1 else self.parts[0].cells.step


@dataclass(frozen=True, eq=False)
class _Settled:
    """A plan with its groups; ``levels`` in the order in which its parts were settled."""

    plan: _Plan
    found: Settled
    levels: tuple[int, ...]


def _plans(
    table: CellTable,
    questions: Sequence[Question],
    stocks: Sequence[_Stock],
    alone: Sequence[float],
    ranks: Sequence[int],
) -> Iterator[tuple[int, _Plan]]:
    """Choices of kinds with the bound on the part settled first, the highest bound first."""
    for number, stock in enumerate(stocks, start=1):
        if not stock.kinds:
            usable, needed = int(stock.mask.sum()), questions[number - 1].cells
            raise Infeasible(
                f"Pack {number}: {usable} of {len(table)} cells are usable; {needed} that go together are needed."
            )
    plans: list[tuple[int, _Plan]] = []
    for kinds in islice(product(*(stock.kinds for stock in stocks)), _KINDS):
        plan = _plan(table, questions, kinds, alone, ranks)
        floors = [None if ranks[packs[0]] == min(ranks) else 0 for packs in plan.packs]
        bound = highest_level(plan.parts, floors) * plan.unit
        if bound >= 0:
            plans.append((bound, plan))
    if not plans:
        needed = sum(question.cells for question in questions)
        usable = int(np.logical_or.reduce([stock.mask for stock in stocks]).sum())
        raise Infeasible(
            f"{usable} of {len(table)} cells are usable and {needed} are needed for all packs. It is proven that they "
            "do not suffice."
        )
    yield from sorted(plans, key=lambda one: -one[0])


def _plan(
    table: CellTable,
    questions: Sequence[Question],
    kinds: tuple[Kind, ...],
    alone: Sequence[float],
    ranks: Sequence[int],
) -> _Plan:
    """Parts for these kinds; packs of one place that are asked alike make one part."""
    asked: list[Asked] = []
    packs: list[list[int]] = []
    for number, (question, kind) in enumerate(zip(questions, kinds, strict=True)):
        like = next(
            (
                at
                for at, own in enumerate(packs)
                if ranks[own[0]] == ranks[number]
                and _alike(questions[own[0]], question)
                and kinds[own[0]].label == kind.label
            ),
            None,
        )
        if like is not None:
            packs[like].append(number)
            asked[like] = replace(asked[like], groups=asked[like].groups + question.series)
        else:
            weight = round(alone[number] * 10) if alone else 0
            packs.append([number])
            asked.append(Asked(question, question.series, question.parallel, kind.rows, weight))
    return _Plan(kinds, asked, packs, parts_of(table, asked))


def _alike(one: Question, other: Question) -> bool:
    return not one.must_use and replace(one, series=1) == replace(other, series=1, must_use=()) and not other.must_use


def _settle(table: CellTable, plan: _Plan, ranks: Sequence[int], seed: int, iterations: int) -> _Settled:
    if len(plan.parts) == 1:
        found = settled_as_one(table, plan.asked[0], plan.parts[0], plan.kinds[0], seed, iterations)
    else:
        places = [ranks[packs[0]] for packs in plan.packs]
        found = settled(plan.parts, places=places, seed=seed, iterations=iterations)
    return _Settled(plan, found, tuple(found.levels[number] * plan.unit for number in found.order))


def _written(
    table: CellTable,
    questions: Sequence[Question],
    stocks: Sequence[_Stock],
    alone: tuple[float, ...],
    shared: tuple[Shares, tuple[int, ...]],
    best: _Settled,
) -> SharedStock:
    plan, found = best.plan, best.found
    part_of = {pack: number for number, packs in enumerate(plan.packs) for pack in packs}
    groups = _dealt_back(questions, plan, found)
    per_step = 1 / SHARE_STEPS if alone else plan.unit / 10
    numbers = range(len(questions))
    return SharedStock(
        *shared,
        tuple(_proposal(table, questions[pack], stocks[pack], plan.kinds[pack], groups[pack]) for pack in numbers),
        alone,
        tuple(round(found.levels[part_of[pack]] * per_step, 9) for pack in numbers),
        tuple(round(found.bounds[part_of[pack]] * per_step, 9) for pack in numbers),
        tuple(pack for part in found.order for pack in plan.packs[part]),
    )


def _dealt_back(questions: Sequence[Question], plan: _Plan, found: Settled) -> dict[int, IntArray]:
    """Groups of each pack as table rows: of packs asked alike each gets neighbours in capacity."""
    groups: dict[int, IntArray] = {}
    for part, packs, dealt in zip(plan.parts, plan.packs, found.groups, strict=True):
        ordered = dealt[np.argsort(-part.cells.capacity[dealt].sum(1), kind="stable")]
        ends = np.cumsum([questions[pack].series for pack in packs])
        for pack, own in zip(packs, np.split(ordered, ends[:-1]), strict=True):
            groups[pack] = part.cells.rows[own]
    return groups


def _proposal(table: CellTable, question: Question, stock: _Stock, kind: Kind, groups: IntArray) -> Proposal:
    alone = max(plain_bound(table, question, one.rows) for one in stock.kinds)
    left_out = stock.excluded + filters.others(table, stock.mask, kind)
    sure = max(sure_bound(table, question, one.rows) for one in stock.kinds)
    return proposal(table, question, groups, alone, sure, least_used(table, question, stock.mask), (), left_out)
