"""Standing readings of cells and points, as figures."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from packs.terms import Measure, Stage
from shop.models import Cell, Job, Reading

Figures = dict[Measure, Decimal]


def of_cells(cells: Iterable[Cell]) -> dict[int, Figures]:
    """Return for each cell its newest value of every measure that still tells something, in two queries at most."""
    rows = (
        Reading.objects.still_telling()
        .filter(cell__in=[cell.pk for cell in cells])
        .values_list("cell_id", "measure", "value")
    )
    figures: dict[int, Figures] = defaultdict(dict)
    for cell_id, measure, value in rows:
        figures[cell_id][Measure(measure)] = value
    return figures


def of_points(job: Job, stage: Stage, measure: Measure) -> dict[str, Decimal]:
    """Return the newest standing value at each point that was measured in a stage of a job."""
    rows = Reading.objects.standing().filter(job=job, stage=stage.value, measure=measure.value)
    return dict(rows.values_list("point", "value"))
