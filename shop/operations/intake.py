"""At the counter: what comes in, what stays outside, what waits for a lead."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from packs.terms import (
    OWNER_AGREED,
    Chemistry,
    Condition,
    DangerLevel,
    DangerSign,
    DeviceClass,
    JobKind,
    Owner,
    Place,
    Stage,
)
from shop.bridge import worth
from shop.errors import ShopError
from shop.models import Cell, Customer, Device, ItemKind, Job, User
from shop.selectors import faults

from . import areas, book, danger_at_work, log, steps
from .base import EVERYONE, LEADS, advance, lock_job, moment, require_stage, save, verb
from .giving_up import free_plan
from .opening import CellCount, PackSize, bring_in_device, condition_of, danger_level, open_job
from .possible import refuse_all, require_one_plate, require_stated

AT_THE_COUNTER = (JobKind.REBUILD, JobKind.GROUP_REPAIR, JobKind.TEST_ONLY, JobKind.TAKE_BACK)
"""What a device can be taken in for."""

GOES_BACK = "goes back without a rebuild"
DECLINABLE = (Stage.EXAMINE, Stage.TEST_PACK, Stage.TARGET, Stage.MATCH, Stage.DISMANTLE)


@dataclass(frozen=True, kw_only=True)
class Nameplate:
    """What the device's nameplate says."""

    model: str
    device_class: DeviceClass
    maker: str = ""
    serial: str = ""
    rated_voltage_mv: int | None = None
    rated_capacity_mah: Decimal | None = None
    charger_voltage_mv: int | None = None
    chemistry: Chemistry = Chemistry.UNKNOWN


@dataclass(frozen=True, kw_only=True)
class Recall:
    """Where and when somebody looked for a recall, and what was found."""

    source: str = ""
    checked_on: date | None = None
    result: str = ""
    recalled: bool = False


@verb(*EVERYONE)
def take_in(
    *,
    customer_name: str,
    nameplate: Nameplate,
    signs: Iterable[DangerSign],
    by: User,
    kind: JobKind = JobKind.REBUILD,
    removed_owner: Owner | None = None,
    count: CellCount | None = None,
    size: PackSize | None = None,
    customer: Customer | None = None,
    phone: str = "",
    email: str = "",
    complaint: str = "",
    recall: Recall | None = None,
    now: datetime | None = None,
) -> Job:
    """The danger signs are asked before the pack crosses the door; what they say decides where it goes."""
    at = moment(now)
    if kind not in AT_THE_COUNTER:
        raise ShopError("wrong_kind", f"A {kind.label} does not begin at the counter.", field="kind")
    recall = recall or Recall()
    check_recall(recall, at)
    require_stated(vars(nameplate))
    require_one_plate(nameplate.rated_voltage_mv, nameplate.charger_voltage_mv, nameplate.rated_capacity_mah)
    owner = customer or save(Customer(name=customer_name.strip(), phone=phone, email=email, created_at=at))
    job = Job(
        device=save(Device(customer=owner, **vars(nameplate))),
        complaint=complaint,
        kind=kind.value,
        removed_owner=(removed_owner or _owner_by(kind)).value,
        recall_source=recall.source,
        recall_checked_on=recall.checked_on,
        recall_result=recall.result,
        recalled=recall.recalled,
    )
    open_job(job, signs, by=by, at=at)
    bring_in_device(job, count or CellCount(), by=by, at=at, size=size)
    return job


