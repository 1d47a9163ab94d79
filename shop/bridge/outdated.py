"""Whether a paper that counts still says what the book says: steps done anew, and papers it names that were replaced."""

from packs.terms import DocumentKind, Stage
from shop.models import IssuedDocument, Job, StepOutcome

REPORTING = frozenset(
    {DocumentKind.TEST_REPORT, DocumentKind.HEALTH_REPORT, DocumentKind.PACK_LABEL, DocumentKind.HAND_OVER}
)
"""Papers that say what came of the steps, up to the one that proves the pack."""
PROOFS = (Stage.FINAL_TEST, Stage.TEST_PACK)


def why(document: IssuedDocument) -> str:
    """Say in what a paper is out of date; nothing where it is not, and of one that counts no more anyway."""
    if document.job is None or document.void or DocumentKind(document.kind) not in REPORTING:
        return ""
    return _steps_since(document, document.job) or _replaced_since(document, document.job)


def _steps_since(document: IssuedDocument, job: Job) -> str:
    """A paper is older than a step when that ended after it, or has to be done anew by now."""
    proof = next((stage for stage in PROOFS if stage in job.route), None)
    if proof is None:
        return ""
    reported = job.route[: job.route.index(proof) + 1]
    last = {step.stage: step for step in job.steps.filter(stage__in=[stage.value for stage in reported])}
    for stage in reported:
        step = last.get(stage.value)
        if step is None:
            continue
        if step.outcome in (StepOutcome.STOPPED, StepOutcome.UNDER_WAY):
            return f"“{job.label_of(stage)}” has to be done anew since"
        if step.ended_at is not None and step.ended_at > document.issued_at:
            return "steps were done anew since"
    return ""


def _replaced_since(document: IssuedDocument, job: Job) -> str:
    """The receipt names the other papers: it is out of date when one of them counts no more."""
    if document.kind != DocumentKind.HAND_OVER:
        return ""
    counting = {paper.code for paper in job.documents.counting().defer("pdf", "content")}
    gone = [code for code, _ in document.content["papers"] if code not in counting]
    return f"it names {', '.join(gone)}, which counts no more" if gone else ""
