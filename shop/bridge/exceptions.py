"""Which rules a lead may accept in writing, and what a stored finding says of it."""

from collections.abc import Iterable, Mapping
from typing import Any

from packs.rules import RULES, Rule, may_be_accepted
from packs.terms import Outcome, Severity, Stage
from shop.errors import ShopError


def acceptable() -> list[Rule]:
    """Return the rules that a lead may accept in writing, in working order."""
    order = list(Stage)
    return sorted(filter(may_be_accepted, RULES.values()), key=lambda rule: order.index(rule.stage))


def acceptable_of(findings: Iterable[Mapping[str, Any]]) -> list[Rule]:
    """Return the rules among stored findings that stopped a step and that a lead may accept in writing."""
    stopped = {found["rule_id"] for found in findings if found["outcome"] in (Outcome.FAIL, Outcome.UNKNOWN)}
    return [rule for rule in acceptable() if rule.id in stopped]


def never() -> list[Rule]:
    """Return the rules that stop the work and that nobody may accept in writing, in working order."""
    order = list(Stage)
    return sorted((rule for rule in RULES.values() if rule.no_exception), key=lambda rule: order.index(rule.stage))


def require_acceptable(rule_id: str) -> None:
    """Refuse a rule that nobody may accept in writing, with the reason."""
    rule = RULES.get(rule_id)
    if rule is None:
        raise ShopError("no_such_rule", f"There is no rule {rule_id}.", field="rule_id")
    if rule.no_exception:
        words = f"There is no exception from “{rule.quantity}”: {rule.no_exception}."
        raise ShopError("no_exception", words, field="rule_id", rule=rule_id)
    if rule.severity is not Severity.STOP:
        words = f"“{rule.quantity}” stops nothing; the work goes on without an exception."
        raise ShopError("stops_nothing", words, field="rule_id", rule=rule_id)


def stage_of(rule_id: str) -> Stage:
    """Return the stage that a rule guards; the last one where this rule set no longer has the rule."""
    return RULES[rule_id].stage if rule_id in RULES else Stage.HAND_OVER


def covers(finding: Mapping[str, Any], exception: int) -> bool:
    """Whether a stored finding was accepted by the exception of this number."""
    accepted = finding.get("accepted") or {}
    return finding["outcome"] == Outcome.ACCEPTED and accepted.get("number") == exception
