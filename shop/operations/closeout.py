"""The hand-over: papers out, everything accounted for, the device with its owner again."""

from datetime import datetime

from packs.terms import DangerLevel, DocumentKind, Place, Stage
from shop.bridge import rules
from shop.errors import Held, ShopError
from shop.models import Cell, ItemKind, Job, PlanState, User

from . import book, disposal, log
from .base import EVERYONE, lock_job, moment, require_stage, save, standing_plan, verb


@verb(*EVERYONE)
def hand_over(*, job: Job, received_by: str, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """A job closes with its papers issued, every removed item gone its way, and a name for who took the device."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.HAND_OVER)
    disposal_only = job.danger_level == DangerLevel.RED
    if not received_by.strip() and not disposal_only:
        raise ShopError("receiver_missing", "Write down who takes the device.", field="received_by")
    if stops := rules.stopping(hold_points(job)):
        raise Held(stops)
    if not disposal_only:
        _give_back(job, by, at)
    job.closed_at = at
    job.version += 1
    save(job)
    log.record("handed over" if not disposal_only else "closed by disposal", by=by, at=at, job=job, to=received_by)
    return job


def hold_points(job: Job) -> list[rules.Finding]:
    """What still stands between a job and its hand-over."""
    issued = set(job.documents.values_list("kind", flat=True))
    return rules.hand_over(
        waiting=disposal.waiting(job),
        rebuilt=job.danger_level != DangerLevel.RED,
        report_issued=DocumentKind.TEST_REPORT.value in issued,
        note_due=note_due(job),
        note_issued=_note_covers_all(job),
    )


def note_due(job: Job) -> bool:
    """Whether anything of the job went into a container or out with a carrier."""
    gone = [Place.CONTAINER.value, Place.CONSIGNED.value]
    return Cell.objects.filter(lot__donor_job=job, place__in=gone).exists() or job.items.filter(place__in=gone).exists()


def _note_covers_all(job: Job) -> bool:
    """Whether a disposal note was issued after the last thing of the job had gone its way."""
    notes = job.documents.filter(kind=DocumentKind.DISPOSAL_NOTE.value)
    last = job.movements.filter(to_place__in=[Place.CONTAINER.value, Place.CONSIGNED.value]).last()
    return notes.exists() if last is None else notes.filter(issued_at__gte=last.at).exists()


def _give_back(job: Job, by: User, at: datetime) -> None:
    plan = standing_plan(job)
    for position in plan.positions.select_related("cell"):
        book.move(position.cell, Place.CUSTOMER, by=by, at=at, job=job, note="in the rebuilt pack")
    plan.positions.update(open=False)
    plan.state = PlanState.BUILT.value
    save(plan)
    for item in job.items.filter(kind=ItemKind.DEVICE.value):
        book.move(item, Place.CUSTOMER, by=by, at=at, job=job, note="handed over")
