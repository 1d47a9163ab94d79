"""Rows made in bulk, past the operations: packs too large to build step by step in a test."""

from datetime import timedelta
from decimal import Decimal

from django.db.models import Max

from packs.terms import (
    STEPS,
    BoardSwitch,
    Chemistry,
    Circumstance,
    Condition,
    DangerLevel,
    JointMethod,
    Measure,
    Owner,
    Place,
    Role,
    Stage,
    StripMaterial,
)
from shop import models
from shop.bridge import layouts
from shop.operations import files, photographs

from .factories import MORNING, CellModelFactory, DeviceFactory, LotFactory, UserFactory
from .pictures import photograph


def job(stage: Stage, **columns: object) -> models.Job:
    """Return a job at a stage, with nothing that led there."""
    last = models.Job.objects.aggregate(last=Max("number"))["last"] or 0
    given = {
        "device": DeviceFactory(),
        "danger_level": DangerLevel.CLEAR.value,
        "removed_owner": Owner.SHOP.value,
        "opened_at": MORNING,
        "opened_by": UserFactory(username="technician"),
    }
    return models.Job.objects.create(number=last + 1, stage=stage.value, **(given | columns))


def planned(series: int, parallel: int, stage: Stage) -> models.Plan:
    """Return the accepted plan of a job at a step or later: its cells tested, placed, measured and joined as far."""
    by = UserFactory(username="technician")
    plan = stated(job(stage), series, parallel)
    plan.state, plan.accepted_at = models.PlanState.ACCEPTED.value, MORNING
    plan.save()
    reached = STEPS.index(stage) if stage in STEPS else len(STEPS)
    _positions(plan, by, placed=reached > STEPS.index(Stage.PLACE))
    _steps(plan.job, reached, by)
    if reached > STEPS.index(Stage.MEASURE):
        _measured(plan, by)
    if reached > STEPS.index(Stage.JOIN):
        _joined(plan, by)
    return plan


def stated(row: models.Job, series: int, parallel: int) -> models.Plan:
    """Return the target pack of a job, stated after the same was found in the old pack."""
    found(row, series, parallel)
    return models.Plan.objects.create(
        job=row,
        cell_model=CellModelFactory(),
        series=series,
        parallel=parallel,
        joint_method=JointMethod.SPOT_WELD.value,
        strip_material=StripMaterial.NICKEL_200.value,
        strip_width_um=8000,
        strip_thickness_um=150,
        continuous_current_ma=6000,
        charger_voltage_mv=series * 4200,
        stated_at=MORNING,
        stated_by=row.opened_by,
    )


def found(row: models.Job, series: int, parallel: int) -> models.PackAsFound:
    """Return what was found in the pack of a job."""
    return models.PackAsFound.objects.create(
        job=row,
        cell_model=CellModelFactory(),
        series=series,
        parallel=parallel,
        joint_method=JointMethod.SPOT_WELD.value,
        housing="four screws",
        examined_at=MORNING,
        examined_by=row.opened_by,
    )


def cells(count: int, lot: models.Lot, **columns: object) -> list[models.Cell]:
    """Return cells of a lot with capacity, resistance and rest voltage on record."""
    by = UserFactory(username="technician")
    given = {"condition": Condition.INTACT.value, "place": Place.STOCK.value} | columns
    rows = models.Cell.objects.bulk_create(
        [models.Cell(code=f"{lot.code}-{number:03d}", lot=lot, **given) for number in range(1, count + 1)]
    )
    models.Movement.objects.bulk_create(
        [
            models.Movement(cell=cell, to_place=cell.place, at=MORNING, by=by, container=cell.container, job=cell.job)
            for cell in rows
        ]
    )
    read = {Measure.CAPACITY: 2550, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620}
    models.Reading.objects.bulk_create(
        [
            models.Reading(cell=cell, measure=measure.value, value=Decimal(value), measured_at=MORNING, by=by)
            for cell in rows
            for measure, value in read.items()
        ]
    )
    return rows


def removed(row: models.Job, count: int, **columns: object) -> list[models.Cell]:
    """Return cells that left the old pack of a job and lie on the bench."""
    lot = LotFactory(code=f"{row.code}-R", origin="donor", donor_job=row, supplier="")
    return cells(count, lot, **({"place": Place.BENCH.value, "job": row} | columns))


def _positions(plan: models.Plan, by: models.User, *, placed: bool) -> None:
    lot = LotFactory(code=f"P{plan.job.number}")
    where = {"place": Place.PACK.value, "job": plan.job} if placed else {}
    stock = cells(plan.cell_count, lot, **where)
    models.PlanPosition.objects.bulk_create(
        [
            models.PlanPosition(
                plan=plan,
                group=number // plan.parallel + 1,
                place=number % plan.parallel + 1,
                cell=cell,
                placed_at=MORNING if placed else None,
                placed_by=by if placed else None,
            )
            for number, cell in enumerate(stock)
        ]
    )


