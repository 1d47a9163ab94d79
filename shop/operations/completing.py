"""What nobody knew at the counter and is found out later: serial number, recall, chemistry of a pack that stays closed."""

from datetime import datetime

from packs.terms import Chemistry, Condition, Place, Stage
from shop.bridge import waste
from shop.errors import ShopError
from shop.models import ItemKind, Job, User

from . import log
from .base import EVERYONE, lock_job, moment, save, verb
from .intake import Recall, check_recall, stands_whole, take_outside

NO_RECALL = Recall()
NOTHING = "Write down what is known by now: the serial number, the look for a recall, or the chemistry."


@verb(*EVERYONE)
def complete_intake(
    *,
    job: Job,
    by: User,
    serial: str = "",
    recall: Recall = NO_RECALL,
    chemistry: Chemistry = Chemistry.UNKNOWN,
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """What was not known at the counter is written down once; a pack found to be recalled goes outside if it is whole.

    The chemistry of a pack in a container may come after its job was closed: it leaves later than that.
    """
    at = moment(now)
    serial = serial.strip()
    chemistry_alone = chemistry is not Chemistry.UNKNOWN and not serial and recall == NO_RECALL
    job = lock_job(job, version, closed_too=chemistry_alone)
    _require_open_question(job, serial, recall, chemistry)
    check_recall(recall, at)
    if serial or chemistry is not Chemistry.UNKNOWN:
        job.device.serial = serial or job.device.serial
        job.device.chemistry = job.device.chemistry if chemistry is Chemistry.UNKNOWN else chemistry.value
        save(job.device)
    if recall != NO_RECALL:
        job.recall_source, job.recall_checked_on = recall.source, recall.checked_on
        job.recall_result, job.recalled = recall.result, recall.recalled
    if recall.recalled and stands_whole(job):
        take_outside(job, _condition(job), by, at, note="recalled")
    else:
        job.version += 1
        save(job)
    told = {"serial": serial, "recall": recall.result, "recalled": recall.recalled, "chemistry": chemistry.value}
    log.record("intake completed", by=by, at=at, job=job, **told)
    return job


def open_questions(job: Job) -> list[str]:
    """Return what is still to be found out of a job's device: "serial", "recall", and "chemistry" where its waste asks."""
    if Stage.TAKE_IN not in job.route:
        return []
    answers = {"serial": job.device.serial, "recall": job.recall_source} if job.closed_at is None else {}
    still = [question for question, answer in answers.items() if not answer]
    return [*still, "chemistry"] if _chemistry_is_asked(job) else still


def _chemistry_is_asked(job: Job) -> bool:
    """Whether a pack of the job is on its way out as waste and nobody knows what its cells are."""
    here = job.items.exclude(place__in=[Place.CONSIGNED.value, Place.CUSTOMER.value])
    on_its_way = [item for item in here if job.unopened or item.place in (Place.CONTAINER, Place.OUTSIDE)]
    return bool(waste.without_chemistry(on_its_way))


def _require_open_question(job: Job, serial: str, recall: Recall, chemistry: Chemistry) -> None:
    if Stage.TAKE_IN not in job.route:
        raise ShopError("not_taken_in", f"Nothing came over the counter on job {job.code}.")
    known = chemistry is not Chemistry.UNKNOWN
    given = {"serial": bool(serial), "recall": recall != NO_RECALL, "chemistry": known}
    still = open_questions(job)
    if not any(given.values()):
        raise ShopError("nothing_given", NOTHING, field="chemistry" if still == ["chemistry"] else "serial")
    fields = {"serial": "serial", "recall": "recall_source", "chemistry": "chemistry"}
    for question, answered in given.items():
        if answered and question not in still:
            raise ShopError("known_already", "This is written down already.", field=fields[question])


def _condition(job: Job) -> Condition:
    """A recall says nothing about the single pack: its condition stays what was seen of it."""
    return Condition(job.items.get(kind__in=[ItemKind.DEVICE.value, ItemKind.PACK.value]).condition)
