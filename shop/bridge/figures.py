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


def repairs_of(cells: Iterable[Cell]) -> dict[int, tuple[str, ...]]:
    """Return for each cell what had to be repaired in the tester files that its figures of today come from."""
    rows = (
        Reading.objects.still_telling()
        .filter(cell__in=[cell.pk for cell in cells])
        .select_related("trace")
        .only("cell_id", "measure", "trace__remarks")
    )
    last = {(row.cell_id, row.measure): row.trace for row in rows}
    found: dict[int, dict[str, None]] = defaultdict(dict)
    for (cell_id, _), trace in last.items():
        if cell_id is not None and trace is not None:
            found[cell_id].update(dict.fromkeys(str(repair["message"]) for repair in trace.repairs))
    return {cell_id: tuple(messages) for cell_id, messages in found.items()}


def of_points(job: Job, stage: Stage | None, measure: Measure) -> dict[str, Decimal]:
    """Return the newest standing value at each point that was measured in a stage of a job, or in any."""
    rows = Reading.objects.standing().filter(job=job, measure=measure.value)
    if stage is not None:
        rows = rows.filter(stage=stage.value)
    return dict(rows.values_list("point", "value"))
