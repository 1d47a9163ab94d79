"""Stock as a frozen table, and the answer of the matching engine in terms of cell codes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import isnan
from time import monotonic

from django.conf import settings

from packs import matching
from packs.errors import ImpossibleValue
from packs.matching import (
    CellTable,
    CurrentShare,
    Objective,
    Proposal,
    Question,
    Repair,
    StandingGroup,
    filters,
)
from packs.terms import Measure, Owner
from packs.units import Quantity, of, ureg
from shop.models import Cell, CellQuerySet, Plan

from . import grading, rules, standing
from .how_measured import Ways, ways
from .rules.asking import asking
from .rules.origin import refused
from .standing import Mixed
from .stock_table import stock_table
from .to_level import ToLevel, level_mv, told

__all__ = [
    "NO_LIMITS",
    "Exclusion",
    "Limits",
    "MatchedGroup",
    "MatchedPack",
    "Stock",
    "ToLevel",
    "by_hand",
    "left_out",
    "propose",
    "question_of",
    "repaired",
    "stock_for",
    "stock_table",
    "unfit",
]

Exclusion = matching.Exclusion


@dataclass(frozen=True)
class Limits:
    """What cells and groups must keep to: capacity [mAh], ratio, share of the group's mean, rest voltage [mV], codes.

    ``assured``: what the pack holds in nineteen cases of twenty counts, not what the tests said. ``required_mah``:
    every group has at least so much, ``weaker``: with the weakest cells that can. ``known_history``: only cells of lots whose history is
    stated. ``allow_mixed_conditions``: also cells whose capacity was measured otherwise than that of the others.
    """

    min_capacity_mah: Decimal | None = None
    max_resistance_ratio: Decimal | None = None
    capacity_window: Decimal | None = None
    ocv_window_mv: Decimal | None = None
    must_not_use: Sequence[str] = ()
    assured: bool = False
    required_mah: Decimal | None = None
    weaker: bool = True
    max_self_discharge_mv_per_day: Decimal | None = None
    must_use: Sequence[str] = ()
    known_history: bool = False
    allow_mixed_conditions: bool = False


NO_LIMITS = Limits()
REPAIR_ITERATIONS = 30
"""New groups of a repair are few: under a second on a stock of 500, measured here."""


@dataclass(frozen=True)
class MatchedGroup:
    """One proposed group: its cells and what they add up to."""

    number: int
    codes: tuple[str, ...]
    capacity: Quantity
    resistance: Quantity | None
    weakest: bool


@dataclass(frozen=True)
class WorstShare:
    """The cell that carries most of its group's current."""

    code: str
    share: Quantity
    even: Quantity


@dataclass(frozen=True)
class MatchedPack:
    """A proposal as the page shows it.

    ``low`` is the pack's capacity that it falls short of in one case of twenty, by the tests' ``repeatability`` alone,
    which repeats to ``repeats``; ``assured_gap`` how much higher it could be at most, ``assured`` whether that
    was asked;
    ``finer_than_tests`` says that the gap is too small for them; ``worst_share`` the cell that carries most of its
    group's current, with its share and an even one. ``mixed`` tells of the groups that stay, where some do;
    ``required`` is what every group had to hold where weaker cells are used up, ``used`` what all cells hold then, and
    ``spared`` how much less might do at most;
    ``table`` is the stock as it was read for this, with ``rows`` group by group;
    ``falls_short`` says that no new groups were found that hold what is known of those; ``measured`` in which ways the
    capacities were measured.
    """

    groups: tuple[MatchedGroup, ...]
    weakest: Quantity
    spread: Quantity
    bound: Quantity
    gap: Quantity
    low: Quantity
    repeats: Quantity
    assured_gap: Quantity
    assured: bool
    repeatability: Quantity
    finer_than_tests: bool
    limiting: tuple[str, ...]
    worst_share: WorstShare | None
    to_level: tuple[ToLevel, ...]
    excluded: tuple[Exclusion, ...]
    considered: int
    table: CellTable
    rows: tuple[tuple[int, ...], ...]
    required: Quantity | None = None
    used: Quantity | None = None
    spared: Quantity | None = None
    mixed: Mixed | None = None
    falls_short: bool = False
    measured: Ways = ()


def propose(plan: Plan, limits: Limits = NO_LIMITS) -> MatchedPack:
    """Choose cells of the plan's model from stock and deal them into groups.

    Raises
    ------
    packs.errors.Infeasible
        The stock cannot fill the pack under these limits; the message says what was counted.
    """
    stock = stock_for(plan)
    question = question_of(plan, stock, limits)
    proposal = _best(plan, stock.table, question)
    return _shown(plan, stock.table, question, replace(proposal, excluded=stock.named(proposal.excluded)))


