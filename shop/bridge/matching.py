"""Stock as a frozen table, and the answer of the matching engine in terms of cell codes."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import isnan

from django.db.models import QuerySet

from packs import matching
from packs.matching import CellTable, Proposal, Question
from packs.terms import Measure, Place
from packs.units import Quantity, of
from shop.models import Cell, Plan, PlanPosition, Reading

__all__ = ["Exclusion", "MatchedGroup", "MatchedPack", "propose"]

Exclusion = matching.Exclusion


@dataclass(frozen=True)
class MatchedGroup:
    """One proposed group: its cells and what they add up to."""

    number: int
    codes: tuple[str, ...]
    capacity: Quantity
    resistance: Quantity | None
    weakest: bool


@dataclass(frozen=True)
class MatchedPack:
    """A proposal as the page shows it."""

    groups: tuple[MatchedGroup, ...]
    weakest: Quantity
    spread: Quantity
    bound: Quantity
    gap: Quantity
    excluded: tuple[Exclusion, ...]
    considered: int


def propose(
    plan: Plan,
    *,
    min_capacity_mah: Decimal | None = None,
    max_resistance_ratio: Decimal | None = None,
    capacity_window: Decimal | None = None,
    must_not_use: Sequence[str] = (),
) -> MatchedPack:
    """Choose cells from stock for the plan and deal them into groups.

    Raises
    ------
    packs.errors.Infeasible
        The stock cannot fill the pack under these limits; the message says what was counted.
    """
    table = stock_table(Cell.objects.in_stock())
    question = Question(
        series=plan.series,
        parallel=plan.parallel,
        min_capacity_mah=None if min_capacity_mah is None else float(min_capacity_mah),
        max_resistance_ratio=None if max_resistance_ratio is None else float(max_resistance_ratio),
        capacity_window=None if capacity_window is None else float(capacity_window),
        must_not_use=tuple(must_not_use) + _other_models(plan, table),
    )
    return _shown(table, matching.propose(table, question))


def stock_table(cells: QuerySet[Cell]) -> CellTable:
    """Return cells with their newest standing readings as a table of columns."""
    rows = list(cells.select_related("lot__cell_model"))
    figures, methods = _readings([cell.pk for cell in rows])
    reserved = set(PlanPosition.objects.filter(open=True).values_list("cell_id", flat=True))

    def column(measure: Measure) -> list[float]:
        return [float(figures.get((cell.pk, measure.value), "nan")) for cell in rows]

    return CellTable.of(
        [cell.code for cell in rows],
        column(Measure.CAPACITY),
        dcir_uohm=column(Measure.DC_RESISTANCE),
        ocv_mv=column(Measure.REST_VOLTAGE),
        lot=[cell.lot.code for cell in rows],
        model=[cell.lot.cell_model.name for cell in rows],
        chemistry=[cell.lot.cell_model.chemistry for cell in rows],
        resistance_method=[methods.get(cell.pk, "") for cell in rows],
        reserved=[cell.pk in reserved for cell in rows],
        quarantined=[cell.place == Place.QUARANTINE for cell in rows],
    )


def _readings(cells: list[int]) -> tuple[dict[tuple[int, str], Decimal], dict[int, str]]:
    figures: dict[tuple[int, str], Decimal] = {}
    methods: dict[int, str] = {}
    rows = Reading.objects.standing().filter(cell__in=cells)
    for cell, measure, value, method in rows.values_list("cell_id", "measure", "value", "method"):
        figures[cell, measure] = value
        if measure == Measure.DC_RESISTANCE:
            methods[cell] = method
    return figures, methods


def _other_models(plan: Plan, table: CellTable) -> tuple[str, ...]:
    wanted = plan.cell_model.name
    return tuple(code for code, model in zip(table.codes, table.model, strict=True) if model != wanted)


def _shown(table: CellTable, proposal: Proposal) -> MatchedPack:
    weakest = min(range(len(proposal.groups)), key=lambda group: proposal.group_capacity_mah[group])
    groups = tuple(
        MatchedGroup(
            number=number,
            codes=tuple(table.codes[row] for row in rows),
            capacity=of(Measure.CAPACITY, proposal.group_capacity_mah[number - 1]),
            resistance=_resistance(proposal.group_resistance_uohm[number - 1]),
            weakest=number - 1 == weakest,
        )
        for number, rows in enumerate(proposal.groups, start=1)
    )
    return MatchedPack(
        groups=groups,
        weakest=of(Measure.CAPACITY, proposal.weakest_mah),
        spread=of(Measure.CAPACITY, proposal.spread_mah),
        bound=of(Measure.CAPACITY, proposal.bound_mah),
        gap=of(Measure.CAPACITY, proposal.gap_mah),
        excluded=proposal.excluded,
        considered=len(table),
    )


def _resistance(uohm: float) -> Quantity | None:
    return None if isnan(uohm) else of(Measure.DC_RESISTANCE, uohm)
