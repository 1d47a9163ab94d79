"""How the shop's own limits came about."""

from dataclasses import dataclass
from datetime import datetime

from shop.bridge import limits, rules
from shop.models import ShopLimit


@dataclass(frozen=True)
class LimitChange:
    """One change of a limit, as it is told: what, from what to what, why, who, when."""

    number: int
    rule_id: str
    quantity: str
    old: str
    new: str
    back: bool
    reason: str
    by: str
    at: datetime


def history(locale: str, rule_id: str = "") -> list[LimitChange]:
    """Return the changes of one limit or of all, the newest first."""
    rows = ShopLimit.objects.select_related("by").order_by("-number")
    return [_told(row, locale) for row in (rows.filter(rule_id=rule_id) if rule_id else rows)]


def _told(row: ShopLimit, locale: str) -> LimitChange:
    return LimitChange(
        number=row.number,
        rule_id=row.rule_id,
        quantity=rules.asks_about(row.rule_id),
        old=limits.number_of(row.rule_id, row.old, locale),
        new=limits.number_of(row.rule_id, row.new, locale),
        back=not row.own,
        reason=row.reason,
        by=str(row.by),
        at=row.at,
    )
