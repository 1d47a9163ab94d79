"""Cells with their newest readings as a table of columns, as matching takes them."""

from decimal import Decimal
from math import inf, nan

from packs.matching import CellTable
from packs.terms import Measure, Place
from shop.models import CellQuerySet, PlanPosition, Reading


def stock_table(cells: CellQuerySet) -> CellTable:
    """Return cells with their newest standing readings as a table of columns."""
    rows = list(cells.select_related("lot__cell_model"))
    figures, methods = _readings([cell.pk for cell in rows])
    reserved = set(PlanPosition.objects.filter(open=True).values_list("cell_id", flat=True))

    def column(measure: Measure, least: float = -inf) -> list[float]:
        """Values of a measure; one that is not above ``least`` is a finding about a dead cell, nothing to match by."""
        values = [float(figures.get((cell.pk, measure.value), "nan")) for cell in rows]
        return [value if value > least else nan for value in values]

    return CellTable.of(
        [cell.code for cell in rows],
        column(Measure.CAPACITY, 0),
        rated_mah=[float(cell.lot.cell_model.rated_capacity_mah) for cell in rows],
        dcir_uohm=column(Measure.DC_RESISTANCE, 0),
        ocv_mv=column(Measure.REST_VOLTAGE),
        self_discharge_mv_per_day=[uv / 1000 for uv in column(Measure.SELF_DISCHARGE)],
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
    rows = Reading.objects.still_telling().filter(cell__in=cells)
    for cell, measure, value, method in rows.values_list("cell_id", "measure", "value", "method"):
        figures[cell, measure] = value
        if measure == Measure.DC_RESISTANCE:
            methods[cell] = method
    return figures, methods
