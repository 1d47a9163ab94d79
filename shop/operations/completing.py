"""What nobody knew at the counter and is found out later: the serial number, and whether the device is recalled."""

from datetime import datetime

from packs.terms import Condition, Stage
from shop.errors import ShopError
from shop.models import ItemKind, Job, User

from . import log
from .base import EVERYONE, lock_job, moment, save, verb
from .intake import Recall, check_recall, stands_whole, take_outside

NO_RECALL = Recall()


@verb(*EVERYONE)
def complete_intake(
    *,
    job: Job,
    by: User,
    serial: str = "",
    recall: Recall = NO_RECALL,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """What was not known at the counter is written down once; a pack found to be recalled goes outside if it is whole."""
    at = moment(now)
    job = lock_job(job, version)
    serial = serial.strip()
    _require_open_question(job, serial, recall)
    check_recall(recall, at)
    if serial:
        job.device.serial = serial
        save(job.device)
    if recall != NO_RECALL:
        job.recall_source, job.recall_checked_on = recall.source, recall.checked_on
        job.recall_result, job.recalled = recall.result, recall.recalled
    if recall.recalled and stands_whole(job):
        take_outside(job, _condition(job), by, at, note="recalled")
    else:
        job.version += 1
        save(job)
    log.record("intake completed", by=by, at=at, job=job, serial=serial, recall=recall.result, recalled=recall.recalled)
    return job


def open_questions(job: Job) -> list[str]:
    """Return what is still to be found out of a job's device: "serial", "recall"."""
    if job.closed_at is not None or Stage.TAKE_IN not in job.route:
        return []
    answers = {"serial": job.device.serial, "recall": job.recall_source}
    return [question for question, answer in answers.items() if not answer]


def _require_open_question(job: Job, serial: str, recall: Recall) -> None:
    if Stage.TAKE_IN not in job.route:
        raise ShopError("not_taken_in", f"Nothing came over the counter on job {job.code}.")
    given = {"serial": bool(serial), "recall": recall != NO_RECALL}
    if not any(given.values()):
        raise ShopError("nothing_given", "Write down the serial number, or the look for a recall.", field="serial")
    still = open_questions(job)
    fields = {"serial": "serial", "recall": "recall_source"}
    for question, answered in given.items():
        if answered and question not in still:
            raise ShopError("known_already", "This is written down already.", field=fields[question])


def _condition(job: Job) -> Condition:
    """A recall says nothing about the single pack: its condition stays what was seen of it."""
    return Condition(job.items.get(kind__in=[ItemKind.DEVICE.value, ItemKind.PACK.value]).condition)
