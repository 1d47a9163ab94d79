"""Limits of the shop's rules as pages and papers put them beside what is written down."""

from packs.errors import ImpossibleValue
from packs.rules import RULES
from packs.units import Quantity


def own_limit(rule_id: str) -> Quantity:
    """Return the limit that a rule has of itself, which is one quantity."""
    limit = RULES[rule_id].limit
    if limit is None or isinstance(limit, tuple | int):
        raise ImpossibleValue(f"{rule_id} has no single limit of its own")
    return limit
