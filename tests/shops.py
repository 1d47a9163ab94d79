"""Two kinds of shop to visit every page of: the demo's, and one that holds so many of everything."""

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from packs.terms import (
    STEPS,
    Condition,
    DangerLevel,
    DangerSign,
    DocumentKind,
    JobKind,
    Measure,
    OldTabs,
    Owner,
    Place,
    Role,
    Stage,
    Stubs,
    Wrap,
)
from shop import models
from shop.bridge import exceptions, pictures, rules
from shop.demo import history
from shop.operations import cell_testing, documents, goods_in, many_files, preparing, returns, testers, voiding
from shop.web import uploads

from . import line, rows
from .factories import (
    MORNING,
    CellFactory,
    CellModelFactory,
    CustomerFactory,
    DeviceFactory,
    LotFactory,
    SettingsFactory,
    UserFactory,
)
from .packs.traces.made import edited
from .pictures import scene, written


@dataclass(frozen=True)
class Things:
    """What a shop holds, as far as addresses name it; ``late`` is a job that has been through every step."""

    jobs: dict[Stage, int]
    late: int
    held: int
    red: int
    reacting: int
    cell: str
    reading: int
    lot: str
    container: str
    container_pk: int
    consignment: int
    document: str
    tester: int
    trace: int
    waiting: str
    probe: int
    photograph: int
    exception: int
    incident: int
    channel: int
    files_task: int
    print_pk: int
    print_of_lot: int
    run: int

    def at(self, stage: Stage) -> int:
        """Return the number of a job at a stage; where there is none, of one that is past it."""
        return self.jobs.get(stage, self.late)


def demo() -> Things:
    """Build the demo's shop, with one more pack that is liable to react."""
    history.build()
    red = line.take_in(signs=[DangerSign.HOT])
    late = models.Job.objects.filter(closed_at__isnull=False).get()
    returns.take_in_return(returned=late, signs=[], removed_owner=Owner.SHOP, by=line.technician())
    closed_stock = line.to_the_end(line.job_at(Stage.INTO_STOCK))
    assert closed_stock.closed_at
    for stage in (Stage.TEST_PACK, Stage.INTO_STOCK):
        line.job_at(stage)
    open_jobs = models.Job.objects.open().exclude(danger_level=DangerLevel.RED.value)
    held = open_jobs.get(danger_level=DangerLevel.AMBER.value)
    reading = models.Reading.objects.filter(cell__isnull=False).first()
    container = models.Container.objects.exclude(cells=None).filter(condition="intact").first()
    assert container is not None
    assert reading is not None
    assert reading.cell is not None
    return Things(
        jobs={Stage(job.stage): job.number for job in open_jobs.exclude(pk=held.pk)},
        late=late.number,
        held=held.number,
        red=red.number,
        reacting=red.items.get().pk,
        cell=reading.cell.code,
        reading=reading.pk,
        lot=reading.cell.lot.code,
        container=container.code,
        container_pk=container.pk,
        consignment=line.consigned(container).number,
        document=late.documents.filter(kind=DocumentKind.TEST_REPORT.value).get().code,
        tester=tester("rack 1").pk,
        trace=_kept(reading.cell, 0).pk,
        waiting=uploads.keep(_run(0.5)),
        probe=_probes(open_jobs.exclude(pk=held.pk).filter(stage=Stage.EXAMINE.value).order_by("number").first(), 4),
        photograph=rows.photographed(late, 2).pk,
        exception=rows.accepted(late).pk,
        incident=_incidents(1),
        **_bench(reading.cell, 1),
    )


def tester(name: str) -> models.TesterToken:
    """Issue a key to a tester."""
    meter = models.Instrument.objects.get_or_create(name=f"meter of {name}")[0]
    lead = UserFactory(username="lead", roles=(Role.LEAD, Role.TECHNICIAN))
    return testers.issue_token(name=name, instrument=meter, by=lead)[0]


