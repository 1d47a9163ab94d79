"""Rules between the finished pack and the door."""

from packs.rules import Finding, check
from packs.terms import DocumentKind

_REPORTS = {DocumentKind.TEST_REPORT: "handover.report", DocumentKind.HEALTH_REPORT: "handover.health_report"}


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
