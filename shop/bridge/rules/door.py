"""Rules of the door: what comes in, what goes to the bench, and what goes out again."""

from collections.abc import Iterable

from packs.rules import Finding
from packs.terms import RED_SIGNS, DangerLevel, DangerSign, DocumentKind
from shop.models import Job

from .limits import in_force

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
    job: Job, *, waiting: int, report: DocumentKind | None, report_issued: bool, note_due: bool, note_issued: bool
) -> list[Finding]:
    """Whether papers are out and everything is accounted for."""
    check = in_force(job).check
    findings = [check("handover.accounted", waiting == 0)]
    if report is not None:
        findings.append(check(_REPORTS[report], report_issued))
    if note_due:
        findings.append(check("handover.disposal_note", note_issued))
    return findings