def _testers(many: int) -> models.TesterToken:
    return [tester(f"rack {many}-{number}") for number in range(many)][-1]


def grown(many: int) -> Things:
    """Add so many of everything to the shop, and return what its addresses can name."""
    technician = UserFactory(username="technician", roles=(Role.TECHNICIAN,))
    jobs = {stage: _job_with_rows(stage, many) for stage in (*STEPS, Stage.REMOVED, Stage.HAND_OVER)}
    for stage in (Stage.EXAMINE, Stage.TARGET, Stage.MATCH):
        jobs[stage] = rows.job(stage, device=DeviceFactory(customer=CustomerFactory(name=f"Ida Moor {many}")))
    rows.found(jobs[Stage.TARGET], many, 1)
    rows.stated(jobs[Stage.MATCH], many, 1)
    jobs[Stage.TEST_PACK] = rows.job(Stage.TEST_PACK, kind=JobKind.TEST_ONLY.value)
    rows.found(jobs[Stage.TEST_PACK], many, 1)
    jobs[Stage.INTO_STOCK] = rows.planned(many, 2, Stage.INTO_STOCK).job
    models.Job.objects.filter(pk=jobs[Stage.INTO_STOCK].pk).update(kind=JobKind.FOR_STOCK.value)
    late = _job_with_rows(Stage.HAND_OVER, many)
    _papers(late, many, technician)
    models.Job.objects.filter(pk=late.pk).update(closed_at=MORNING)
    held = rows.job(Stage.EXAMINE, danger_level=DangerLevel.AMBER.value)
    red = rows.job(Stage.REMOVED, danger_level=DangerLevel.RED.value)
    reacting = _items(red, many)
    cell = _furniture(many, technician)
    return Things(
        jobs={stage: job.number for stage, job in jobs.items()},
        late=late.number,
        held=held.number,
        red=red.number,
        reacting=reacting.pk,
        cell=cell.code,
        reading=cell.readings.first().pk,
        lot=cell.lot.code,
        container=f"W{many}-0",
        container_pk=models.Container.objects.get(code=f"W{many}-0").pk,
        consignment=many,
        document=late.documents.first().code,  # type: ignore[union-attr]
        tester=_testers(many).pk,
        trace=_kept(cell, many).pk,
        waiting=uploads.keep(_run(many + 0.5)),
        probe=_probes(jobs[Stage.EXAMINE], many),
        photograph=[rows.photographed(job, many).pk for job in (*jobs.values(), late)][-1],
        exception=_exceptions([late, *jobs.values()], many),
        incident=_incidents(many),
        **_bench(cell, many),
    )


def _exceptions(jobs: list[models.Job], many: int) -> int:
    """Accept so many rules in writing on each of the jobs, and set as many limits; return an exception of the first job."""
    # The last ones of the catalogue: of the first, one decides what a page asks for.
    for rule in [rule.id for rule in exceptions.acceptable()][-many:]:
        for job in jobs:
            rows.accepted(job, rule)
    last = models.ShopLimit.objects.count()
    for number in range(last + 1, last + many + 1):
        columns = {"rule_id": "ladder.tap", "old": 100, "new": 90, "reason": "good meters", "by": UserFactory()}
        models.ShopLimit.objects.create(number=number, at=MORNING, **columns)
    return rows.accepted(jobs[0]).pk


def _incidents(many: int) -> int:
    """Write so many incidents down, of no job, and release all but one."""
    columns = {"kind": "heat", "happened": "a charger smelled", "happened_at": MORNING, "at": MORNING}
    made = [models.Incident.objects.create(by=UserFactory(), **columns) for _ in range(many + 1)]
    for row in made[1:]:
        models.IncidentRelease.objects.create(incident=row, findings="a loose plug", at=MORNING, by=row.by)
    return made[0].pk


