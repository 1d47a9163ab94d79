"""How a plan's rules are asked: its context, and millivolts as quantities."""

from collections.abc import Iterable
from dataclasses import asdict
from decimal import Decimal
from functools import partial
from typing import Any

from packs.rules import RULES, Context, Finding
from packs.terms import CellFormat, Chemistry, DeviceClass, JointMethod, Measure, Outcome, Severity
from packs.units import Quantity, of
from shop.bridge import standing
from shop.models import PackAsFound, Plan

from .limits import in_force

DATA_SHEET = "data sheet of the cell"
SERIES_TIMES_LIMIT = "cells in series times the charge limit of the data sheet"
CHARGED = "charge limit of the data sheet and 0.05 V"
METERS = "or the combined error of the meters, where that is more"
_OPEN = (Outcome.FAIL, Outcome.UNKNOWN)


def as_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Return findings as they are stored: a snapshot that a later rule set does not change."""
    return [asdict(finding) for finding in findings]


def stored_stops(findings: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return those stored findings that did not let the work go on, those known to fail first."""
    stops = [found for found in findings if found["severity"] == Severity.STOP and found["outcome"] in _OPEN]
    return sorted(stops, key=lambda found: found["outcome"] != Outcome.FAIL)


def asks_about(rule_id: str) -> str:
    """Return what a rule asks about; the id itself where this rule set no longer has the rule."""
    return RULES[rule_id].quantity if rule_id in RULES else rule_id


def words_of(rule_id: str) -> str:
    """Return the words with which a yes-or-no rule is confirmed."""
    return RULES[rule_id].holds_words


def asking(plan: Plan | PackAsFound) -> "partial[Finding]":
    """Return ``check`` with a pack's chemistry, cell format, joint method and device class given."""
    context = Context(
        chemistry=Chemistry(plan.cell_model.chemistry),
        cell_format=CellFormat(plan.cell_model.cell_format),
        joint_method=JointMethod(plan.joint_method) if plan.joint_method else None,
        device_class=DeviceClass(plan.job.device.device_class),
        cells_unknown=isinstance(plan, Plan) and standing.unknown(plan),
    )
    return partial(in_force(plan.job).check, context=context)


def volts(value_mv: Decimal | int | None) -> Quantity | None:
    """Return stored millivolts as a quantity."""
    return None if value_mv is None else of(Measure.VOLTAGE, value_mv)
