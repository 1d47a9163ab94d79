"""One pack whose groups have unlike parallel counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.answer import Proposal
from packs.matching.effort import DEFAULT_ITERATIONS
from packs.matching.filters import Kind
from packs.matching.joint import Settled, settled, settled_as_one
from packs.matching.joint_bound import highest_level
from packs.matching.kind_search import ProvenInfeasible
from packs.matching.parts import Asked, Part, parts_of
from packs.matching.question import Objective, Question
from packs.matching.report import proposal
from packs.matching.sure import fifth_percentile_bound
from packs.matching.table import BoolArray, CellTable, IntArray


def propose_uneven(
    table: CellTable,
    question: Question,
    parallels: Sequence[int],
    *,
    seed: int = 0,
    iterations: int = DEFAULT_ITERATIONS,
) -> Proposal:
    """Choose cells for a pack whose groups have unlike parallel counts: the weakest group by capacity counts.

    Parameters
    ----------
    table : CellTable
    question : Question
        Its series is the number of groups, its parallel the largest count; it asks for most capacity.
    parallels : sequence of int, length series
        Cells of each group, from the first to the last.
    seed, iterations : int
        As for ``propose``.

    Returns
    -------
    Proposal
        Group k has ``parallels[k]`` cells; the bound [mAh] is on the weakest group of all.

    Raises
    ------
    packs.errors.Infeasible
        Too few usable cells, or no groups that keep the limits; the message says whether that is proven.
    packs.errors.ImpossibleValue
        Counts that do not fit the question.

    References
    ----------
    Derived here: groups of each count are one part of a shared stock; see `joint.settled`.
    """
    _check(question, parallels)
    mask, excluded = filters.usable(table, question)
    best: tuple[Kind, list[Part], Settled, int] | None = None
    refused: Infeasible | None = None
    bounds: list[int] = []
    for bound, kind, asked, parts in _ranked(table, question, parallels, mask):
        if best is not None and best[3] >= bound:
            bounds.append(bound)
            break
        try:
            found = _found(table, kind, asked, parts, seed, iterations)
        except Infeasible as error:
            refused = refused or error
            bounds += [] if isinstance(error, ProvenInfeasible) else [bound]
            continue
        level, ceiling = (values[found.order[0]] * parts[0].cells.step for values in (found.levels, found.bounds))
        bounds.append(ceiling)
        best = (kind, parts, found, level) if best is None or level > best[3] else best
    if best is None:
        raise refused or Infeasible("No cells to choose from.")
    kind, parts, found, _ = best
    groups = _in_place(parts, found, parallels)
    left_out = excluded + filters.others(table, mask, kind)
    sure = max(
        fifth_percentile_bound(table.capacity_tenths[one.rows], parallels, question.repeatability)
        for one in filters.kinds(table, question, mask)
        if len(one.rows) >= sum(parallels)
    )
    return proposal(table, question, groups, max(bounds), sure, _least_used(table, mask, sum(parallels)), (), left_out)


def _check(question: Question, parallels: Sequence[int]) -> None:
    if len(parallels) != question.series:
        raise ImpossibleValue(f"{len(parallels)} parallel counts do not fit {question.series} groups in series.")
    if min(parallels) < 1 or max(parallels) != question.parallel:
        raise ImpossibleValue(f"The largest parallel count is asked as {question.parallel}, given {max(parallels)}.")
    if question.objective is not Objective.MOST_CAPACITY:
        raise ImpossibleValue("A pack of unlike groups asks for most capacity.")
    if len(set(question.must_use)) > sum(parallels):
        raise ImpossibleValue(
            f"{len(set(question.must_use))} cells must be used, but the pack has {sum(parallels)} places."
        )


_Ranked = tuple[int, Kind, list[Asked], list[Part]]


def _ranked(table: CellTable, question: Question, parallels: Sequence[int], mask: BoolArray) -> list[_Ranked]:
    """Kinds with their bound [0.1 mAh] and the parts they make, the highest bound first."""
    wanted, needed = set(question.must_use), sum(parallels)
    ranked: list[_Ranked] = []
    for kind in filters.kinds(table, question, mask):
        if len(kind.rows) < needed or not wanted <= {table.codes[row] for row in kind.rows.tolist()}:
            continue
        counts = sorted(Counter(parallels).items())
        asked = [Asked(question, groups, parallel, kind.rows) for parallel, groups in counts]
        parts = parts_of(table, asked)
        ranked.append((highest_level(parts, [None] * len(parts)) * parts[0].cells.step, kind, asked, parts))
    if not ranked:
        raise Infeasible(f"{int(mask.sum())} of {len(table)} cells are usable; {needed} that go together are needed.")
    return sorted(ranked, key=lambda one: (-one[0], one[1].label))


def _found(table: CellTable, kind: Kind, asked: list[Asked], parts: list[Part], seed: int, iterations: int) -> Settled:
    if len(parts) == 1:
        return settled_as_one(table, asked[0], parts[0], kind, seed, iterations)
    return settled(parts, seed=seed, iterations=iterations, only_weakest=True)


def _in_place(parts: Sequence[Part], found: Settled, parallels: Sequence[int]) -> list[IntArray]:
    """Groups as table rows in the order of the counts."""
    waiting = {part.parallel: list(part.cells.rows[dealt]) for part, dealt in zip(parts, found.groups, strict=True)}
    return [waiting[parallel].pop(0) for parallel in parallels]


def _least_used(table: CellTable, mask: BoolArray, places: int) -> int:
    return int(np.sort(table.capacity_tenths[mask])[:places].sum())
