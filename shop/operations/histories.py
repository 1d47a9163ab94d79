"""Cells that were used before: evidence of their history, a lead's signature, and what a facility ordered in writing."""

from collections.abc import Sequence
from datetime import datetime

from packs.terms import DeviceClass
from shop.errors import ShopError
from shop.models import FacilityOrder, Job, Lot, LotHistory, LotSignature, User

from . import log
from .base import BENCH, EVERYONE, LEADS, lock_job, moment, save, verb

MOST_CYCLES = 100_000
"""More than any cell lives through; a number above it is another number. Common practice, no source."""


@verb(*BENCH)
def state_history(
    *,
    lot: Lot,
    by: User,
    donor_pack: str = "",
    date_code: str = "",
    cycle_count: int | None = None,
    condition: str = "",
    now: datetime | None = None,
) -> LotHistory:
    """What is known of the history of a lot is stated whole, and anew; the last time counts."""
    at = moment(now)
    row = Lot.objects.select_for_update().get(pk=lot.pk)
    words = {"donor_pack": donor_pack.strip(), "date_code": date_code.strip(), "condition": condition.strip()}
    if cycle_count is None and not any(words.values()):
        raise ShopError("nothing_stated", "Write down what is known of the history of these cells.")
    if cycle_count is not None and not 0 <= cycle_count <= MOST_CYCLES:
        message = f"A cell lives through fewer than {MOST_CYCLES} cycles. Look at the number again."
        raise ShopError("impossible_value", message, field="cycle_count")
    history = save(LotHistory(lot=row, cycle_count=cycle_count, at=at, by=by, **words))
    log.record("history of lot stated", by=by, at=at, lot=row.code, missing=history.missing)
    return history


@verb(*LEADS)
def sign_lot(
    *, lot: Lot, device_classes: Sequence[DeviceClass], by: User, reason: str = "", now: datetime | None = None
) -> LotSignature:
    """A lead signs once for a lot which device classes its used cells may serve; without evidence, also on what that rests."""
    at = moment(now)
    row = Lot.objects.select_for_update().get(pk=lot.pk)
    if DeviceClass.MEDICAL in device_classes:
        raise ShopError(
            "not_for_medical", "Reclaimed cells do not go into a medical device; leave it out.", field="device_classes"
        )
    history = row.histories.last()
    missing = history.missing if history else ["any evidence of history"]
    if device_classes and missing and not reason.strip():
        message = f"On record is not {', not '.join(missing)}: say why these cells may be used all the same."
        raise ShopError("reason_missing", message, field="reason")
    if not device_classes and not reason.strip():
        raise ShopError("reason_missing", "Say why these cells serve no device.", field="reason")
    classes = [one.value for one in DeviceClass if one in device_classes]
    signed = save(LotSignature(lot=row, device_classes=classes, reason=reason.strip(), at=at, by=by))
    log.record("lot signed", by=by, at=at, lot=row.code, device_classes=classes, reason=signed.reason)
    return signed


@verb(*EVERYONE)
def state_order(
    *,
    job: Job,
    facility: str,
    reference: str,
    ordered_cells: str,
    by: User,
    version: int | None = None,
    now: datetime | None = None,
) -> FacilityOrder:
    """Work on a medical device is ordered in writing by the facility that uses it; the order stands with the job."""
    at = moment(now)
    job = lock_job(job, version)
    if job.device.device_class != DeviceClass.MEDICAL:
        raise ShopError("not_medical", "Only work on a medical device asks for the order of a facility.")
    said = {"facility": facility.strip(), "reference": reference.strip(), "ordered_cells": ordered_cells.strip()}
    asks = {
        "facility": "Say which facility ordered it.",
        "reference": "Say which order it is: its number or date.",
        "ordered_cells": "Say which cells it orders, as they are named there.",
    }
    for name, text in said.items():
        if not text:
            raise ShopError("order_incomplete", asks[name], field=name)
    order = save(FacilityOrder(job=job, at=at, by=by, **said))
    log.record("facility order stated", by=by, at=at, job=job, **said)
    return order