def _bench(cell: models.Cell, many: int) -> dict[str, int]:
    """Add so many channels with a cell in each, so many that wait and that are over; return a channel and a test that waits."""
    by = line.technician()
    meter = models.Instrument.objects.create(name=f"rack tester {many}")
    job = models.Job.objects.order_by("pk").first()
    columns = {"job": job, "queued_at": MORNING, "by": by}
    times = {"began_at": MORNING, "due_at": MORNING + timedelta(hours=9)}
    known = {"capacity_mah": Decimal(2500), "conditions": "mean of 3 tests", "at": MORNING, "by": by}
    for number in range(many):
        codes = [f"{word}{many}-{number}" for word in ("BK", "BR", "BW", "BO")]
        check, runs, waits, over = (CellFactory(code=code, lot=cell.lot, readings={}) for code in codes)
        kept = models.CheckCell.objects.create(cell=check, **known)
        channel = models.Channel.objects.create(instrument=meter, name=str(number))
        models.CheckReading.objects.create(
            channel=channel, check_cell=kept, capacity_mah=2490, agrees=True, at=MORNING, by=by
        )
        models.ChannelRun.objects.create(cell=runs, state="running", channel=channel, **times, **columns)
        waiting = models.ChannelRun.objects.create(cell=waits, **columns)
        ended = {"state": "passed", "ended_at": timezone.now()}
        models.ChannelRun.objects.create(cell=over, channel=channel, **ended, **times, **columns)
    files = [{"name": f"BR{many}-{number}.csv", "sha256": "0" * 64} for number in range(many)]
    became = [{**vars(many_files.Became(one["name"], many_files.REFUSED, "cut short"))} for one in files]
    task = models.Task.objects.create(
        kind="tester_files", asked={"files": files}, answer=became, state="done", by=by, at=MORNING
    )
    how = {"tabs": OldTabs.NONE, "stubs": Stubs.NONE, "wrapper": Wrap.REPLACED, "insulator": Wrap.INTACT}
    developed = pictures.develop(written(scene()))
    (done,) = preparing.prepare_cells(cells=[waits], printed="Round 2.6", picture=developed, **how, by=by)
    bought = goods_in.check_lot(lot=waits.lot, picture=developed, by=by)
    prints = {"print_pk": done.pk, "print_of_lot": bought.pk}
    return {"channel": channel.pk, "run": waiting.pk, "files_task": task.pk, **prints}


def _probes(job: models.Job | None, many: int) -> int:
    assert job is not None
    rows.searched(job)
    return rows.probes(job, many)[0].pk


def _run(number: float) -> bytes:
    """A tester file that no other shop of these tests has."""
    return edited("voltage", 0, 3.3 + number / 1000)


def _kept(cell: models.Cell, many: int) -> models.TraceFile:
    """Keep a tester file of a cell, and so many more whose bytes nobody asks for; one of them gave a reading."""
    content, by = _run(many), line.technician()
    understood = cell_testing.look_at(content=content, model=cell.lot.cell_model)
    kept = cell_testing.keep_trace(cell=cell, name="run.csv", content=content, understood=understood, by=by)
    columns = {"cell": cell, "size": 1, "rows": 2, "layout_name": "", "layout": {}, "at": MORNING, "by": by}
    repair = {"code": "time_duplicate", "verdict": "repaired", "message": "Time stamps occur twice.", "count": 1}
    for number in range(many):
        more = models.TraceFile.objects.create(name="run", sha256=f"{many}-{number}", remarks=[repair], **columns)
        cell.readings.create(measure="capacity_mah", value=Decimal(2500), trace=more, measured_at=MORNING, by=by)
    return kept


def _job_with_rows(stage: Stage, many: int) -> models.Job:
    """Return a job at a stage whose pack, removed cells, readings, findings and log hold so many."""
    job = rows.planned(many, 2, stage).job
    left = many if stage is not Stage.DISMANTLE else many - 1
    lot = rows.removed(job, left)[0].lot
    models.Cell.objects.filter(lot=lot, code__endswith="1").update(condition=Condition.DAMAGED.value)
    models.Cell.objects.filter(lot=lot, code__endswith="2").update(condition=Condition.REACTIVE.value)
    for verb in ("cell placed", "reading corrected", "step done"):
        for number in range(many):
            facts = {"cell": f"S{number}", "position": "1.1", "step": "place"}
            models.LogEntry.objects.create(job=job, at=MORNING, by=UserFactory(), verb=verb, facts=facts)
    if stage in STEPS:
        _tries(job, stage, many)
    job.steps.update(findings=rules.as_json(rules.removed_gone(job, 1)) * many)
    return job


