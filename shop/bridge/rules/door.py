"""Rules between the finished pack and the door."""

from functools import partial

from packs.rules import Context, Finding, check
from packs.terms import Chemistry, DocumentKind, Measure, Stage, Travels
from packs.units import Quantity, ureg
from shop.bridge import figures
from shop.models import Plan

from .opening import charge_at_most

_REPORTS = {DocumentKind.TEST_REPORT: "handover.report", DocumentKind.HEALTH_REPORT: "handover.health_report"}


BY_AIR = ureg.Quantity(0.30, "dimensionless")
"""Most charge of a lithium-ion pack carried by air (IATA packing instruction 965, as quoted by carriers)."""


def removed_gone(waiting: int) -> list[Finding]:
    """Whether nothing that was removed is left on the bench."""
    return [check("handover.removed_gone", waiting)]


def hand_over(
    *, waiting: int, report: DocumentKind | None, report_issued: bool, note_due: bool, note_issued: bool
) -> list[Finding]:
    """Whether papers are out and everything is accounted for."""
    findings = [check("handover.accounted", waiting == 0)]
    if report is not None:
        findings.append(check(_REPORTS[report], report_issued))
    if note_due:
        findings.append(check("handover.disposal_note", note_issued))
    return findings


def travelling(plan: Plan, travels: Travels) -> list[Finding]:
    """Whether the pack may leave the way it travels; only by air is its charge asked about."""
    if travels is not Travels.AIR:
        return []
    ask = partial(check, context=Context(chemistry=Chemistry(plan.cell_model.chemistry)))
    return [ask("handover.air_charge", charge_left(plan), limit=BY_AIR, limit_source="packing instruction 965")]


def charge_left(plan: Plan) -> Quantity | None:
    """Return the most charge the pack can have by its groups at the final test; None where that is not known."""
    rest = figures.of_points(plan.job, Stage.FINAL_TEST, Measure.REST_VOLTAGE)
    groups = [rest.get(f"group {number}") for number in range(1, plan.series + 1)]
    known = [charge for mv in groups if (charge := charge_at_most(plan.cell_model, mv)) is not None]
    return max(known) if len(known) == plan.series else None
