"""What a limit costs: the weakest group under one resistance ratio after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from packs.errors import Infeasible
from packs.matching.advice import most
from packs.matching.effort import Clock
from packs.matching.question import Question
from packs.matching.search import answers
from packs.matching.table import CellTable

_ITERATIONS = 20


@dataclass(frozen=True)
class Price:
    """What a resistance ratio costs: the weakest group [mAh] found under it, None where none was, and its bound."""

    ratio: float
    weakest_mah: float | None
    bound_mah: float | None


def price_of_ratio(
    table: CellTable,
    question: Question,
    ratios: Sequence[float],
    *,
    deadline: float | None = None,
    clock: Clock | None = None,
) -> tuple[Price, ...]:
    """Weakest group against the largest resistance ratio within a group, all else as asked.

    Capacities [mAh]; the ratios have no unit. With a ``deadline`` [s] by ``clock`` each ratio has an even share of the
    time that is left.

    References
    ----------
    Derived here: a short search for each ratio.
    """
    prices: list[Price] = []
    for number, ratio in enumerate(ratios):
        until = None
        if deadline is not None and clock is not None:
            until = clock() + (deadline - clock()) / (len(ratios) - number)
        prices.append(_price(table, replace(most(question), max_resistance_ratio=ratio), until, clock))
    return tuple(prices)


def _price(table: CellTable, asked: Question, deadline: float | None, clock: Clock | None) -> Price:
    ratio = asked.max_resistance_ratio or 1.0
    try:
        *_, answer = answers(table, asked, iterations=_ITERATIONS, deadline=deadline, clock=clock)
    except Infeasible:
        return Price(ratio, None, None)
    return Price(ratio, answer.weakest_mah, answer.bound_mah)