def _steps(row: models.Job, reached: int, by: models.User) -> None:
    models.Step.objects.bulk_create(
        [
            models.Step(
                job=row,
                stage=step.value,
                outcome=models.StepOutcome.DONE.value,
                started_at=MORNING,
                ended_at=MORNING + timedelta(hours=1),
                by=by,
            )
            for step in STEPS[:reached]
        ]
    )


def _measured(plan: models.Plan, by: models.User) -> None:
    step = plan.job.steps.get(stage=Stage.MEASURE.value)
    models.Reading.objects.bulk_create(
        [
            models.Reading(
                cell=position.cell,
                job=plan.job,
                stage=Stage.MEASURE.value,
                step=step,
                point=position.name,
                measure=Measure.REST_VOLTAGE.value,
                value=Decimal(3620),
                measured_at=MORNING + timedelta(hours=1),
                by=by,
            )
            for position in plan.positions.select_related("cell")
        ]
    )


def _joined(plan: models.Plan, by: models.User) -> None:
    places = {(position.group, position.place): position for position in plan.positions.all()}
    models.Joint.objects.bulk_create(
        [
            models.Joint(
                position=places[joint.group, joint.place],
                end=joint.end.value,
                strip=strip.number,
                method=plan.joint_method,
                spots=4,
                made_at=MORNING + timedelta(hours=1),
                made_by=by,
            )
            for strip in layouts.of_plan(plan).strips
            for joint in strip.joints
        ]
    )


def read(cell: models.Cell, measure: Measure, value: int) -> models.Reading:
    """Return a newer reading of a cell."""
    by = UserFactory(username="technician")
    at = MORNING + timedelta(minutes=1)
    return models.Reading.objects.create(cell=cell, measure=measure.value, value=Decimal(value), measured_at=at, by=by)


def searched(row: models.Job, series: int = 4) -> models.FaultSearch:
    """State the pack of a job for fault finding."""
    columns = {"series": series, "chemistry": Chemistry.NMC.value, "switch": BoardSwitch.HIGH_SIDE.value}
    return models.FaultSearch.objects.create(job=row, stated_at=MORNING, stated_by=row.opened_by, **columns)


def probes(row: models.Job, many: int) -> list[models.ProbeReading]:
    """Add readings across the outlet of a job's pack, with a meter each."""
    return [
        models.ProbeReading.objects.create(
            job=row,
            low_point="outlet_negative",
            high_point="outlet_positive",
            circumstance=Circumstance.REST.value,
            value_mv=Decimal(14800),
            instrument=models.Instrument.objects.get_or_create(name=f"meter of probe {number}")[0],
            measured_at=MORNING,
            by=row.opened_by,
        )
        for number in range(many)
    ]


def accepted(job: models.Job, rule_id: str = "final.capacity") -> models.WrittenException:
    """Return a written exception of a job, whatever became of it."""
    row = job.exceptions.standing().filter(rule_id=rule_id).first()
    by = UserFactory(username="lead", roles=(Role.LEAD,))
    return row or models.WrittenException.objects.create(
        job=job, rule_id=rule_id, reason="the customer knows", at=MORNING, by=by
    )


def search(row: models.Job | None) -> models.Task:
    """Return a longer search that waits for its turn, for a job of its own where none is given."""
    row = row or stated(job(Stage.MATCH), 4, 2).job
    by = UserFactory(username="searcher", roles=(Role.TECHNICIAN,))
    asked = {"seconds": 30, "must_not_use": []} | dict.fromkeys(
        ("min_capacity_mah", "max_resistance_ratio", "capacity_window", "ocv_window_mv")
    )
    return models.Task.objects.create(kind="matching", job=row, asked=asked, at=MORNING, by=by)


def photographed(row: models.Job, many: int) -> models.Photograph:
    """Add so many photographs to a job, whatever became of it, and return the last."""
    kept = [photographs.look_at(photograph("JPEG", 3 + shade)) for shade in range(many)]
    for picture in kept:
        files.put(files.path_of(files.Folder.PHOTOGRAPHS, picture.sha256, "jpg"), picture.content)
    return [
        models.Photograph.objects.create(
            job=row,
            stage=Stage.EXAMINE.value,
            shows=f"cells from above, {number}",
            sha256=picture.sha256,
            size=len(picture.content),
            width=picture.width,
            height=picture.height,
            at=MORNING,
            by=UserFactory(username=f"photographer {number}"),
        )
        for number, picture in enumerate(kept)
    ][-1]
