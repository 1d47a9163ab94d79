"""The rule catalogue and the one engine that asks whether a rule holds."""

from packs.rules.catalogue import OUTLET_LIMITS, RULE_SET_VERSION, RULES, OutletLimit, outlet_limit
from packs.rules.engine import check, stopping
from packs.rules.model import Bound, Context, Finding, Limit, Measured, Rule

__all__ = [
    "OUTLET_LIMITS",
    "RULES",
    "RULE_SET_VERSION",
    "Bound",
    "Context",
    "Finding",
    "Limit",
    "Measured",
    "OutletLimit",
    "Rule",
    "check",
    "outlet_limit",
    "stopping",
]
