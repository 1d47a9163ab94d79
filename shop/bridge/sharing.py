"""Several target packs of one cell model out of one stock: shared fairly or by priority, each beside what it had alone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from time import monotonic

import numpy as np

from packs import matching
from packs.matching import CellTable, Question, Shares, filters
from packs.terms import Measure, Stage
from packs.units import Quantity, of
from shop.models import Cell, Plan, PlanState

from . import accepting
from .matching import Limits, Stock, question_of, stock_table, unfit

ITERATIONS, ITERATIONS_LIMITED = 12, 1
"""Of the search for all packs together, and with limits of resistance or voltage: two packs of some fifty cells out of
300 in about a second, measured here."""
SECONDS_ALONE = 0.2
MOST_PACKS = 4


@dataclass(frozen=True)
class SharedGroup:
    """One group of a pack: its cells, and what they hold."""

    number: int
    codes: tuple[str, ...]
    capacity: Quantity
    weakest: bool


class Best(StrEnum):
    """What is proven of one pack, as the page says it."""

    ALONE = "cannot be better, even alone"
    WEAKEST = "no sharing gives the weakest pack more"
    AFTER_OTHERS = "cannot be better while those settled before it get as much"
    NOT_PROVEN = "not proven; better may be possible"


@dataclass(frozen=True)
class SharedPack:
    """What one pack gets: its groups, its weakest group, and what that would hold with the stock to itself."""

    plan: Plan
    groups: tuple[SharedGroup, ...]
    weakest: Quantity
    alone: Quantity
    shown: accepting.Shown
    best: Best = Best.NOT_PROVEN


@dataclass(frozen=True)
class SharedOut:
    """The packs in the order asked, each with what is proven of it."""

    packs: tuple[SharedPack, ...]
    first: Plan
    """Whose pack was settled first."""

    @property
    def proven(self) -> bool:
        """Whether something is proven of every pack."""
        return all(pack.best is not Best.NOT_PROVEN for pack in self.packs)


def waiting() -> dict[str, list[Plan]]:
    """Return the plans that wait for cells by cell model, where at least two do; a repair is matched alone."""
    rows = Plan.objects.filter(
        state=PlanState.STATED.value, job__stage=Stage.MATCH.value, job__closed_at=None, replaced=[]
    )
    plans: dict[str, list[Plan]] = {}
    for plan in rows.select_related("cell_model", "job__device").order_by("job__number"):
        if not plan.job.held:
            plans.setdefault(plan.cell_model.name, []).append(plan)
    return {model: found for model, found in plans.items() if len(found) > 1}


def together(plans: Sequence[Plan], limits: Sequence[Limits], places: Sequence[int] | None = None) -> SharedOut:
    """Deal cells for several packs, fairly; with ``places`` one place after the other, fairly within one.

    Raises
    ------
    packs.errors.Infeasible
        One pack alone, or all together, cannot be built; the message says whether that is proven.
    """
    cells = Cell.objects.in_stock().filter(lot__cell_model=plans[0].cell_model, lot__held_why="")
    table = stock_table(cells)
    stocks = [Stock(table, unfit(plan, cells, table)) for plan in plans]
    questions = [question_of(plan, stock, limit) for plan, stock, limit in zip(plans, stocks, limits, strict=True)]
    alone = [_alone(table, question) for question in questions]
    shares = Shares.FAIR if places is None else Shares.BY_PRIORITY
    found = matching.propose_together(table, questions, shares=shares, places=places, iterations=_iterations(questions))
    return SharedOut(
        tuple(
            replace(_shown(plan, table, proposal, max(mah, proposal.weakest_mah), limit), best=_best(found, number))
            for number, (plan, proposal, mah, limit) in enumerate(
                zip(plans, found.proposals, alone, limits, strict=True)
            )
        ),
        first=plans[found.order[0]],
    )


def _best(found: matching.SharedStock, number: int) -> Best:
    """Return what is proven of one pack: by its bound alone, or by that beside the packs settled before it."""
    if found.proposals[number].gap_mah == 0:
        return Best.ALONE
    if found.bounds[number] > found.levels[number]:
        return Best.NOT_PROVEN
    first = found.order[0]
    # Packs asked alike are settled as one, by the weaker of them.
    if found.places[number] == found.places[first] and found.levels[number] == found.levels[first]:
        return Best.WEAKEST
    own = found.proposals[number].weakest_mah
    peers = [one for one, place in enumerate(found.places) if place == found.places[number]]
    alike = [found.proposals[one].weakest_mah for one in peers if found.levels[one] == found.levels[number]]
    return Best.AFTER_OTHERS if own == min(alike) else Best.NOT_PROVEN


def usable(plans: Sequence[Plan], limits: Sequence[Limits]) -> int:
    """Return how many cells in stock at least one of the packs may use."""
    cells = Cell.objects.in_stock().filter(lot__cell_model=plans[0].cell_model, lot__held_why="")
    table = stock_table(cells)
    asked = [
        question_of(plan, Stock(table, unfit(plan, cells, table)), limit)
        for plan, limit in zip(plans, limits, strict=True)
    ]
    return int(np.logical_or.reduce([filters.usable(table, one)[0] for one in asked]).sum())


def _iterations(questions: Sequence[Question]) -> int:
    limited = any(one.max_resistance_ratio is not None or one.ocv_window_mv is not None for one in questions)
    return ITERATIONS_LIMITED if limited else ITERATIONS


def _alone(table: CellTable, question: Question) -> float:
    *_, best = matching.answers(table, question, deadline=monotonic() + SECONDS_ALONE, clock=monotonic)
    return best.weakest_mah


def _shown(plan: Plan, table: CellTable, proposal: matching.Proposal, alone_mah: float, limits: Limits) -> SharedPack:
    groups = tuple(
        SharedGroup(
            number, tuple(table.codes[row] for row in rows), of(Measure.CAPACITY, mah), mah == proposal.weakest_mah
        )
        for number, rows, mah in zip(plan.open_groups, proposal.groups, proposal.group_capacity_mah, strict=True)
    )
    most = str(Decimal(str(proposal.bound_mah)))
    shown = accepting.Shown(limits, accepting.read_of(table, proposal.groups), most_mah=most)
    return SharedPack(plan, groups, of(Measure.CAPACITY, proposal.weakest_mah), of(Measure.CAPACITY, alone_mah), shown)
