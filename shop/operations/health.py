"""A pack is tested as it is, and nothing is taken out of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import DocumentKind, Measure, Stage
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import Instrument, Job, Reading, Step, StepOutcome, User

from . import log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .possible import require_pack_likely
from .readings import Taken, of_groups, require_count, require_pack_possible, require_possible, write_all
from .steps import StepResult, begin, conclude

END = "end of discharge"
TESTED, DONE = Stage.TEST_PACK, StepOutcome.DONE.value
Read = dict[tuple[str, Measure], Decimal | None]
"""What was read, by point and measure."""


@dataclass(frozen=True, kw_only=True)
class Discharge:
    """One discharge of the whole pack: what it gave, at which current, down to what, how warm."""

    capacity_mah: Decimal | None = None
    current_ma: Decimal | None = None
    end_mv: Decimal | None = None
    temperature_mdegc: Decimal | None = None


@verb(*BENCH)
def record_pack_test(
    *,
    job: Job,
    discharge: Discharge,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    by: User,
    resistance_uohm: Decimal | None = None,
    resistance_method: str = "",
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    version: int | None = None,
    sure: bool = False,
    now: datetime | None = None,
) -> StepResult:
    """What is measured of a pack as it is goes into its health report; what is not is named there too.

    Until the report is issued, what was not measured the first time can be added.
    """
    at = moment(now)
    job = lock_job(job, version)
    adding = may_add(job)
    if not adding:
        require_stage(job, Stage.TEST_PACK)
    found = job.as_found
    readings: list[Taken] = [
        ("pack", Measure.CAPACITY, discharge.capacity_mah),
        ("pack", Measure.CURRENT, discharge.current_ma),
        (END, Measure.VOLTAGE, discharge.end_mv),
        ("pack", Measure.TEMPERATURE, discharge.temperature_mdegc),
        ("pack", Measure.REST_VOLTAGE, pack_rest_mv),
        *of_groups(Measure.REST_VOLTAGE, groups_mv),
        ("pack", Measure.DC_RESISTANCE, resistance_uohm),
    ]
    require_count(found.series, groups_mv)
    known = _known(job) if adding else {}
    new = _not_read_yet(readings, known)
    _require_complete(new, known, resistance_method)
    require_possible({f"group {n}": mv for n, mv in enumerate(groups_mv, start=1)}, found.cell_model)
    require_pack_possible({"pack_rest": pack_rest_mv}, found.cell_model, found.series)
    require_pack_likely(discharge.capacity_mah, found, sure=sure)
    done = job.steps.get(stage=Stage.TEST_PACK.value, outcome=DONE) if adding else None
    step = done or begin(job, TESTED, by=by, at=at, measured_at=measured_at)
    write_all(
        new,
        step=step,
        by=by,
        at=at,
        instrument=instrument,
        methods={Measure.DC_RESISTANCE: resistance_method.strip()},
    )
    read = known | {(point, measure): value for point, measure, value in new}
    findings = rules.pack_test(
        found,
        pack_rest_mv=read.get(("pack", Measure.REST_VOLTAGE)),
        groups_mv=[read.get((f"group {n}", Measure.REST_VOLTAGE)) for n in range(1, found.series + 1)],
        instrument=instrument,
    )
    return _added(step, findings, len(new), by, at) if adding else conclude(step, findings, by=by, at=at)


def may_add(job: Job) -> bool:
    """Whether what was not measured can still be added to a test that is done: until its report is issued."""
    at_its_end = Stage(job.stage) is Stage.HAND_OVER and job.closed_at is None and Stage.TEST_PACK in job.route
    return at_its_end and not job.documents.counting().filter(kind=DocumentKind.HEALTH_REPORT.value).exists()


def _added(step: Step, findings: Sequence[rules.Finding], count: int, by: User, at: datetime) -> StepResult:
    job = step.job
    step.findings = rules.as_json(findings)
    save(step)
    advance(job, Stage(job.stage))
    log.record("pack test completed", by=by, at=at, job=job, count=count)
    return StepResult(step, findings)


def _known(job: Job) -> Read:
    rows = Reading.objects.standing().filter(job=job, stage=Stage.TEST_PACK.value)
    return {(point, Measure(measure)): value for point, measure, value in rows.values_list("point", "measure", "value")}


def _not_read_yet(readings: Sequence[Taken], known: Read) -> list[Taken]:
    """Return the readings that are new; one that was read before is corrected where it stands, not written over."""
    given = [(point, measure, value) for point, measure, value in readings if value is not None]
    for point, measure, value in given:
        if known.get((point, measure), value) != value:
            words = f"{measure.label.capitalize()}, {point}: this was read already. Correct that reading instead."
            raise ShopError("read_already", words)
    return [reading for reading in given if reading[:2] not in known]


def _require_complete(new: Sequence[Taken], known: Read, resistance_method: str) -> None:
    """A figure that says nothing without another one comes with it."""
    if not new:
        raise ShopError("no_readings", "Write down at least one reading; without any there is nothing to report.")
    given = {reading[:2] for reading in new}
    current = ("pack", Measure.CURRENT)
    if ("pack", Measure.CAPACITY) in given and current not in given and current not in known:
        raise ShopError("current_missing", "Say at which current it was discharged.", field="current")
    if ("pack", Measure.DC_RESISTANCE) in given and not resistance_method.strip():
        raise ShopError("method_missing", "Say how the resistance was measured.", field="method")
