"""Jobs of any arrangement with their cells reserved and, if asked, their pack proved: as few rows as papers ask about."""

from decimal import Decimal

from packs.terms import Condition, DangerSign, Heard, Measure, Place, Stage
from shop import models
from shop.operations import disposal, intake, planning, quoting, rebuild
from tests import line
from tests.factories import MORNING, TESTED, CellModelFactory, LotFactory

CAPACITY_MAH = 2550
"""What each of these cells gave; the pack gives as many times that as cells lie in parallel."""


def reserved(series: int, parallel: int, *, prefix: str) -> models.Job:
    """Return a job that was quoted, approved and matched; its cells are numbered through."""
    CellModelFactory()
    job = line.job_at(Stage.TARGET)
    line.quote(job, series=series, parallel=parallel)
    job.refresh_from_db()
    quoting.approve_quote(job=job, name="Ida Moor", heard=Heard.SPOKEN, by=line.technician())
    job.refresh_from_db()
    planning.state_target(job=job, target=line.target(series=series, parallel=parallel), by=line.technician())
    job.refresh_from_db()
    codes = in_stock(series * parallel, prefix)
    groups = [codes[start : start + parallel] for start in range(0, len(codes), parallel)]
    planning.accept(job=job, groups=groups, by=line.technician())
    job.refresh_from_db()
    return job


def in_stock(count: int, prefix: str) -> list[str]:
    """Put tested cells into stock, without a movement for each."""
    lot, by = LotFactory(code=f"L-{prefix}"), line.technician()
    codes = [f"{prefix}-{number:04d}" for number in range(1, count + 1)]
    cells = models.Cell.objects.bulk_create(
        models.Cell(code=code, lot=lot, condition="intact", place=Place.STOCK.value) for code in codes
    )
    models.Reading.objects.bulk_create(
        models.Reading(
            cell=cell,
            measure=measure.value,
            value=Decimal(value),
            method="DC pulse 10 s" if measure is Measure.DC_RESISTANCE else "",
            measured_at=MORNING,
            by=by,
        )
        for cell in cells
        for measure, value in TESTED.items()
    )
    return codes


MOST_TAKEN_APART = 100
"""A larger old pack shows a danger sign and goes out whole: to book so many cells takes longer than a test should."""


def thrown_away(series: int, parallel: int) -> tuple[models.Job, models.Container]:
    """Return a job whose old pack went into a container, cell by cell or as one piece."""
    job = line.to_be_cut(series, [3000] * series, parallel=parallel)
    whole, damaged = line.containers()
    if series * parallel > MOST_TAKEN_APART:
        intake.report_danger(job=job, signs=[DangerSign.SWELLING], by=line.technician())
        line.take_out_items(job)
        return job, damaged
    given = {"condition": Condition.INTACT, "rest_voltage_mv": Decimal(3000), "count": series * parallel}
    cells = rebuild.record_removed(job=job, by=line.technician(), **given)
    rebuild.finish_dismantling(job=job, by=line.technician())
    disposal.to_container(job=job, container=whole, cells=cells, insulated=True, by=line.technician())
    return job, whole


def proved(job: models.Job) -> models.Job:
    """Write down the final test of a pack as it would stand there, without the steps before it."""
    plan, by = job.plans.get(), line.technician()
    step = models.Step.objects.create(
        job=job,
        stage=Stage.FINAL_TEST.value,
        outcome=models.StepOutcome.DONE.value,
        started_at=MORNING,
        ended_at=MORNING,
        by=by,
    )
    taken = [
        ("pack", Measure.CAPACITY, CAPACITY_MAH * plan.parallel - 20),
        ("pack", Measure.REST_VOLTAGE, 4140 * plan.series),
    ]
    taken += [(f"group {number}", Measure.REST_VOLTAGE, 4140) for number in range(1, plan.series + 1)]
    models.Reading.objects.bulk_create(
        models.Reading(
            job=job,
            step=step,
            stage=Stage.FINAL_TEST.value,
            point=point,
            measure=measure.value,
            value=Decimal(value),
            measured_at=MORNING,
            by=by,
        )
        for point, measure, value in taken
    )
    return job