@verb(*LEADS)
def clear_amber(*, job: Job, findings: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """An amber pack goes on only after a lead has looked at it and written down what was found."""
    at = moment(now)
    job = lock_job(job, version)
    written = _written_findings(job, findings)
    job.findings, job.cleared_by, job.cleared_at = written, by, at
    job.version += 1
    save(job)
    for item in job.items.filter(kind=ItemKind.DEVICE.value):
        item.condition = Condition.INTACT.value
        book.move(item, Place.COUNTER, by=by, at=at, job=job, note="cleared by a lead")
        areas.require_room_for(item)
    log.record("cleared by lead", by=by, at=at, job=job, findings=job.findings)
    return job


@verb(*LEADS)
def condemn(*, job: Job, findings: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """An amber pack that a lead does not let go to the bench stays closed: only disposal remains."""
    at = moment(now)
    job = lock_job(job, version)
    written = _written_findings(job, findings)
    job.findings = written
    take_outside(job, Condition.DAMAGED, by, at, note="not let to the bench by a lead")
    log.record("not let to the bench", by=by, at=at, job=job, findings=job.findings)
    return job


@verb(*EVERYONE)
def report_danger(
    *,
    job: Job,
    signs: Iterable[DangerSign],
    by: User,
    in_device: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """A red sign seen at any stage takes the pack outside in one piece: from there only disposal remains.

    Nobody takes an open or a new pack apart for it. ``in_device`` is said of a new pack that sits in its device.
    """
    at = moment(now)
    job = lock_job(job, version, frozen_too=True)
    signs = sorted(set(signs))
    if danger_level(signs) != DangerLevel.RED:
        raise ShopError("no_red_sign", "Say which danger sign you see.", field="signs")
    to_disposal(job, signs, in_device=in_device, by=by, at=at)
    return job


def to_disposal(job: Job, signs: Sequence[DangerSign], *, by: User, at: datetime, in_device: bool = False) -> None:
    """A pack goes outside for its signs, however far its job is, as part of an operation."""
    job.danger_signs = sorted({*job.danger_signs, *(sign.value for sign in signs)})
    if stands_whole(job):
        take_outside(job, condition_of(signs), by, at, note=danger_at_work.SEEN)
    else:
        pack = danger_at_work.require_whole(job)
        danger_at_work.take_outside(job, pack, signs, in_device=in_device, by=by, at=at)
    log.record("danger sign seen", by=by, at=at, job=job, signs=[sign.value for sign in signs])


@verb(*EVERYONE)
def decline(*, job: Job, reason: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """Where a rebuild makes no sense the device goes back unopened; the job says why and waits for who takes it."""
    at = moment(now)
    job = lock_job(job, version)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the pack is not rebuilt.", field="reason")
    if job.danger_level == DangerLevel.RED:
        raise ShopError("red", "A pack with a red danger sign is not handed back over the counter.")
    require_stage(job, *DECLINABLE)
    if not stands_whole(job):
        raise ShopError("pack_open", "There is no unopened pack to return: give the build up instead.")
    freed = free_plan(job)
    steps.give_up(job, by=by, at=at)
    job.goes_back_from = job.stage
    advance(job, Stage.HAND_OVER)
    known = worth.found_by(faults.standing(job))
    found = {"found": [" and ".join(one) for one in known.explanations]} if known else {}
    log.record(GOES_BACK, by=by, at=at, job=job, reason=reason.strip(), freed=freed, **found)
    return job


def stands_whole(job: Job) -> bool:
    """Whether the pack of a job is in the shop as it came in, not opened."""
    inside = job.items.filter(place__in=[Place.COUNTER.value, Place.QUARANTINE.value, Place.BENCH.value])
    return inside.exists() and not Cell.objects.removed_from_pack_of(job).exists()


def _written_findings(job: Job, findings: str) -> str:
    """Return what a lead wrote of a pack that waits for it; refuse where none waits, or nothing was written."""
    if not job.held:
        raise ShopError("not_held", f"Job {job.code} does not wait for findings.", job=job.code)
    if not findings.strip():
        raise ShopError("findings_missing", "Write down what you looked at and what you found.", field="findings")
    return findings.strip()


def take_outside(job: Job, condition: Condition, by: User, at: datetime, *, note: str) -> None:
    """The pack of a job goes outside and stays closed: only disposal remains."""
    job.danger_level, job.stage = DangerLevel.RED.value, Stage.REMOVED.value
    job.goes_back_from = job.parked_in = ""
    job.version += 1
    save(job)
    free_plan(job)
    steps.give_up(job, by=by, at=at)
    for item in job.items.all():
        item.condition = condition.value
        book.move(item, Place.OUTSIDE, by=by, at=at, job=job, note=note)


def _owner_by(kind: JobKind) -> Owner:
    """Return whose the cells are where nobody had to agree on it: a pack not opened, or one left here for good."""
    if kind in OWNER_AGREED:
        raise ShopError("owner_missing", "Agree on whose the removed cells will be.", field="removed_owner")
    return Owner.SHOP if kind is JobKind.TAKE_BACK else Owner.CUSTOMER


def check_recall(recall: Recall, at: datetime) -> None:
    """A look for a recall is written down whole or not at all, and was not made on a day still to come."""
    if recall == Recall():
        return
    still_ahead = recall.checked_on is not None and recall.checked_on > timezone.localdate(at)
    ahead = "This day is still to come. Write the day on which somebody looked." if still_ahead else ""
    given = {"source": recall.source, "checked_on": recall.checked_on, "result": recall.result}
    missing = "Write this down too: where you looked, on which day, what you found."
    refuse_all(
        ("future_date", {"recall_checked_on": ahead}),
        ("recall_incomplete", {f"recall_{name}": "" if value else missing for name, value in given.items()}),
    )
