"""Issued papers on the screen: issue, read, print; the number stands even where the PDF cannot be made."""

import hashlib
import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from packs.terms import DangerSign, DocumentKind, Place, Role, Stage
from shop import append_only, models
from shop.operations import disposal, documents
from shop.selectors import audit
from tests import line, papers
from tests.factories import MORNING, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(UserFactory(username="technician", roles=(Role.TECHNICIAN,)))
    return client


@pytest.fixture
def counter(client: Client) -> Client:
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    return client


def issue(client: Client, job: models.Job, kind: DocumentKind, token: str = "") -> Any:
    address = f"/jobs/{job.number}/issue/{kind.value}/"
    return client.post(address, {"form_token": token or str(uuid.uuid4())}, follow=True)


def issued(job: models.Job, kind: DocumentKind = DocumentKind.JOB_CARD) -> models.IssuedDocument:
    return documents.issue(job=job, kind=kind, by=line.technician(), now=MORNING)


# --- issuing


@pytest.mark.usefixtures("pango")
def test_a_paper_is_issued_stored_and_opened(bench: Client) -> None:
    answer = issue(bench, line.job_at(Stage.DISMANTLE), DocumentKind.JOB_CARD)
    assert answer.redirect_chain == [("/documents/JC0001/", 302)]
    assert "Job card JC0001 is issued." in answer.content.decode()
    row = models.IssuedDocument.objects.get()
    pdf = bench.get("/documents/JC0001.pdf")
    assert pdf["Content-Type"] == "application/pdf"
    assert hashlib.sha256(pdf.content).hexdigest() == row.pdf_sha256
    assert "J0001" in papers.text_of(pdf.content)
    assert list(audit.differences()) == []


@pytest.mark.usefixtures("pango")
def test_the_same_form_sent_twice_issues_one_paper(bench: Client) -> None:
    job, token = line.job_at(Stage.DISMANTLE), str(uuid.uuid4())
    chains = [issue(bench, job, DocumentKind.JOB_CARD, token).redirect_chain for _ in range(2)]
    assert chains[0] == chains[1]
    assert models.IssuedDocument.objects.count() == 1


def test_without_pango_the_paper_stands_and_says_what_is_missing(bench: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    with papers.a_machine_without_pango():
        page = issue(bench, job, DocumentKind.JOB_CARD).content.decode()
    row = models.IssuedDocument.objects.get()
    assert (row.code, row.pdf) == ("JC0001", None)
    assert "JC0001 is issued and keeps its number." in page
    assert "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0" in page
    assert "Make the PDF" in page
    assert "S008" in page  # the paper itself can be read, and printed from the browser
    assert bench.get("/documents/JC0001.pdf", follow=True).redirect_chain == [("/documents/JC0001/", 302)]


@pytest.mark.usefixtures("pango")
def test_the_pdf_is_made_later_from_what_was_frozen(bench: Client) -> None:
    row = issued(line.job_at(Stage.DISMANTLE))
    models.Cell.objects.filter(code="S008").update(code="RENAMED")
    page = bench.post("/documents/JC0001/", {"form_token": str(uuid.uuid4())}, follow=True).content.decode()
    assert "The PDF of JC0001 is made." in page
    row.refresh_from_db()
    assert "S008" in papers.text_of(bytes(row.pdf or b""))
    stored = row.pdf_sha256
    bench.post("/documents/JC0001/", {"form_token": str(uuid.uuid4())})
    row.refresh_from_db()
    assert row.pdf_sha256 == stored


@pytest.mark.parametrize("kind", [DocumentKind.TEST_REPORT, DocumentKind.HAND_OVER, DocumentKind.DISPOSAL_NOTE])
def test_what_is_not_due_is_refused_and_takes_no_number(bench: Client, kind: DocumentKind) -> None:
    answer = issue(bench, line.job_at(Stage.DISMANTLE), kind)
    assert answer.redirect_chain == [("/jobs/1/", 302)]
    assert not models.IssuedDocument.objects.exists()
    assert list(audit.differences()) == []
    said = ["comes after it" if kind is not DocumentKind.DISPOSAL_NOTE else "has gone into a container"]
    assert said[0] in answer.content.decode()


def test_papers_are_issued_by_the_bench(counter: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    issue(counter, job, DocumentKind.JOB_CARD)
    assert not job.documents.exists()
    assert "This is for the technician or lead or owner." in counter.get(f"/jobs/{job.number}/").content.decode()


def test_issuing_takes_a_post(bench: Client) -> None:
    line.job_at(Stage.DISMANTLE)
    assert bench.get("/jobs/1/issue/job_card/").status_code == 405


@pytest.mark.parametrize("address", ["/jobs/1/issue/letter/", "/jobs/9/issue/job_card/"])
def test_there_is_no_such_paper_to_issue(bench: Client, address: str) -> None:
    line.job_at(Stage.DISMANTLE)
    assert bench.post(address, {"form_token": str(uuid.uuid4())}).status_code == 404


# --- reading


@pytest.mark.parametrize("code", ["JC1", "JC0002", "jc0001", "XX0001", "JC000١", "JC" + "9" * 30, "JC0001x", "J"])
def test_an_unknown_number_is_not_found(bench: Client, code: str) -> None:
    issued(line.job_at(Stage.DISMANTLE))
    assert bench.get(f"/documents/{code}/").status_code == 404
    assert bench.get(f"/documents/{code}.pdf").status_code == 404


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (DocumentKind.JOB_CARD, "Measure before joining"),
        (DocumentKind.TEST_REPORT, "What the pack gave"),
        (DocumentKind.DISPOSAL_NOTE, "Number of the statutory note"),
        (DocumentKind.HAND_OVER, "name of who takes the device"),
    ],
)
def test_the_paper_itself_is_on_its_page(counter: Client, kind: DocumentKind, words: str) -> None:
    row = issued(line.job_at(Stage.HAND_OVER), kind)
    page = counter.get(f"/documents/{row.code}/").content.decode()
    assert words in page
    assert " style=" not in page  # a strict content policy would drop it


