"""The rules as they are in force in this shop, and the limits that pages and papers put beside what is written down."""

from packs.errors import ImpossibleValue
from packs.rules import RULES, Acceptance, Own, RuleSet
from packs.rules import Limit as Bounds
from packs.units import Quantity
from shop.models import Job, ShopLimit


def in_force(job: Job | None = None) -> RuleSet:
    """Return the catalogue with the numbers that the shop set, and what was accepted in writing on a job."""
    rows = list(ShopLimit.objects.order_by("number"))
    newest = {row.rule_id: row for row in rows}
    numbers = {name: Own(row.new, row.number) for name, row in newest.items() if row.own and name in RULES}
    return RuleSet(numbers=numbers, exceptions=_accepted(job), records=rows[-1].number if rows else 0)


def _accepted(job: Job | None) -> dict[str, Acceptance]:
    rows = job.exceptions.standing().select_related("by") if job is not None and job.pk else []
    return {row.rule_id: Acceptance(row.pk, str(row.by), row.at.isoformat(), row.reason) for row in rows}


def version() -> str:
    """Return the version of the rules in force."""
    return in_force().version


def own_limit(rule_id: str, rules: RuleSet | None = None) -> Quantity:
    """Return the limit that counts of a rule that has one of itself, which is one quantity."""
    return single((rules or in_force()).limit(rule_id), rule_id)


def single(limit: Bounds | None, rule_id: str) -> Quantity:
    """Return a limit that is one quantity."""
    if limit is None or isinstance(limit, tuple | int):
        raise ImpossibleValue(f"{rule_id} has no single limit of its own")
    return limit


def counted(rules: RuleSet, rule_id: str, outside: Quantity | None) -> Quantity | None:
    """Return how much of a limit from outside counts by a rule; None where there is none."""
    return None if outside is None else single(rules.limit(rule_id, outside), rule_id)


def counted_window(
    rules: RuleSet, rule_id: str, outside: tuple[Quantity, Quantity] | None
) -> tuple[Quantity, Quantity] | None:
    """Return how much of a window from outside counts by a rule; None where there is none."""
    if outside is None:
        return None
    limit = rules.limit(rule_id, outside)
    if not isinstance(limit, tuple):
        raise ImpossibleValue(f"{rule_id} has no window")
    return limit
