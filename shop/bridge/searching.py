"""A search that goes on longer than a page waits, over a stock as it stood when it began."""

from collections.abc import Iterator
from decimal import Decimal
from time import monotonic
from typing import Any

from packs import matching
from shop.models import Plan

from .matching import Limits, question_of, stock_for

_NUMBERS = ("min_capacity_mah", "max_resistance_ratio", "capacity_window", "ocv_window_mv")
_SEEDS, _PER_SEED = 100_000, 400
"""More seeds than any time asked lasts for: the clock ends the search."""


def asked(limits: Limits, seconds: int) -> dict[str, Any]:
    """Return limits and time as they are written down for the worker."""
    written = {name: None if (value := getattr(limits, name)) is None else str(value) for name in _NUMBERS}
    return written | {"surest": limits.surest, "must_not_use": list(limits.must_not_use), "seconds": seconds}


def longer(plan: Plan, written: dict[str, Any]) -> Iterator[tuple[float, dict[str, Any]]]:
    """Yield the share of the time that is gone and the best groups so far, as a page shows groups.

    The stock is read once, before the search; nothing is locked meanwhile.

    Raises
    ------
    packs.errors.Infeasible
        The stock cannot fill the pack under these limits.
    """
    numbers = {name: None if (text := written[name]) is None else Decimal(text) for name in _NUMBERS}
    limits = Limits(**numbers, must_not_use=written["must_not_use"], surest=written.get("surest", False))
    stock = stock_for(plan)
    began, seconds = monotonic(), float(written["seconds"])
    question = question_of(plan, stock, limits)
    best = None
    for seed in range(_SEEDS):
        for answer in matching.answers(
            stock.table, question, seed=seed, iterations=_PER_SEED, deadline=began + seconds, clock=monotonic
        ):
            if best is None or _better(answer, best, surest=limits.surest):
                best = answer
            bound = min(answer.bound_mah, best.bound_mah)
            yield (monotonic() - began) / seconds, _shown(plan, stock.table.codes, best, bound)
        if best is None or _proven(best, surest=limits.surest) or monotonic() - began >= seconds:
            return


def _better(one: matching.Proposal, other: matching.Proposal, *, surest: bool) -> bool:
    if surest:
        return one.pack_capacity_p5_mah > other.pack_capacity_p5_mah
    return (one.weakest_mah, -one.spread_mah) > (other.weakest_mah, -other.spread_mah)


def _proven(best: matching.Proposal, *, surest: bool) -> bool:
    return best.p5_gap_mah == 0 if surest else best.weakest_mah >= best.bound_mah


def _shown(plan: Plan, codes: tuple[str, ...], best: matching.Proposal, bound_mah: float) -> dict[str, Any]:
    groups = [[codes[row] for row in group] for group in best.groups]
    return {
        "plan": [plan.pk, plan.version],
        "groups": groups,
        "bound": str(Decimal(str(bound_mah))),
        "weakest": str(Decimal(str(best.weakest_mah))),
    }