def by_hand(plan: Plan, groups: Sequence[Sequence[str]], limits: Limits, bound_mah: Decimal) -> tuple[MatchedPack, str]:
    """Return groups dealt by hand with their figures, and what of the limits they do not keep.

    Raises
    ------
    packs.errors.ImpossibleValue
        A cell that is not in stock any more.
    """
    stock = stock_for(plan)
    question = question_of(plan, stock, limits)
    row_of = {code: row for row, code in enumerate(stock.table.codes)}
    if gone := [code for group in groups for code in group if code not in row_of]:
        raise ImpossibleValue(f"Cell {gone[0]} is not in stock.")
    rows = [[row_of[code] for code in group] for group in groups]
    proposal, broken = matching.by_hand(stock.table, question, rows, float(bound_mah), level_mv=level_mv(plan))
    named = replace(proposal, excluded=stock.named(proposal.excluded))
    return _shown(plan, stock.table, question, named), broken


def _best(plan: Plan, table: CellTable, question: Question) -> Proposal:
    """Return the best groups.

    Beside groups that stay the new ones hold as much as the weakest of those with the poorest cells that can: more
    would never be used. Where the stock has no such cells, they hold as much as it can.
    """
    stay = standing.groups(plan)
    if not stay:
        return _answer(table, question)
    return repaired(stay, table, question, iterations=REPAIR_ITERATIONS).proposal


def repaired(
    stay: Sequence[standing.StandingGroup],
    table: CellTable,
    question: Question,
    *,
    iterations: int,
    seed: int = 0,
) -> Repair:
    """Return new groups matched to what is known of those that stay: capacity, resistance and charge."""
    known = [
        StandingGroup(_number(one.capacity_mah), _number(one.resistance_uohm), _number(one.last_mv)) for one in stay
    ]
    asked = replace(question, objective=Objective.MOST_CAPACITY, required_mah=None)
    return matching.propose_repair(table, asked, known, seed=seed, iterations=iterations)


def _answer(table: CellTable, question: Question) -> Proposal:
    *_, proposal = matching.answers(table, question, deadline=monotonic() + settings.MATCHING_SECONDS, clock=monotonic)
    return proposal


def left_out(plan: Plan, limits: Limits = NO_LIMITS) -> tuple[Exclusion, ...]:
    """Return the cells of the plan's model that could not take part, for where no groups were found."""
    stock = stock_for(plan)
    return stock.named(filters.usable(stock.table, question_of(plan, stock, limits))[1])


@dataclass(frozen=True)
class Stock:
    """The cells of one model in stock, and by code why the rules would refuse one of them once it was chosen."""

    table: CellTable
    unfit: Mapping[str, str]

    def named(self, excluded: Sequence[Exclusion]) -> tuple[Exclusion, ...]:
        """Return exclusions with the rules' own reasons."""
        return tuple(replace(one, reason=self.unfit.get(one.code, one.reason)) for one in excluded)


def stock_for(plan: Plan) -> Stock:
    """Return the cells of the plan's model in stock, and what the rules would say of them.

    Who brings cells wants them in his pack, and not the shop's.
    """
    cells = Cell.objects.in_stock(plan.job).filter(lot__cell_model=plan.cell_model, lot__held_why="")
    brought = cells.filter(lot__owner=Owner.CUSTOMER.value)
    if brought.exclude(positions__open=True).count() >= plan.new_cells:
        cells = brought
    table = stock_table(cells)
    return Stock(table, unfit(plan, cells, table))


def question_of(plan: Plan, stock: Stock, limits: Limits) -> Question:
    """Return what the engine is asked."""
    return Question(
        series=len(plan.open_groups),
        parallel=plan.parallel,
        objective=_objective(limits),
        required_mah=_number(limits.required_mah),
        min_capacity_mah=_number(limits.min_capacity_mah),
        max_resistance_ratio=_number(limits.max_resistance_ratio),
        capacity_window=_number(limits.capacity_window),
        ocv_window_mv=_number(limits.ocv_window_mv),
        max_self_discharge_mv_per_day=_number(limits.max_self_discharge_mv_per_day),
        refused_histories=("unknown",) if limits.known_history else (),
        allow_mixed_conditions=limits.allow_mixed_conditions,
        must_use=tuple(sorted(set(limits.must_use))),
        must_not_use=tuple(sorted({*stock.unfit, *limits.must_not_use}.intersection(stock.table.codes))),
    )


