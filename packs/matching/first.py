"""The first deal of a search: the strongest cells levelled where the limits allow it, else a sweep."""

from __future__ import annotations

from random import Random

import numpy as np

from packs.errors import Infeasible
from packs.matching.bound import apart
from packs.matching.construct import bottleneck_pairs, differencing, largest_cells, single_cells, sweep
from packs.matching.deal import Candidates, Deal, Limits
from packs.matching.effort import Budget
from packs.matching.improve import Search, level
from packs.matching.question import Question
from packs.matching.table import IntArray


def first_search(
    cells: Candidates, limits: Limits, question: Question, ceiling: int, rnd: Random, budget: Budget
) -> Search:
    """The levelled deal of the strongest cells where the limits allow it, else the better of it and a sweep.

    ``ceiling`` [steps of 0.1 mAh].

    References
    ----------
    Derived here from ``construct.differencing`` and ``construct.sweep``.
    """
    plain, alone = _plain_deal(cells, question)
    options: list[Search] = []
    if bool(limits.keep(cells, plain).all()):
        search = Search(Deal(cells, limits, plain), rnd, budget.iterations, budget)
        level(search, alone)
        options.append(search)
    if limits.any and not (options and options[0].best[0] >= ceiling):
        options.extend(_swept(cells, limits, question, ceiling, rnd, budget))
    if not options:
        raise Infeasible(
            f"{len(cells.rows)} cells are usable and {question.cells} are needed, but no groups that keep the limits "
            "were found. That is no proof that there are none."
        )
    return max(options, key=lambda option: option.best)


def _plain_deal(cells: Candidates, question: Question) -> tuple[IntArray, int]:
    """A deal of the largest cells, and how many of its first groups no levelling can better."""
    chosen = largest_cells(cells, question.cells)
    if question.parallel == 1:
        return single_cells(cells, chosen), 0
    if question.parallel == 2:
        return bottleneck_pairs(chosen), 0
    alone = apart(cells.capacity[chosen], question.series, question.parallel)
    rest = len(chosen) - alone * (question.parallel - 1)
    beside = chosen[rest:][::-1].reshape(alone, question.parallel - 1)
    even = differencing(cells, chosen[alone:rest], question.series - alone)
    return np.concatenate([np.column_stack([chosen[:alone], beside]), even]), alone


def _swept(
    cells: Candidates, limits: Limits, question: Question, ceiling: int, rnd: Random, budget: Budget
) -> list[Search]:
    groups = sweep(cells, limits, question.series, ceiling, rnd)
    return [] if groups is None else [Search(Deal(cells, limits, groups), rnd, budget.iterations, budget)]
