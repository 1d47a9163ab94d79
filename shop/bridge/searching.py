"""A search that goes on longer than a page waits, over a stock as it stood when it began."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from time import monotonic
from typing import Any

from packs import matching
from packs.matching import CellTable, Objective, Proposal, Question, Repair
from shop.models import Plan

from . import accepting, standing
from .matching import REPAIR_ITERATIONS, Limits, question_of, repaired, stock_for

_SEEDS, _PER_SEED = 100_000, 400
"""More seeds than any time asked lasts for: the clock ends the search."""


def asked(limits: Limits, seconds: int) -> dict[str, Any]:
    """Return limits and time as they are written down for the worker."""
    return accepting.written(limits) | {"seconds": seconds}


def longer(plan: Plan, written: dict[str, Any]) -> Iterator[tuple[float, dict[str, Any]]]:
    """Yield the share of the time that is gone and the best groups so far, as a page shows groups.

    The stock is read once, before the search; nothing is locked meanwhile.

    Raises
    ------
    packs.errors.Infeasible
        The stock cannot fill the pack under these limits.
    """
    limits = accepting.limits_of(written)
    stock = stock_for(plan)
    began, seconds = monotonic(), float(written["seconds"])
    question = question_of(plan, stock, limits)
    stay = standing.groups(plan)
    best: Repair | Proposal | None = None
    for seed in range(_SEEDS):
        for answer in _answers(stay, stock.table, question, seed, began + seconds):
            if best is None or _rank(answer, question) > _rank(best, question):
                best = answer
            bound = min(_dealt(answer).bound_mah, _dealt(best).bound_mah)
            yield (monotonic() - began) / seconds, _shown(plan, stock.table, _dealt(best), bound)
        if best is None or _proven(best, question) or monotonic() - began >= seconds:
            return


def _answers(
    stay: Sequence[standing.StandingGroup], table: CellTable, question: Question, seed: int, deadline: float
) -> Iterator[Repair | Proposal]:
    """Answers of one seed: beside groups that stay the weakest cells that can, as the page proposes them."""
    if stay:
        yield repaired(stay, table, question, iterations=REPAIR_ITERATIONS, seed=seed)
    else:
        yield from matching.answers(
            table, question, seed=seed, iterations=_PER_SEED, deadline=deadline, clock=monotonic
        )


def _dealt(answer: Repair | Proposal) -> Proposal:
    return answer.proposal if isinstance(answer, Repair) else answer


def _rank(answer: Repair | Proposal, question: Question) -> tuple[float, ...]:
    """What makes one answer better than another, the higher the better."""
    dealt = _dealt(answer)
    if isinstance(answer, Repair):
        tell_apart = question.repeatability * dealt.weakest_mah / question.parallel**0.5 * question.series
        off = sum(abs(ohm) for ohm in answer.resistance_off_uohm)
        return answer.pack_weakest_mah, -round(dealt.used_mah / tell_apart), -off
    if question.objective is Objective.USE_UP_WEAKER:
        return -dealt.used_mah, -dealt.spread_mah
    if question.objective is Objective.ASSURED_CAPACITY:
        return (dealt.pack_capacity_p5_mah,)
    return dealt.weakest_mah, -dealt.spread_mah


def _proven(best: Repair | Proposal, question: Question) -> bool:
    if isinstance(best, Repair):
        return best.proposal.used_mah <= best.proposal.least_used_mah and not any(best.resistance_off_uohm)
    if question.objective is Objective.USE_UP_WEAKER:
        return best.used_mah <= best.least_used_mah
    if question.objective is Objective.ASSURED_CAPACITY:
        return best.p5_gap_mah == 0
    return best.weakest_mah >= best.bound_mah


def _shown(plan: Plan, table: CellTable, best: Proposal, bound_mah: float) -> dict[str, Any]:
    groups = [[table.codes[row] for row in group] for group in best.groups]
    return {
        "plan": [plan.pk, plan.version],
        "groups": groups,
        "read": accepting.read_of(table, best.groups),
        "bound": str(Decimal(str(bound_mah))),
        "weakest": str(Decimal(str(best.weakest_mah))),
        "beside": bool(plan.standing_groups),
    }