def _objective(limits: Limits) -> Objective:
    if limits.required_mah is not None and limits.weaker:
        return Objective.USE_UP_WEAKER
    return Objective.ASSURED_CAPACITY if limits.assured else Objective.MOST_CAPACITY


def _number(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def unfit(plan: Plan, cells: CellQuerySet, table: CellTable) -> dict[str, str]:
    """Return the cells that the rules would refuse once they were chosen, by code, with the reason."""
    unfit: dict[str, str] = {}
    if _stops(plan, "cell.tested"):
        for name, column in (("DC resistance", table.dcir_uohm), ("rest voltage", table.ocv_mv)):
            unfit |= {
                code: f"{name} not known" for code, value in zip(table.codes, column, strict=True) if isnan(value)
            }
    if _stops(plan, "cell.keeps_charge"):
        lost = grading.losing(cells.select_related("lot__cell_model"))
        codes = dict(cells.filter(pk__in=lost).values_list("pk", "code"))
        unfit |= {code: f"loses charge at rest: {lost[pk]}" for pk, code in codes.items()}
    unfit |= refused(plan, cells)
    if _stops(plan, "target.reclaimed_in_medical"):
        reclaimed = cells.reclaimed().values_list("code", flat=True)
        unfit |= dict.fromkeys(reclaimed, "reclaimed, and this is a medical device")
    return unfit


def _stops(plan: Plan, rule_id: str) -> bool:
    """Whether the plan would be stopped if this rule did not hold."""
    return bool(rules.stopping([asking(plan)(rule_id, False)]))


def _shown(plan: Plan, table: CellTable, question: Question, proposal: Proposal) -> MatchedPack:
    new = {number: Decimal(str(mah)) for number, mah in zip(plan.open_groups, proposal.group_capacity_mah, strict=True)}
    mixed = standing.mixed(plan, new)
    limits = mixed.limits if mixed else standing.weakest(new)
    least = mixed.least_mah if mixed else None
    groups = tuple(
        MatchedGroup(
            number=number,
            codes=tuple(table.codes[row] for row in rows),
            capacity=of(Measure.CAPACITY, new[number]),
            resistance=_resistance(proposal.group_resistance_uohm[index]),
            weakest=limits is not None and number in limits.groups,
        )
        for index, (number, rows) in enumerate(zip(plan.open_groups, proposal.groups, strict=True))
    )
    return MatchedPack(
        groups=groups,
        weakest=of(Measure.CAPACITY, proposal.weakest_mah),
        spread=of(Measure.CAPACITY, proposal.spread_mah),
        bound=of(Measure.CAPACITY, proposal.bound_mah),
        gap=of(Measure.CAPACITY, proposal.gap_mah),
        low=of(Measure.CAPACITY, proposal.pack_capacity_p5_mah),
        repeats=of(Measure.CAPACITY, round(proposal.weakest_repeats_mah, 1)),
        assured_gap=of(Measure.CAPACITY, round(proposal.p5_gap_mah, 1)),
        assured=question.objective is Objective.ASSURED_CAPACITY,
        repeatability=_percent(question.repeatability),
        finer_than_tests=proposal.finer_than_tests,
        limiting=proposal.limiting,
        worst_share=_worst_share(proposal.worst_share),
        to_level=told(plan, proposal.levelling),
        excluded=proposal.excluded,
        considered=len(table),
        table=table,
        rows=proposal.groups,
        required=None
        if question.objective is not Objective.USE_UP_WEAKER or question.required_mah is None
        else of(Measure.CAPACITY, question.required_mah),
        used=of(Measure.CAPACITY, proposal.used_mah),
        spared=of(Measure.CAPACITY, round(max(proposal.used_mah - proposal.least_used_mah, 0.0), 1)),
        mixed=mixed,
        falls_short=least is not None and min(new.values()) < least,
        measured=ways([code for group in groups for code in group.codes]),
    )


def _worst_share(worst: CurrentShare | None) -> WorstShare | None:
    return None if worst is None else WorstShare(worst.code, _percent(worst.share), _percent(worst.even_share))


def _percent(share: float) -> Quantity:
    percent: Quantity = ureg.Quantity(share, "dimensionless").to("percent")
    return percent


def _resistance(uohm: float) -> Quantity | None:
    return None if isnan(uohm) else of(Measure.DC_RESISTANCE, uohm)
