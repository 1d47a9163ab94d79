"""Limits that the shop sets for itself: tighter always, looser only what is its own practice; every change stays written."""

from datetime import datetime
from decimal import Decimal

from shop.bridge import limits
from shop.errors import ShopError
from shop.models import ShopLimit, User

from . import log
from .base import LEADS, moment, save, verb


@verb(*LEADS)
def set_limit(
    *, rule_id: str, reason: str, by: User, value: Decimal | None = None, now: datetime | None = None
) -> ShopLimit:
    """A limit is changed by a lead, with the reason; without a number it is what the catalogue says again.

    The number is in the unit in which the rule compares.
    """
    at = moment(now)
    rule = limits.one(rule_id)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the limit is changed.", field="reason")
    before, after = limits.counting(rule), limits.catalogue(rule) if value is None else value
    if doubt := limits.doubt(rule, after):
        raise ShopError("limit_refused", doubt, field="value")
    last = ShopLimit.objects.select_for_update().order_by("number").last()
    row = save(
        ShopLimit(
            number=last.number + 1 if last else 1,
            rule_id=rule.id,
            old=before,
            new=round(after, 3),
            own=value is not None,
            reason=reason.strip(),
            at=at,
            by=by,
        )
    )
    log.record("limit changed", by=by, at=at, rule=rule.id, old=str(before), new=str(after), reason=row.reason)
    return row
