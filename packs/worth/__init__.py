"""Rebuild or replace: what a rebuild costs, and whether it makes sense; money in exact decimals."""

from packs.worth.cause import Cause, Found, cause
from packs.worth.estimate import Estimate, Item, PriceLine, Rates, Work, estimate
from packs.worth.verdict import Advice, Life, recommend

__all__ = [
    "Advice",
    "Cause",
    "Estimate",
    "Found",
    "Item",
    "Life",
    "PriceLine",
    "Rates",
    "Work",
    "cause",
    "estimate",
    "recommend",
]
