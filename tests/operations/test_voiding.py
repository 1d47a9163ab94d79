"""Papers that count no more: void, replaced, and what then has to be issued again."""

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from packs.documents import thaw
from packs.terms import DocumentKind, Heard, QuoteState, Role, Stage
from shop import models
from shop.operations import closeout, documents, quoting, voiding
from shop.selectors import audit, joblog
from tests import line
from tests.factories import MORNING, UserFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db
WHY = "the serial number was misread"


@pytest.fixture(autouse=True)
def people() -> None:
    line.technician()
    line.lead()
    UserFactory(username="c", roles=(Role.COUNTER,))


def issued(job: models.Job, kind: DocumentKind = DocumentKind.JOB_CARD) -> models.IssuedDocument:
    return documents.issue(job=job, kind=kind, by=line.technician(), now=MORNING)


def anew(document: models.IssuedDocument) -> models.IssuedDocument:
    return voiding.reissue(document=document, reason=f" {WHY} ", by=line.technician(), now=MORNING)


def make_void(document: models.IssuedDocument, reason: str = WHY) -> models.Voiding:
    return voiding.void(document=document, reason=reason, by=line.lead(), now=MORNING)


def test_a_paper_issued_anew_says_what_the_book_says_now_and_names_the_old_one() -> None:
    job = line.job_at(Stage.REMOVED)
    old = issued(job)
    was = old.content
    models.Device.objects.update(serial="GP3-181")
    new = anew(old)
    assert (old.code, new.code) == ("JC0001", "JC0002")
    head = thaw(new.content).heading
    assert (head.serial, head.replaces, head.replaced_why) == ("GP3-181", "JC0001", WHY)
    old.refresh_from_db()
    assert old.content == was
    assert old.void
    assert old.voiding.replaced_by == new
    assert list(job.documents.counting()) == [new]
    assert list(audit.differences()) == []


def test_a_paper_of_a_closed_job_can_be_issued_anew() -> None:
    job = line.handed_over()
    new = anew(job.documents.get(kind=DocumentKind.TEST_REPORT.value))
    assert new.code == "TR0002"


def test_a_void_report_is_missing_at_the_hand_over() -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    make_void(job.documents.get(kind=DocumentKind.TEST_REPORT.value))
    with refused():
        closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())
    documents.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician())
    closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())


def test_a_number_stays_taken() -> None:
    job = line.job_at(Stage.REMOVED)
    make_void(issued(job))
    assert issued(job).code == "JC0002"
    assert list(audit.differences()) == []


def test_once_is_enough_and_a_reason_is_asked() -> None:
    document = issued(line.job_at(Stage.REMOVED))
    for why in ("", "  "):
        with refused("reason_missing", field="reason"):
            make_void(document, why)
    make_void(document)
    for again in (make_void, anew):
        with refused("counts_no_more"):
            again(document)


def test_a_new_quote_takes_the_place_of_the_one_before() -> None:
    job = line.job_at(Stage.MATCH)
    for _ in range(2):
        line.quote(job)
    first, second = job.documents.filter(kind=DocumentKind.QUOTE.value).order_by("number")
    assert first.voiding.replaced_by == second
    with refused("quote_anew"):
        anew(second)
    make_void(second)
    assert not job.quotes.filter(state=QuoteState.WAITING.value).exists()


def test_what_was_approved_is_not_made_void() -> None:
    job = line.job_at(Stage.MATCH)
    line.quote(job)
    quoting.approve_quote(job=job, name="Ida Moor", heard=Heard.SPOKEN, by=line.technician())
    with refused("quote_approved"):
        make_void(job.documents.get(kind=DocumentKind.QUOTE.value))


def test_void_is_a_leads_word() -> None:
    document = issued(line.job_at(Stage.REMOVED))
    with refused("not_allowed"):
        voiding.void(document=document, reason=WHY, by=line.technician())
    with refused("not_allowed"):
        voiding.reissue(document=document, reason=WHY, by=models.User.objects.get(username="c"))


def test_the_job_log_says_why() -> None:
    job = line.job_at(Stage.REMOVED)
    make_void(anew(issued(job)))
    entries = models.LogEntry.objects.filter(job=job).order_by("pk")
    told = [joblog.sentence(entry.verb, entry.facts) for entry in entries][-3:]
    assert told == [
        "Job card JC0002 issued",
        f"JC0001 replaced by JC0002: {WHY}",
        f"JC0002 made void: {WHY}",
    ]


def test_the_database_keeps_what_was_voided() -> None:
    row = make_void(issued(line.job_at(Stage.REMOVED)))
    rows = models.Voiding.objects.filter(pk=row.pk)
    for change in (lambda: rows.update(reason="x"), lambda: rows._raw_delete("default")):
        with pytest.raises(DatabaseError, match="only ever added to"), transaction.atomic():
            change()
    other = issued(row.document.job)
    for wrong in ({"replaced_by": other}, {"reason": ""}):
        with pytest.raises(IntegrityError), transaction.atomic():
            models.Voiding.objects.create(
                **{"document": other, "reason": WHY, "at": MORNING, "by": line.lead()} | wrong
            )
