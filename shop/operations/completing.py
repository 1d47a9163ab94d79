"""What nobody knew at the counter and is found out later: who to call, what the nameplate says, whether it is recalled."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from packs.terms import Chemistry, Condition, Place, Stage
from shop.bridge import waste
from shop.errors import ShopError
from shop.models import Customer, Device, ItemKind, Job, PackAsFound, User

from . import log
from .base import EVERYONE, lock_job, moment, save, verb
from .intake import Recall, check_recall, stands_whole, take_outside
from .possible import require_one_plate, require_stated

NO_RECALL = Recall()
NOTHING = "Write down something that was not known yet: who to call, what the nameplate says, the look for a recall."

REACHED = ("phone", "email")
"""How a customer is reached."""

NAMEPLATE = ("maker", "serial", "rated_voltage_mv", "rated_capacity_mah", "charger_voltage_mv", "chemistry")
"""What a nameplate says that a device may be taken in without."""

FIGURES = ("rated_voltage_mv", "rated_capacity_mah", "charger_voltage_mv")
"""What of it is corrected, with a reason, until the pack is examined."""


@verb(*EVERYONE)
def complete_intake(
    *,
    job: Job,
    by: User,
    serial: str = "",
    maker: str = "",
    rated_voltage_mv: int | None = None,
    rated_capacity_mah: Decimal | None = None,
    charger_voltage_mv: int | None = None,
    chemistry: Chemistry = Chemistry.UNKNOWN,
    phone: str = "",
    email: str = "",
    recall: Recall = NO_RECALL,
    reason: str = "",
    version: int | None = None,
    now: datetime | None = None,
) -> Job:
    """What was not known at the counter is written down once; a pack found to be recalled goes outside if it is whole.

    Voltages and capacity of the nameplate that were misread are corrected with a ``reason`` until the pack is examined.
    The chemistry of a pack in a container may come after its job was closed: it leaves later than that.
    """
    at = moment(now)
    plate: dict[str, Any] = {"maker": maker.strip(), "serial": serial.strip(), "chemistry": chemistry.value}
    plate |= {"rated_voltage_mv": rated_voltage_mv, "rated_capacity_mah": rated_capacity_mah}
    said = _given(plate | {"charger_voltage_mv": charger_voltage_mv, "phone": phone.strip(), "email": email.strip()})
    job = lock_job(job, version, closed_too=set(said) == {"chemistry"} and recall == NO_RECALL)
    _require_open_question(job, said, recall)
    corrected = [name for name in FIGURES if name in said and getattr(job.device, name) is not None]
    if corrected and not reason.strip():
        raise ShopError("reason_missing", "Say why the nameplate is corrected.", field="reason")
    require_stated(said)
    known = vars(job.device) | said
    require_one_plate(known["rated_voltage_mv"], known["charger_voltage_mv"], said.get("rated_capacity_mah"))
    was = {name: str(getattr(job.device, name)) for name in corrected}
    check_recall(recall, at)
    _write(job.device, said, NAMEPLATE)
    _write(job.device.customer, said, REACHED)
    if recall != NO_RECALL:
        job.recall_source, job.recall_checked_on = recall.source, recall.checked_on
        job.recall_result, job.recalled = recall.result, recall.recalled
    if recall.recalled and stands_whole(job):
        take_outside(job, _condition(job), by, at, note="recalled")
    else:
        job.version += 1
        save(job)
    told = {name: str(value) for name, value in said.items() if name != "serial"}
    log.record(
        "intake completed",
        by=by,
        at=at,
        job=job,
        serial=said.get("serial", ""),
        more=told,
        recall=recall.result,
        recalled=recall.recalled,
        **({"was": was, "reason": reason.strip()} if corrected else {}),
    )
    return job


def open_questions(job: Job) -> list[str]:
    """Return what is still to be found out of a job's device and its customer, by column, and "recall"."""
    if Stage.TAKE_IN not in job.route:
        return []
    if job.closed_at is not None:
        return ["chemistry"] if _chemistry_is_asked(job) else []
    device, customer = job.device, job.device.customer
    answers = {name: getattr(device, name) for name in NAMEPLATE} | {name: getattr(customer, name) for name in REACHED}
    known = _given(answers) | ({"recall": job.recall_source} if job.recall_source else {})
    return [question for question in (*NAMEPLATE, *REACHED, "recall") if question not in known]


def correctable(job: Job) -> list[str]:
    """Return the figures of the nameplate that are known and may still be corrected: nothing rests on them yet."""
    examined = PackAsFound.objects.filter(job=job).exists()
    if examined or job.closed_at is not None or Stage.TAKE_IN not in job.route:
        return []
    return [name for name in FIGURES if getattr(job.device, name) is not None]


def _chemistry_is_asked(job: Job) -> bool:
    """Whether a pack of the job is on its way out as waste and nobody knows what its cells are."""
    rows = job.items.select_related("job__device", "job__as_found__cell_model")
    here = rows.exclude(place__in=[Place.CONSIGNED.value, Place.CUSTOMER.value])
    on_its_way = [item for item in here if job.unopened or item.place in (Place.CONTAINER, Place.OUTSIDE)]
    return bool(waste.without_chemistry(on_its_way))


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values that say something."""
    return {name: value for name, value in values.items() if value not in (None, "", Chemistry.UNKNOWN.value)}


def _write(row: Device | Customer, said: Mapping[str, Any], columns: Sequence[str]) -> None:
    if given := {name: said[name] for name in columns if name in said}:
        for name, value in given.items():
            setattr(row, name, value)
        save(row)


def _require_open_question(job: Job, said: Mapping[str, Any], recall: Recall) -> None:
    if Stage.TAKE_IN not in job.route:
        raise ShopError("not_taken_in", f"Nothing came over the counter on job {job.code}.")
    answered = [*said, *(["recall"] if recall != NO_RECALL else [])]
    if not answered:
        raise ShopError(
            "nothing_given", NOTHING, field="chemistry" if open_questions(job) == ["chemistry"] else "serial"
        )
    still = [*open_questions(job), *correctable(job)]
    for question in answered:
        if question not in still:
            field = "recall_source" if question == "recall" else question
            raise ShopError("known_already", "This is written down already.", field=field)


def _condition(job: Job) -> Condition:
    """A recall says nothing about the single pack: its condition stays what was seen of it."""
    return Condition(job.items.get(kind__in=[ItemKind.DEVICE.value, ItemKind.PACK.value]).condition)
