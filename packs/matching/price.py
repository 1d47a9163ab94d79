"""What a limit costs: the weakest group under one resistance ratio after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from packs.errors import Infeasible
from packs.matching.advice import most
from packs.matching.question import Question
from packs.matching.search import propose
from packs.matching.table import CellTable

_ITERATIONS = 20


@dataclass(frozen=True)
class Price:
    """What a resistance ratio costs: the weakest group [mAh] found under it, None where none was, and its bound."""

    ratio: float
    weakest_mah: float | None
    bound_mah: float | None


def price_of_ratio(table: CellTable, question: Question, ratios: Sequence[float]) -> tuple[Price, ...]:
    """Weakest group against the largest resistance ratio within a group, all else as asked.

    Capacities [mAh]; the ratios have no unit.

    References
    ----------
    Derived here: a short search for each ratio.
    """
    prices: list[Price] = []
    for ratio in ratios:
        asked = replace(most(question), max_resistance_ratio=ratio)
        try:
            answer = propose(table, asked, iterations=_ITERATIONS)
            prices.append(Price(ratio, answer.weakest_mah, answer.bound_mah))
        except Infeasible:
            prices.append(Price(ratio, None, None))
    return tuple(prices)
