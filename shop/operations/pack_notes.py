"""The shop's own book per pack model: what was learnt on one job is there at the next."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import ContactKind, DangerLevel, JobKind, Opening, Stage
from packs.units import show, ureg
from shop.bridge import worth
from shop.bridge.nameplate import key_of
from shop.errors import ShopError
from shop.models import CellModel, Job, PackAsFound, PackDetails, PackNotes, PackTime, Plan, PlanState, User
from shop.selectors import faults

from . import log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .possible import require_arrangement, require_stated

AT_THE_END = (Stage.HAND_OVER,)
BLANK: tuple[object, ...] = (None, "", [], Opening.UNKNOWN.value)
NEAR_25 = range(24_000, 26_001)
"""So warm [m°C] a sensor's value is written down as that at 25 °C; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Learnt:
    """What is known of a pack model by now."""

    opens: Opening = Opening.UNKNOWN
    opening: str = ""
    series: int | None = None
    parallel: int | None = None
    cell_model: CellModel | None = None
    strips: str = ""
    board: str = ""
    sensor_ohm: Decimal | None = None
    usual_fault: str = ""


@verb(*BENCH)
def write_notes(
    *, job: Job, learnt: Learnt, by: User, version: int | None = None, now: datetime | None = None
) -> PackNotes:
    """Notes belong to the nameplate of a job's device; the next one of its kind finds them at the counter."""
    at = moment(now)
    job = _workable(job, version)
    require_stated({"sensor_ohm": learnt.sensor_ohm})
    if learnt.series is not None and learnt.parallel is not None:
        require_arrangement(learnt.series, learnt.parallel)
    row = _notes(job, by, at)
    if (learnt.series, learnt.parallel) != (row.series, row.parallel):
        row.counts = []
    for name, value in vars(learnt).items():
        setattr(row, name, value.strip() if type(value) is str else value)
    row.written_at, row.written_by = at, by
    save(row)
    log.record("pack notes written", by=by, at=at, job=job, pack=str(row))
    return row


@verb(*BENCH)
def note_time(*, job: Job, minutes: int, by: User, version: int | None = None, now: datetime | None = None) -> PackTime:
    """A finished job adds the labour it truly took; noted again, the last time counts."""
    at = moment(now)
    job = _workable(job, version)
    require_stage(job, *AT_THE_END)
    require_stated({"minutes": minutes})
    row = _notes(job, by, at)
    time = save(PackTime(notes=row if row.pk else save(row), job=job, minutes=minutes, at=at, by=by))
    advance(job, Stage(job.stage))
    log.record("labour time noted", by=by, at=at, job=job, minutes=minutes)
    return time


def learn(job: Job, *, by: User, at: datetime) -> None:
    """A job that ends adds to the notes what was found in the pack and built, where they say nothing of it yet."""
    found = PackAsFound.objects.filter(job=job).select_related("cell_model").first()
    if found is None:
        return
    row, seen = _notes(job, by, at), PackDetails.objects.filter(job=job).last()
    told = {
        "opens": seen.opens if seen else Opening.UNKNOWN.value,
        "opening": found.housing,
        "cell_model": found.cell_model,
        "board": found.board,
        "strips": _strips(job),
        "sensor_ohm": _at_25_degc(seen),
        "usual_fault": _fault(job),
    }
    if row.series is None:
        told |= {"series": found.series, "parallel": found.fullest, "counts": found.counts}
    new = {name: value for name, value in told.items() if value not in BLANK and getattr(row, name) in BLANK}
    if not new:
        return
    for name, value in new.items():
        setattr(row, name, value)
    row.written_at, row.written_by = at, by
    save(row)
    log.record("pack notes completed", by=by, at=at, job=job, pack=str(row))


def _fault(job: Job) -> str:
    """Return what explains the readings of the search; nothing where none was made, or it left open which it is."""
    found = worth.found_by(faults.standing(job))
    return " and ".join(found.explanations[0])[:400] if found and len(found.explanations) == 1 else ""


def _strips(job: Job) -> str:
    """Return strip and leads of the pack that was built; nothing where none was."""
    plan = Plan.objects.filter(job=job, state=PlanState.BUILT.value).first()
    if plan is None:
        return ""
    sides = (plan.strip_width_um, plan.strip_thickness_um)
    width, thickness = (show(ureg.Quantity(um / 1000, "mm"), locale="en") for um in sides)
    layers = f", {plan.strip_layers} layers" if (plan.strip_layers or 1) > 1 else ""
    lead = (
        f"; leads {show(ureg.Quantity(plan.lead_area_um2 / 1e6, 'mm**2'), locale='en')}" if plan.lead_area_um2 else ""
    )
    return f"{plan.get_strip_material_display()}, {width} × {thickness}{layers}{lead}"


def _at_25_degc(seen: PackDetails | None) -> Decimal | None:
    """Return what the sensor read near 25 °C; None where there is none, or it was read at another temperature."""
    sensors = [one for one in (seen.contacts if seen else []) if one["kind"] == ContactKind.SENSOR]
    read = [one["ohm"] for one in sensors if one["ohm"] and one["mdegc"] in NEAR_25]
    return Decimal(read[0]) if read else None


def _workable(job: Job, version: int | None) -> Job:
    job = lock_job(job, version)
    require_stage(job, *Stage)
    if job.danger_level == DangerLevel.RED or job.kind == JobKind.FOR_STOCK:
        raise ShopError("no_pack_of_a_customer", "Notes are kept of packs that came in and were worked on.")
    return job


def _notes(job: Job, by: User, at: datetime) -> PackNotes:
    """Return the notes of the nameplate, or new ones."""
    maker, model = job.device.maker, job.device.model
    key = key_of(maker, model)
    fresh = PackNotes(key=key, maker=maker, model=model, written_at=at, written_by=by)
    return PackNotes.objects.select_for_update().filter(key=key).first() or fresh
