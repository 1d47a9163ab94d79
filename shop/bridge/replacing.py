"""One cell of a plan turned out unusable: the least change that fills the pack again."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from math import isnan

from django.db.models import Q

from packs import matching
from packs.errors import Infeasible
from packs.matching import CellTable, Objective, PlaceChange, Question, Replacement
from packs.terms import Condition, Measure
from packs.units import Quantity, of
from shop.models import Cell, Joint, JointState, Plan

from . import standing
from .matching import Limits, Stock, question_of, stock_table, unfit

TRIES = 500_000
"""Groups that one page looks at: under a second on a stock of 500, measured here."""


@dataclass(frozen=True)
class Change:
    """One position that changes: the cell that leaves it, and the one that enters."""

    position: str
    out: str
    into: str
    capacity: Quantity | None = None
    resistance: Quantity | None = None
    """Of the cell that enters."""


@dataclass(frozen=True)
class LeastChange:
    """What changes at least, the weakest group of those built before (None: not known) and after.

    ``proven`` is whether every way with fewer changed positions, and every one with as many, was tried.
    """

    changes: tuple[Change, ...]
    weakest_before: Quantity | None
    weakest: Quantity
    proven: bool

    @property
    def weaker(self) -> bool:
        """Whether the weakest group holds less than before."""
        return self.weakest_before is not None and self.weakest < self.weakest_before


def joined_cells(plan: Plan) -> frozenset[str]:
    """Return the cells of a plan that a joint was made on and not undone since: they stay where they are."""
    standing_joints = Joint.objects.filter(position__plan=plan).exclude(state=JointState.UNDONE.value)
    return frozenset(standing_joints.values_list("position__cell__code", flat=True))


def least_change(plan: Plan, code: str, limits: Limits, *, stay: Collection[str]) -> LeastChange:
    """Return the least change that takes one cell out of an accepted plan; the cells that ``stay`` keep their places.

    Cells of the plan were accepted as they are: the least capacity asked is held against those that enter alone.

    Raises
    ------
    packs.errors.Infeasible
        No change was found; the message says why, and whether that is proven.
    """
    positions = list(plan.positions.select_related("cell").order_by("group", "place"))
    groups = [[one.cell.code for one in positions if one.group == number] for number in plan.open_groups]
    stock = _stock_and_plan(plan)
    question = _question(plan, stock, limits, {one.cell.code for one in positions})
    found = _answer(plan, stock.table, question, groups, code, stay)
    named = {one.cell.code: one.name for one in positions}
    return LeastChange(
        changes=tuple(_change(named[one.out], one, stock.table) for one in found.changes),
        weakest_before=None if isnan(found.weakest_before_mah) else of(Measure.CAPACITY, found.weakest_before_mah),
        weakest=of(Measure.CAPACITY, found.weakest_mah),
        proven=found.proven,
    )


def _change(position: str, one: PlaceChange, table: CellTable) -> Change:
    """Return a change with what the cell that enters reads."""
    row = table.codes.index(one.into)
    mah, uohm = float(table.capacity_mah[row]), float(table.dcir_uohm[row])
    return Change(
        position,
        one.out,
        one.into,
        None if isnan(mah) else of(Measure.CAPACITY, mah),
        None if isnan(uohm) else of(Measure.DC_RESISTANCE, uohm),
    )


def _stock_and_plan(plan: Plan) -> Stock:
    """The stock of the model with the cells of the plan; one of those that is no longer whole may not stay either."""
    stock = Cell.objects.in_stock(plan.job).filter(lot__cell_model=plan.cell_model, lot__held_why="")
    own = plan.positions.values("cell")
    cells = Cell.objects.filter(Q(pk__in=stock.values("pk")) | Q(pk__in=own))
    table = stock_table(cells)
    worse = cells.exclude(condition=Condition.INTACT.value).values_list("code", flat=True)
    return Stock(table, unfit(plan, cells, table) | dict.fromkeys(worse, "damaged or defective"))


def _question(plan: Plan, stock: Stock, limits: Limits, own: Collection[str]) -> Question:
    least = limits.min_capacity_mah
    weak = (
        []
        if least is None
        else [
            code
            for code, mah in zip(stock.table.codes, stock.table.capacity_mah.tolist(), strict=True)
            if code not in own and not mah >= float(least)
        ]
    )
    refused = tuple({*limits.must_not_use, *weak} - set(own))
    among = {how for code, how in zip(stock.table.codes, stock.table.test_conditions, strict=True) if code in own}
    # What was chosen by hand may mix ways of measuring; what every group holds was asked of the whole pack.
    changed = replace(
        limits,
        min_capacity_mah=None,
        must_use=(),
        must_not_use=refused,
        required_mah=None,
        allow_mixed_conditions=limits.allow_mixed_conditions or len(among) > 1,
    )
    return question_of(plan, stock, changed)


def _answer(
    plan: Plan, table: CellTable, question: Question, groups: list[list[str]], code: str, stay: Collection[str]
) -> Replacement:
    """In a repair the weakest cells that hold what the groups that stay hold; where none do, as much as can be."""
    if (mah := standing.least_mah(plan)) is not None:
        asked = replace(question, objective=Objective.USE_UP_WEAKER, required_mah=float(mah))
        try:
            return matching.replace_cell(table, asked, groups, code, joined=stay, tries=TRIES)
        except Infeasible:
            pass
    return matching.replace_cell(table, question, groups, code, joined=stay, tries=TRIES)
