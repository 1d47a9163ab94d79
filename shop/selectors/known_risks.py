"""What speaks against a rebuild by itself and is in the book already, with where it was written down."""

from packs.terms import LITHIUM_ION, Chemistry, DangerSign, Opening, Risk, Unpowered
from shop.bridge import rules
from shop.models import Job, PackAsFound

from . import details
from .pack_notes import Notes


def known_risks(job: Job, found: PackAsFound | None, notes: Notes | None) -> dict[Risk, str]:
    """Return what was said at the counter, found in the pack or is known of its model, each with where it is from."""
    seen = details.of_job(job)
    told = {
        Risk.UNKNOWN_HISTORY: _history(job) if DangerSign.UNKNOWN_HISTORY in job.danger_signs else "",
        Risk.LOCKS_FOR_GOOD: "examination" if found and found.unpowered == Unpowered.LOCKS else "",
        Risk.POTTED: _potted(seen=seen is not None and seen.potted, notes=notes),
        Risk.RECALLED: _recalled(job) if job.recalled else "",
    }
    return {risk: words for risk, words in told.items() if words}


def risks_in_words(job: Job, found: PackAsFound | None, notes: Notes | None) -> str:
    """Say what is ticked and why, and ask for what only looks so; nothing where the book tells nothing."""
    known = known_risks(job, found, notes)
    ticked = "; ".join(f"{risk.label.split(':')[0]} ({words})" for risk, words in known.items())
    said = [f"Known already and ticked: {ticked}. Untick what no longer holds."] if known else []
    if found is not None and Chemistry(found.cell_model.chemistry) in LITHIUM_ION and not rules.has_board(found):
        said.append("No board was written down at the examination: can a suitable one be had?")
    return " ".join(said)


def _history(job: Job) -> str:
    findings = f"; the lead found: {job.findings}" if job.findings else ""
    return f"sign at take-in{findings}"


def _potted(*, seen: bool, notes: Notes | None) -> str:
    if seen:
        return "details of the pack"
    return "pack notes" if notes is not None and notes.row.opens == Opening.POTTED else ""


def _recalled(job: Job) -> str:
    return f"take-in: {job.recall_result}, {job.recall_source}" if job.recall_result else "take-in"
