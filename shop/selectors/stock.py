"""Cells as the stock list and a cell's own page tell them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType

from django.db.models import Count, Q, QuerySet

from packs.terms import Condition, Criterion, Grade, Measure, Owner, Place
from shop.bridge import figures, grading
from shop.models import Cell, CellModel, Item, ItemKind, Job, Lot, PlanPosition, Reading

from .conditions import SHAPES
from .corrected import tied
from .removed import EMERGENCY_WAY

GRADED_AT = (Place.STOCK, Place.BENCH, Place.QUARANTINE)
"""Where a cell's grade tells something: it can be put right or built in."""

GRADE_SHAPES: Mapping[Grade, str] = MappingProxyType(
    {
        **dict.fromkeys((Grade.FIRST, Grade.SECOND, Grade.THIRD), "pass"),
        **dict.fromkeys((Grade.UNTESTED, Grade.TRIPPED), "unknown"),
        **dict.fromkeys((Grade.RETEST, Grade.QUARANTINED), "warn"),
        **dict.fromkeys((Grade.BELOW, Grade.REJECTED, Grade.OPEN_INSIDE), "fail"),
    }
)


@dataclass(frozen=True)
class CellState:
    """Where a cell stands and whether it can be had: a word, the shape beside it, and the job that has it."""

    word: str
    shape: str
    job: Job | None = None


@dataclass(frozen=True)
class ReasonTold:
    """What one criterion allows, with the shape beside it."""

    criterion: Criterion
    allows: Grade
    shape: str
    words: str
    provisional: bool


@dataclass(frozen=True)
class GradeTold:
    """A grade in words: provisional until its self-discharge is known, with its reasons."""

    word: str
    shape: str
    version: int
    reasons: Sequence[ReasonTold]
    new_missing: bool


@dataclass(frozen=True)
class StockLine:
    """One cell of the stock list."""

    cell: Cell
    capacity: Decimal | None
    dc_resistance: Decimal | None
    rest_voltage: Decimal | None
    state: CellState
    grade: GradeTold | None


def search(words: str, *, everywhere: bool) -> QuerySet[Cell]:
    """Return the cells in stock, or all that ever were here, whose code, lot or model holds the words."""
    cells = Cell.objects.all() if everywhere else Cell.objects.filter(place=Place.STOCK.value)
    if words:
        named = Q(code__icontains=words) | Q(lot__code__icontains=words) | Q(lot__cell_model__name__icontains=words)
        cells = cells.filter(named)
    return cells.select_related("lot__cell_model", "lot__customer", "job")


def packs() -> QuerySet[Item]:
    """Return the packs that were built for stock and stand there, the newest first."""
    return Item.objects.filter(kind=ItemKind.PACK.value, place=Place.STOCK.value).select_related("job").order_by("-pk")


def lines(cells: Sequence[Cell], *, at: datetime, locale: str = "en") -> list[StockLine]:
    """Return cells with their key figures, states and grades, in as many queries for one as for many."""
    known, held = figures.of_cells(cells), holders(cells)
    graded = grading.of_cells((cell for cell in cells if cell.place in GRADED_AT), at=at, locale=locale)
    return [
        _line(cell, known.get(cell.pk, {}), state(cell, held, known.get(cell.pk, {})), _graded(graded.get(cell.pk)))
        for cell in cells
    ]


def _line(cell: Cell, known: figures.Figures, stands: CellState, graded: GradeTold | None) -> StockLine:
    return StockLine(
        cell=cell,
        capacity=known.get(Measure.CAPACITY),
        dc_resistance=known.get(Measure.DC_RESISTANCE),
        rest_voltage=known.get(Measure.REST_VOLTAGE),
        state=stands,
        grade=graded,
    )


def _graded(found: grading.Grading | None) -> GradeTold | None:
    if found is None:
        return None
    word = f"{found.grade.label}, provisional" if found.provisional else found.grade.label
    shape = "wait" if found.provisional else GRADE_SHAPES[found.grade]
    reasons = [
        ReasonTold(reason.criterion, reason.allows, GRADE_SHAPES[reason.allows], reason.words, reason.provisional)
        for reason in found.reasons
    ]
    return GradeTold(word, shape, found.version, reasons, found.new_missing)


def holders(cells: Sequence[Cell]) -> dict[int, Job]:
    """Return by cell the job whose open plan holds it."""
    positions = PlanPosition.objects.filter(open=True, cell__in=[cell.pk for cell in cells])
    return {position.cell_id: position.plan.job for position in positions.select_related("plan__job")}


MATCHED_BY = (Measure.CAPACITY, Measure.DC_RESISTANCE, Measure.REST_VOLTAGE)
"""What has to be on record before a cell takes part in matching."""


def state(cell: Cell, held: dict[int, Job], known: figures.Figures) -> CellState:
    """Say where a cell stands and whether it can be had; one that is not tested through is free for nothing yet."""
    place = Place(cell.place)
    if place is not Place.STOCK:
        left_alone = place is Place.CONSIGNED and cell.container_id is None
        return CellState(EMERGENCY_WAY if left_alone else place.label, "none", cell.job or held.get(cell.pk))
    if cell.pk in held:
        return CellState("reserved", "wait", held[cell.pk])
    if cell.condition != Condition.INTACT:
        return CellState(Condition(cell.condition).label, SHAPES[Condition(cell.condition)])
    if cell.lot.held_why:
        return CellState("held with its lot", "warn")
    if cell.lot.owner == Owner.CUSTOMER:
        return CellState("the customer's", "note")
    if any(measure not in known for measure in MATCHED_BY):
        return CellState("to be tested", "unknown")
    return CellState("free", "ahead")


def history(cell: Cell) -> list[Reading]:
    """Return the readings of a cell, newest first, the corrected ones too."""
    rows = cell.readings.select_related("by", "instrument", "job", "trace", "corrected_by__by", "corrects", "step")
    rows = rows.select_related("withdrawal__by", "tester")
    return tied(rows.order_by("-measured_at", "-pk"))


def counting(cell: Cell) -> set[int]:
    """Return which readings of a cell count; those of a try that was stopped and followed by another one do not."""
    return set(cell.readings.standing().values_list("pk", flat=True))


def telling(cell: Cell) -> set[int]:
    """Return which readings tell something of a cell today: none from before it came back."""
    return set(cell.readings.still_telling().values_list("pk", flat=True))


def models() -> QuerySet[CellModel]:
    """Return the cell models with how many cells of each stand in stock."""
    in_stock = Count("lots__cells", filter=Q(lots__cells__place=Place.STOCK.value))
    return CellModel.objects.annotate(in_stock=in_stock).order_by("name")


def lots() -> QuerySet[Lot]:
    """Return the lots, the newest first, with how many cells of each stand in stock and came in at all."""
    in_stock = Count("cells", filter=Q(cells__place=Place.STOCK.value))
    rows = Lot.objects.select_related("cell_model", "customer", "donor_job")
    return rows.annotate(in_stock=in_stock, came_in=Count("cells")).order_by("-received_on", "-pk")


def measured_whole(lot: Lot) -> int:
    """Return of how many cells of a lot both capacity and DC resistance are known today."""
    measured = Cell.objects.filter(lot=lot)
    for measure in (Measure.CAPACITY, Measure.DC_RESISTANCE):
        tests = Reading.objects.still_telling().filter(measure=measure.value)
        measured = measured.filter(pk__in=tests.values("cell"))
    return measured.count()
