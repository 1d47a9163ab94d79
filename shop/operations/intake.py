"""At the counter: what comes in, what stays outside, what waits for a lead."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max
from django.utils import timezone

from packs.terms import AMBER_SIGNS, RED_SIGNS, Condition, DangerLevel, DangerSign, DeviceClass, Owner, Place, Stage
from shop.errors import ShopError
from shop.models import Cell, CountBasis, Customer, Device, Item, ItemKind, Job, PlanPosition, PlanState, User

from . import book, log
from .base import EVERYONE, LEADS, lock_job, moment, require_stage, save, verb

DECLINABLE = (Stage.EXAMINE, Stage.TARGET, Stage.MATCH)
BEFORE_OPENING = (*DECLINABLE, Stage.DISMANTLE)
REACTING = frozenset({DangerSign.HOT, DangerSign.SMOKE, DangerSign.HISSING})


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


@dataclass(frozen=True, kw_only=True)
class Recall:
    """Where and when somebody looked for a recall, and what was found."""

    source: str = ""
    checked_on: date | None = None
    result: str = ""
    recalled: bool = False


def danger_level(signs: Iterable[DangerSign]) -> DangerLevel:
    """One red sign is enough for red, one amber sign for amber."""
    seen = set(signs)
    if seen & RED_SIGNS:
        return DangerLevel.RED
    return DangerLevel.AMBER if seen & AMBER_SIGNS else DangerLevel.CLEAR


def condition_of(signs: Iterable[DangerSign]) -> Condition:
    """A pack that heats, smokes or hisses is liable to react; any other sign makes it damaged until cleared."""
    seen = set(signs)
    if seen & REACTING:
        return Condition.REACTIVE
    return Condition.DAMAGED if seen else Condition.INTACT


@verb(*EVERYONE)
def take_in(
    *,
    customer_name: str,
    nameplate: Nameplate,
    signs: Iterable[DangerSign],
    removed_owner: Owner,
    by: User,
    customer: Customer | None = None,
    phone: str = "",
    email: str = "",
    complaint: str = "",
    recall: Recall | None = None,
    now: datetime | None = None,
) -> Job:
    """The danger signs are asked before the pack crosses the door; what they say decides where it goes."""
    at = moment(now)
    signs = sorted(set(signs))
    recall = recall or Recall()
    _check_recall(recall, at)
    owner = customer or save(Customer(name=customer_name.strip(), phone=phone, email=email, created_at=at))
    device = save(Device(customer=owner, **vars(nameplate)))
    level = DangerLevel.RED if recall.recalled else danger_level(signs)
    job = save(
        Job(
            number=(Job.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
            device=device,
            complaint=complaint,
            stage=Stage.REMOVED.value if level == DangerLevel.RED else Stage.EXAMINE.value,
            danger_level=level.value,
            danger_signs=[sign.value for sign in signs],
            recall_source=recall.source,
            recall_checked_on=recall.checked_on,
            recall_result=recall.result,
            recalled=recall.recalled,
            removed_owner=removed_owner.value,
            opened_at=at,
            opened_by=by,
        )
    )
    _bring_in_device(job, condition_of(signs), by, at)
    log.record("taken in", by=by, at=at, job=job, danger=level.value, signs=job.danger_signs)
    return job


@verb(*LEADS)
def clear_amber(*, job: Job, findings: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """An amber pack goes on only after a lead has looked at it and written down what was found."""
    at = moment(now)
    job = lock_job(job, version)
    if not job.held:
        raise ShopError("not_held", f"Job {job.code} does not wait for findings.", job=job.code)
    if not findings.strip():
        raise ShopError("findings_missing", "Write down what you looked at and what you found.", field="findings")
    job.findings, job.cleared_by, job.cleared_at = findings.strip(), by, at
    job.version += 1
    save(job)
    job.items.filter(kind=ItemKind.DEVICE.value).update(condition=Condition.INTACT.value)
    log.record("cleared by lead", by=by, at=at, job=job, findings=job.findings)
    return job


@verb(*EVERYONE)
def report_danger(
    *, job: Job, signs: Iterable[DangerSign], by: User, version: int | None = None, now: datetime | None = None
) -> Job:
    """A red sign seen later takes the pack outside: from there only disposal remains."""
    at = moment(now)
    job = lock_job(job, version)
    signs = sorted(set(signs))
    if danger_level(signs) != DangerLevel.RED:
        raise ShopError("no_red_sign", "Say which danger sign you see.", field="signs")
    if _opened(job) or Stage(job.stage) not in BEFORE_OPENING:
        raise ShopError(
            "pack_open", "The pack is open already: set the single cells aside as damaged at the dismantling step."
        )
    job.danger_level, job.stage = DangerLevel.RED.value, Stage.REMOVED.value
    job.danger_signs = sorted({*job.danger_signs, *(sign.value for sign in signs)})
    job.version += 1
    save(job)
    _give_up_plan(job)
    for item in job.items.filter(kind=ItemKind.DEVICE.value):
        item.condition = condition_of(signs).value
        book.move(item, Place.OUTSIDE, by=by, at=at, job=job, note="danger sign seen")
    log.record("danger sign seen", by=by, at=at, job=job, signs=[sign.value for sign in signs])
    return job


@verb(*EVERYONE)
def decline(*, job: Job, reason: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """Where a rebuild makes no sense the device goes back unopened, and the job says why."""
    at = moment(now)
    job = lock_job(job, version)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the pack is not rebuilt.", field="reason")
    if job.danger_level == DangerLevel.RED:
        raise ShopError("red", "A pack with a red danger sign is not handed back over the counter.")
    require_stage(job, *DECLINABLE)
    if _opened(job):
        raise ShopError("pack_open", "The pack is taken apart already; it cannot go back as it came.")
    for item in job.items.filter(kind=ItemKind.DEVICE.value):
        book.move(item, Place.CUSTOMER, by=by, at=at, job=job, note="returned without a rebuild")
    _give_up_plan(job)
    job.closed_at = at
    job.version += 1
    save(job)
    log.record("returned without a rebuild", by=by, at=at, job=job, reason=reason.strip())
    return job


def _opened(job: Job) -> bool:
    return Cell.objects.filter(lot__donor_job=job).exists()


def _give_up_plan(job: Job) -> None:
    """Cells that were held for the job are free again."""
    PlanPosition.objects.filter(plan__job=job).update(open=False)
    job.plans.update(state=PlanState.ABANDONED.value)


def _check_recall(recall: Recall, at: datetime) -> None:
    if recall.checked_on and recall.checked_on > timezone.localdate(at):
        raise ShopError("future_date", "The recall check lies in the future.", field="recall_checked_on")
    if recall.recalled and not recall.result:
        raise ShopError("recall_result_missing", "Say what the recall is about.", field="recall_result")


def _bring_in_device(job: Job, condition: Condition, by: User, at: datetime) -> None:
    outside = job.danger_level == DangerLevel.RED
    item = save(
        Item(
            job=job,
            kind=ItemKind.DEVICE.value,
            description=f"{job.device} with its pack",
            count_basis=CountBasis.UNKNOWN.value,
            condition=condition.value,
            place=(Place.OUTSIDE if outside else Place.COUNTER).value,
        )
    )
    book.bring_in(item, by=by, at=at, job=job)
