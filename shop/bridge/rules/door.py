"""Rules of the door: what comes in, what goes to the bench, and what goes out again."""

from collections.abc import Collection, Iterable

from packs.rules import Finding
from packs.terms import RED_SIGNS, DangerLevel, DangerSign, DocumentKind, Measure, Stage, Travels
from packs.units import Quantity, ureg
from shop.bridge import figures
from shop.models import Job, Plan

from .asking import asking
from .limits import in_force
from .opening import charge_at_most

_REPORTS = {DocumentKind.TEST_REPORT: "handover.report", DocumentKind.HEALTH_REPORT: "handover.health_report"}


def signs_seen(signs: Iterable[DangerSign]) -> list[Finding]:
    """Whether none of the signs was seen that keep a battery outside."""
    return [in_force().check("takein.no_red_sign", not set(signs) & RED_SIGNS)]


def amber_cleared(job: Job) -> list[Finding]:
    """Whether a lead wrote down what the amber signs came to; nothing is asked where none was seen."""
    if job.danger_level != DangerLevel.AMBER:
        return []
    return [in_force(job).check("takein.amber_cleared", not job.held)]


def to_the_bench(job: Job) -> list[Finding]:
    """Whether a pack may be opened, by the signs that were seen of it."""
    return [*signs_seen(DangerSign(sign) for sign in job.danger_signs), *amber_cleared(job)]


def removed_gone(job: Job, waiting: int) -> list[Finding]:
    """Whether nothing that was removed is left on the bench."""
    return [in_force(job).check("handover.removed_gone", waiting)]


def hand_over(
    job: Job, *, waiting: int, report: DocumentKind | None, issued: Collection[str], note_due: bool, note_issued: bool
) -> list[Finding]:
    """Whether papers are out and everything is accounted for; ``issued`` are the kinds of paper that count by now."""
    check = in_force(job).check
    findings = [check("handover.accounted", waiting == 0)]
    if report is not None:
        findings.append(check(_REPORTS[report], report.value in issued))
    if report is DocumentKind.TEST_REPORT:
        findings.append(check("handover.label", DocumentKind.PACK_LABEL.value in issued))
    if note_due:
        findings.append(check("handover.disposal_note", note_issued))
    return findings


def travelling(plan: Plan, travels: Travels) -> list[Finding]:
    """Whether the pack may leave the way it travels; only by air is its charge asked about."""
    if travels is not Travels.AIR:
        return []
    return [asking(plan)("handover.air_charge", charge_left(plan))]


SAYS_NOTHING = ureg.Quantity(0.995, "dimensionless")
"""From here on "at most" comes to 100 % on paper, which every pack has at most."""


def charge_told(plan: Plan) -> int | None:
    """Return the most charge of a pack as papers tell it [percent]; None where its groups set no end below full."""
    charge = charge_left(plan)
    return None if charge is None or charge >= SAYS_NOTHING else round(charge.m_as("percent"))


def charge_left(plan: Plan) -> Quantity | None:
    """Return the most charge the pack can have by its groups at the final test; None where that is not known."""
    rest = figures.of_points(plan.job, Stage.FINAL_TEST, Measure.REST_VOLTAGE)
    groups = [rest.get(f"group {number}") for number in range(1, plan.series + 1)]
    known = [charge for mv in groups if (charge := charge_at_most(plan.cell_model, mv)) is not None]
    return max(known) if len(known) == plan.series else None