def test_typed_words_stay_words_on_the_page(bench: Client) -> None:
    job = line.job_at(Stage.DISMANTLE, complaint="<script>alert(1)</script>")
    row = issued(job)
    page = bench.get(f"/documents/{row.code}/").content.decode()
    assert "<script>alert(1)</script>" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


def test_content_that_cannot_be_read_any_more_is_said(bench: Client) -> None:
    row = issued(line.job_at(Stage.DISMANTLE))
    append_only.remove(connection)
    models.IssuedDocument.objects.filter(pk=row.pk).update(content={"heading": {"kind": "letter"}})
    page = bench.get(f"/documents/{row.code}/")
    assert page.status_code == 200
    assert "cannot be read any more" in page.content.decode()


def test_an_empty_list_says_what_it_will_hold(bench: Client) -> None:
    SettingsFactory()
    page = bench.get("/documents/").content.decode()
    assert "No document was issued yet" in page
    assert "Go to the jobs" in page


def test_the_list_can_be_narrowed_to_a_kind(bench: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    for kind in (DocumentKind.JOB_CARD, DocumentKind.TEST_REPORT):
        issued(job, kind)
    page = bench.get("/documents/?kind=test_report").content.decode()
    assert "TR0001" in page
    assert "JC0001" not in page
    assert bench.get("/documents/?kind=letter").status_code == 404


def test_the_list_asks_no_more_for_more_papers(bench: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    counts = []
    for more in (3, 6):
        for _ in range(more):
            issued(job)
        with CaptureQueriesContext(
            connection,
        ) as queries:
            bench.get("/documents/")
        counts.append(len(queries))
    assert counts[0] == counts[1]


# --- a red job


def test_a_red_pack_gets_its_note(bench: Client) -> None:
    SettingsFactory()
    job = line.take_in(signs=[DangerSign.SMOKE])
    (item,) = job.items.all()
    disposal.to_emergency_route(job=job, thing=item, receiver="fire service", by=line.technician())
    item.refresh_from_db()
    assert item.place == Place.CONSIGNED
    row = issued(job, DocumentKind.DISPOSAL_NOTE)
    page = bench.get(f"/documents/{row.code}/").content.decode()
    for words in ("Liable to react", "not known", "weigh it", "fire service", "Never by air."):
        assert words in page
