"""Cells with their newest readings as a table of columns, as matching takes them."""

import re
from decimal import Decimal
from math import inf, nan

from django.utils import timezone

from packs.matching import CellTable
from packs.terms import Measure, Place
from packs.units import ureg
from shop.models import CellQuerySet, PlanPosition, Reading

from . import said
from .how_measured import way


def stock_table(cells: CellQuerySet) -> CellTable:
    """Return cells with their newest standing readings as a table of columns."""
    rows = list(cells.select_related("lot__cell_model", "lot__donor_job"))
    figures, methods, words, charged = _readings([cell.pk for cell in rows])
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
        donor=["" if cell.lot.donor_job is None else cell.lot.donor_job.code for cell in rows],
        test_conditions=[conditions(words.get((cell.pk, Measure.CAPACITY.value), "")) for cell in rows],
        history=["stated" if cell.lot.evidence.strip() else "" for cell in rows],
        charged_on=[charged.get(cell.pk, "") for cell in rows],
        model=[cell.lot.cell_model.name for cell in rows],
        chemistry=[cell.lot.cell_model.chemistry for cell in rows],
        resistance_method=[methods.get(cell.pk, "") for cell in rows],
        reserved=[cell.pk in reserved for cell in rows],
        quarantined=[cell.place == Place.QUARANTINE for cell in rows],
    )


COLD, HOT = ureg.Quantity(15, "degC"), ureg.Quantity(30, "degC")
"""A capacity that was measured outside is not like one from the room: IEC 61960-3 asks for 20 °C ± 5 K, recalled from
memory; 5 K more are let through, common practice, no source."""
_CHARGED = re.compile(r"\b(?:charged|after (?:full )?charge)\b", re.IGNORECASE)


def conditions(words: str) -> str:
    """Return how a capacity was measured, as far as its words tell: rate, end, and whether it was cold or hot."""
    warm = said.temperature(words)
    if warm is None or COLD <= warm <= HOT:
        return way(words)
    return f"{way(words)} {'in the cold' if warm < COLD else 'in the heat'}"


def _readings(
    cells: list[int],
) -> tuple[dict[tuple[int, str], Decimal], dict[int, str], dict[tuple[int, str], str], dict[int, str]]:
    """Figures, methods of the resistance and words by cell; and when and where it was charged before it rested.

    That is known only where the words of the rest voltage say that a charge went before.
    """
    figures: dict[tuple[int, str], Decimal] = {}
    words: dict[tuple[int, str], str] = {}
    methods: dict[int, str] = {}
    charged: dict[int, str] = {}
    rows = Reading.objects.still_telling().filter(cell__in=cells)
    columns = ("cell_id", "measure", "value", "method", "conditions", "measured_at", "instrument__name")
    for cell, measure, value, method, more, at, meter in rows.values_list(*columns):
        figures[cell, measure] = value
        words[cell, measure] = f"{method}, {more}"
        if measure == Measure.DC_RESISTANCE:
            methods[cell] = method
        if measure == Measure.REST_VOLTAGE:
            after_charge = _CHARGED.search(words[cell, measure]) is not None
            charged[cell] = f"{timezone.localdate(at)} {meter or ''}".strip() if after_charge else ""
    return figures, methods, words, charged
