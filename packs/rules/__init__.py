"""The rule catalogue, what a shop makes of it, and the one engine that asks whether a rule holds."""

from packs.rules.catalogue import OUTLET_LIMITS, RULE_SET_VERSION, RULES, OutletLimit, outlet_limit
from packs.rules.engine import stopping
from packs.rules.model import Acceptance, Acts, Bound, Context, Finding, Limit, Measured, Own, Rule
from packs.rules.ruleset import RuleSet, check, may_be_accepted

__all__ = [
    "OUTLET_LIMITS",
    "RULES",
    "RULE_SET_VERSION",
    "Acceptance",
    "Acts",
    "Bound",
    "Context",
    "Finding",
    "Limit",
    "Measured",
    "OutletLimit",
    "Own",
    "Rule",
    "RuleSet",
    "check",
    "may_be_accepted",
    "outlet_limit",
    "stopping",
]