def _tries(job: models.Job, stage: Stage, many: int) -> None:
    """Stop so many tries of a step, each with a reading, and one of a step that was done."""
    before = STEPS[max(0, STEPS.index(stage) - 1)]
    for number in range(1, many + 1):
        for tried in {stage, before}:
            columns = {"stage": tried.value, "started_at": MORNING, "ended_at": MORNING, "by": UserFactory()}
            step = job.steps.create(number=number + 1, outcome=models.StepOutcome.STOPPED.value, **columns)
            _read_in(step)


def _read_in(step: models.Step) -> None:
    step.readings.create(
        job=step.job,
        stage=step.stage,
        point="pack",
        measure=Measure.VOLTAGE.value,
        value=Decimal(15200),
        measured_at=MORNING,
        by=step.by,
    )


def _papers(job: models.Job, many: int, by: models.User) -> None:
    report = documents.issue(job=job, kind=DocumentKind.TEST_REPORT, by=by)
    for _ in range(1, many):
        report = voiding.reissue(document=report, reason="a word was wrong", by=by)


def _items(job: models.Job, many: int) -> models.Item:
    columns = {"job": job, "kind": "pack", "description": "pack", "place": Place.OUTSIDE.value}
    items = [models.Item.objects.create(condition=Condition.REACTIVE.value, **columns) for _ in range(many)]
    return items[0]


def _furniture(many: int, by: models.User) -> models.Cell:
    """Add so many people, meters, settings, cell models, lots, containers and cells; return one of the cells."""
    job = rows.job(Stage.HAND_OVER)
    for number in range(many):
        UserFactory(username=f"extra-{many}-{number}", roles=(Role.TECHNICIAN, Role.LEAD))
        models.Instrument.objects.create(name=f"meter {many}-{number}")
        SettingsFactory(name=f"Works {many}-{number}")
        LotFactory(code=f"L{many}-{number}", cell_model=CellModelFactory(name=f"Round {many}-{number}"))
        models.Container.objects.create(code=f"W{many}-{number}", condition="damaged", started_on=MORNING.date())
    container = models.Container.objects.get(code=f"W{many}-0")
    lot = LotFactory(code=f"C{many}")
    rows.cells(many, lot, place=Place.CONTAINER.value, container=container)
    models.Item.objects.bulk_create(
        models.Item(job=job, kind="pack", description="pack", place=Place.CONTAINER.value, container=container)
        for _ in range(many)
    )
    _consigned(many, by)
    cell = rows.cells(many, LotFactory(code=f"K{many}"))[0]
    for number in range(many):
        at = timezone.now() - timedelta(minutes=number)
        cell.readings.create(measure="capacity_mah", value=Decimal(2500), measured_at=at, by=UserFactory())
    return cell


def _consigned(many: int, by: models.User) -> None:
    """Add a consignment of so many containers, and so many others of one each."""
    last = models.Consignment.objects.count()
    for number in range(last + 1, many + 1):
        names = {"carrier": "Vale Haulage", "receiver": "Vale Recycling", "handed_over_by": "a", "taken_by": "b"}
        sent = models.Consignment.objects.create(number=number, left_at=MORNING, by=by, **names)
        for each in range(many if number == many else 1):
            models.Container.objects.create(
                code=f"G{number}-{each}",
                condition="intact",
                started_on=MORNING.date(),
                closed_at=MORNING,
                closed_by=by,
                consigned_at=MORNING,
                consignment=sent,
            )
