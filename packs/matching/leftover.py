"""One part after the other, each from the cells that the ones before have left."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from random import Random

import numpy as np

from packs.errors import Infeasible
from packs.matching.bound import weakest_group_bound
from packs.matching.deal import Candidates
from packs.matching.effort import Budget
from packs.matching.first import first_search
from packs.matching.improve import Search, even
from packs.matching.limited import Hunt
from packs.matching.parts import Part
from packs.matching.question import Question
from packs.matching.table import BoolArray, IntArray

_FIRST_MOVES = 20


def one_after_the_other(parts: Sequence[Part], rnd: Random, iterations: int) -> list[IntArray] | None:
    """Groups of each part in turn, as good as the search for one pack makes them; None where one part finds none.

    Capacities [steps].

    References
    ----------
    Derived here: deals by ``construct`` and ``improve`` against a bound.
    """
    free = np.ones(len(parts[0].allowed), dtype=np.bool_)
    found: list[IntArray] = []
    for part in parts:
        groups = _best(part, free & part.allowed, rnd, iterations)
        if groups is None:
            return None
        free[groups] = False
        found.append(groups)
    return found


def _best(part: Part, among: BoolArray, rnd: Random, iterations: int) -> IntArray | None:
    """Groups of one part out of the cells marked, with a spread as small as it gets."""
    if int(among.sum()) < part.groups * part.parallel:
        return None
    places = np.flatnonzero(among)
    cells = _only(part.cells, places)
    bound = weakest_group_bound(cells.capacity, part.groups, part.parallel, np.flatnonzero(cells.forced))
    hunt = Hunt(cells, part.limits, part.groups, bound, rnd, Budget(iterations))
    with suppress(Infeasible):
        hunt.search = _first(part, cells, bound, rnd, iterations)
    for pause in (hunt.climb(), hunt.close_in(whole=True)) if part.limits.any else (hunt.climb(),):
        for _ in pause:
            pass
    if hunt.search is None:
        return None
    hunt.search.moves = iterations
    if part.parallel > 1:
        even(hunt.search)
    return places[hunt.search.groups]


def _first(part: Part, cells: Candidates, bound: int, rnd: Random, iterations: int) -> Search:
    question = Question(part.groups, part.parallel)
    return first_search(cells, part.limits, question, bound, rnd, Budget(min(_FIRST_MOVES, iterations)))


def _only(cells: Candidates, places: IntArray) -> Candidates:
    return Candidates(
        cells.rows[places],
        cells.capacity[places],
        cells.resistance[places],
        cells.voltage[places],
        cells.origin[places],
        cells.forced[places],
        cells.step,
    )
