"""Checking a paper by its code or its file, by whoever holds it; and the pages that replace one or make it void."""

import uuid
from datetime import UTC, datetime
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from packs.documents import check_code
from packs.terms import DocumentKind, Stage
from shop import models
from shop.operations import documents, voiding
from tests import line
from tests.factories import MORNING, SettingsFactory
from tests.web.desk import words

pytestmark = pytest.mark.django_db
LATER = datetime(2099, 11, 24, 9, tzinfo=UTC)
"""After every step of the job, which its clock has at the moment of the test."""
PDF = b"%PDF-1.7 of an invented report"


@pytest.fixture
def report() -> models.IssuedDocument:
    row = documents.issue(
        job=line.job_at(Stage.HAND_OVER), kind=DocumentKind.TEST_REPORT, by=line.technician(), now=LATER
    )
    return documents.keep_bytes(document=row, pdf=PDF, by=line.technician())


def by_code(client: Client, row: models.IssuedDocument) -> str:
    return words(client.get("/check/", {"code": check_code(row.content_sha256).lower().replace("-", " ")}))


def by_file(client: Client, data: bytes) -> str:
    return words(client.post("/check/", {"file": SimpleUploadedFile("report.pdf", data)}))


def test_whoever_holds_the_paper_is_told_that_it_counts_and_nothing_of_what_it_says(
    client: Client, report: models.IssuedDocument
) -> None:
    for told in (by_code(client, report), by_file(client, PDF)):
        assert "counts Test report TR0001 This workshop issued it on 24 November 2099." in told, told
        for said in ("Ida Moor", "GP3-118", "J0001", "Open TR0001"):
            assert said not in told


def test_a_file_that_was_changed_by_one_byte_is_not_known(client: Client, report: models.IssuedDocument) -> None:
    assert "Not known here" in by_file(client, PDF[:-1] + b"!")
    assert "byte for byte" in by_file(client, PDF)


def test_a_replaced_and_a_void_paper_are_told(client: Client, report: models.IssuedDocument) -> None:
    new = voiding.reissue(document=report, reason="misread", by=line.technician(), now=MORNING)
    assert "replaced by TR0002 and counts no more" in by_code(client, report)
    voiding.void(document=new, reason="not of this pack", by=line.lead(), now=MORNING)
    told = by_code(client, new)
    assert "void Test report TR0002" in told
    assert "not of this pack" not in told


def test_what_nobody_issued_is_not_known_and_what_is_no_code_is_said(client: Client) -> None:
    SettingsFactory()
    assert "Not known here" in words(client.get("/check/?code=7K3Q-9FJX-2M4T"))
    assert "A code has 12 signs" in words(client.get("/check/?code=TR0001"))
    assert "Not known here" in by_file(client, b"x")
    assert "This file is empty." in by_file(client, b"")


def test_who_is_signed_in_can_open_it(client: Client, report: models.IssuedDocument) -> None:
    client.force_login(line.technician())
    assert "Open TR0001" in by_code(client, report)


def send(client: Client, address: str, reason: str) -> Any:
    return client.post(address, {"form_token": str(uuid.uuid4()), "reason": reason}, follow=True)


@pytest.mark.usefixtures("pango")
def test_a_paper_is_issued_anew_on_its_page(client: Client, report: models.IssuedDocument) -> None:
    client.force_login(line.technician())
    assert "This field is required" in words(send(client, "/documents/TR0001/reissue/", ""))
    answer = send(client, "/documents/TR0001/reissue/", "the serial number was misread")
    assert answer.redirect_chain == [("/documents/TR0002/", 302)]
    told = words(answer)
    assert "TR0002 takes the place of TR0001." in told
    assert "Takes the place of TR0001, which counts no more. the serial number was misread" in told
    old = words(client.get("/documents/TR0001/"))
    assert "replaced TR0002 took its place" in old
    assert "Issue it anew" not in old


def test_a_lead_makes_a_paper_void(client: Client, report: models.IssuedDocument) -> None:
    client.force_login(line.lead())
    told = words(send(client, "/documents/TR0001/void/", "not of this pack"))
    assert "TR0001 is void. It keeps its number." in told
    assert "not of this pack" in told
    listed = words(client.get("/documents/"))
    assert "void" in listed
