"""Papers that are older than a step done anew: told, asked for again, and never issued twice by an old page."""

from decimal import Decimal

import pytest
from django.test import Client

from packs.documents import check_code
from packs.terms import DocumentKind, Measure, Stage
from shop import models
from shop.bridge import outdated
from shop.operations import closeout, documents, stock, voiding
from tests import line
from tests.refusal import held_by, refused
from tests.web.desk import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def sent_back() -> models.Job:
    """A job with all its papers, which a corrected reading sends back to the first charge; it is charged and tested anew."""
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    documents.issue(job=job, kind=DocumentKind.HAND_OVER, by=line.technician())
    wrong = models.Reading.objects.standing().get(
        job=job, stage=Stage.FIRST_CHARGE.value, point="group 2", measure=Measure.VOLTAGE.value
    )
    stock.correct_reading(reading=wrong, value=Decimal(4201), reason="misread", by=line.technician())
    job.refresh_from_db()
    assert job.stage == Stage.FIRST_CHARGE
    assert "has to be done anew since" in outdated.why(paper(job, DocumentKind.TEST_REPORT))
    return line.on(job, Stage.HAND_OVER)


def paper(job: models.Job, kind: DocumentKind) -> models.IssuedDocument:
    return job.documents.counting().get(kind=kind.value)


def anew(job: models.Job, kind: DocumentKind) -> None:
    voiding.reissue(document=paper(job, kind), reason="charged anew", by=line.technician())


def test_what_is_older_than_a_step_done_anew_holds_the_job_until_it_is_issued_anew(
    sent_back: models.Job, client: Client
) -> None:
    old = paper(sent_back, DocumentKind.TEST_REPORT)
    with held_by("handover.report", "handover.label"):
        closeout.hand_over(job=sent_back, received_by="Ida Moor", by=line.technician())
    told = words(client.get("/check/", {"code": check_code(old.content_sha256)}))
    assert "counts, out of date Test report TR0001" in told
    assert "It counts, but steps were done anew since" in told
    for kind in (DocumentKind.TEST_REPORT, DocumentKind.PACK_LABEL):
        anew(sent_back, kind)
        assert outdated.why(paper(sent_back, kind)) == ""
    closeout.hand_over(job=sent_back, received_by="Ida Moor", by=line.technician())


def test_the_page_leads_to_the_report_anew(sent_back: models.Job, client: Client) -> None:
    client.force_login(line.technician())
    seen = client.get(f"/jobs/{sent_back.number}/hand-over/")
    assert "Issue the test report anew TR0001 is out of date: steps were done anew since." in words(seen)
    assert 'href="/documents/TR0001/reissue/"' in seen.content.decode()
    assert "steps were done anew since" in client.get("/documents/TR0001/reissue/").content.decode()


def test_a_receipt_that_names_a_replaced_paper_is_out_of_date() -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    documents.issue(job=job, kind=DocumentKind.HAND_OVER, by=line.technician())
    assert outdated.why(paper(job, DocumentKind.HAND_OVER)) == ""
    anew(job, DocumentKind.TEST_REPORT)
    assert outdated.why(paper(job, DocumentKind.HAND_OVER)) == "it names TR0001, which counts no more"
    anew(job, DocumentKind.HAND_OVER)
    assert outdated.why(paper(job, DocumentKind.HAND_OVER)) == ""


@pytest.mark.parametrize("kind", sorted(outdated.REPORTING - {DocumentKind.HEALTH_REPORT}))
def test_an_old_page_issues_no_second_paper_of_a_kind_that_stands(kind: DocumentKind) -> None:
    job = line.job_at(Stage.HAND_OVER)
    first = documents.issue(job=job, kind=kind, by=line.technician())
    with refused("stands_already") as told:
        documents.issue(job=job, kind=kind, by=line.technician())
    assert f"{first.code} of job {job.code} is issued and counts" in told.value.message
    assert job.documents.filter(kind=kind.value).count() == 1
