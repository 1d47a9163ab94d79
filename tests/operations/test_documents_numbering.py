"""Documents: numbered without gaps, content frozen with the number, bytes stored once."""

import hashlib
import json
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from packs.terms import DangerSign, DocumentKind, Stage
from shop import append_only, models
from shop.operations import disposal, documents, intake
from shop.selectors import audit
from tests import line
from tests.factories import MORNING
from tests.refusal import refused

PDF = b"%PDF-1.7 first rendering"


def issue(job: models.Job, kind: DocumentKind = DocumentKind.JOB_CARD) -> models.IssuedDocument:
    return documents.issue(job=job, kind=kind, by=line.technician(), now=MORNING)


def keep(document: models.IssuedDocument, pdf: bytes = PDF) -> models.IssuedDocument:
    return documents.keep_bytes(document=document, pdf=pdf, by=line.technician())


def canonical_hash(content: object) -> str:
    """SHA-256 of canonical JSON: sorted keys, no spaces, text as UTF-8."""
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


@pytest.mark.django_db
class TestNumbers:
    def test_each_kind_counts_for_itself(self) -> None:
        job = line.job_at(Stage.HAND_OVER)
        kinds = [DocumentKind.JOB_CARD, DocumentKind.TEST_REPORT, DocumentKind.JOB_CARD, DocumentKind.JOB_CARD]
        assert [issue(job, kind).code for kind in kinds] == ["JC0001", "TR0001", "JC0002", "JC0003"]

    def test_it_goes_on_over_jobs(self) -> None:
        first = line.job_at(Stage.REMOVED)
        line.sort_removed(first)
        assert issue(first, DocumentKind.DISPOSAL_NOTE).number == 1
        second = line.job_at(Stage.REMOVED, signs=[DangerSign.LEAK])
        disposal.to_container(
            job=second,
            container=line.containers()[1],
            items=list(second.items.all()),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
        assert issue(second, DocumentKind.DISPOSAL_NOTE).number == 2

    def test_what_cannot_be_issued_takes_no_number(self) -> None:
        job = line.job_at(Stage.MATCH)
        with refused("no_plan"):
            issue(job)
        line.accept(job)
        job.refresh_from_db()
        for kind, code in (
            (DocumentKind.TEST_REPORT, "not_tested"),
            (DocumentKind.HAND_OVER, "not_tested"),
            (DocumentKind.DISPOSAL_NOTE, "nothing_gone"),
        ):
            with refused(code):
                issue(job, kind)
        assert issue(job).number == 1
        assert list(audit.differences()) == []

    @pytest.mark.parametrize("kind", [DocumentKind.JOB_CARD, DocumentKind.TEST_REPORT, DocumentKind.HAND_OVER])
    def test_a_red_pack_gets_a_disposal_note_and_nothing_else(self, kind: DocumentKind) -> None:
        job = intake.report_danger(job=line.job_at(Stage.DISMANTLE), signs=[DangerSign.SMELL], by=line.technician())
        with refused():
            issue(job, kind)

    def test_the_database_refuses_a_number_twice(self) -> None:
        document = issue(line.job_at(Stage.REMOVED))
        document.pk, document._state.adding = None, True
        with pytest.raises(IntegrityError), transaction.atomic():
            document.save()
        document.number = 0
        with pytest.raises(IntegrityError, match="document_numbers_from_one"), transaction.atomic():
            document.save()


@pytest.mark.django_db
class TestContent:
    def test_it_is_frozen_with_its_hash(self) -> None:
        job = line.job_at(Stage.REMOVED)
        document = issue(job)
        before = document.content
        assert document.content_sha256 == canonical_hash(before)
        models.Customer.objects.update(name="Somebody Else")
        models.CellModel.objects.update(max_charge_current_ma=1)
        document.refresh_from_db()
        assert document.content == before
        assert document.content_sha256 == canonical_hash(document.content)
        assert issue(job).content_sha256 != document.content_sha256

    def test_the_first_bytes_are_the_document(self) -> None:
        document = keep(issue(line.job_at(Stage.REMOVED)))
        assert document.pdf_sha256 == hashlib.sha256(PDF).hexdigest()
        again = keep(document, b"%PDF-1.7 another rendering")
        assert (bytes(again.pdf), again.pdf_sha256) == (PDF, document.pdf_sha256)
        again.refresh_from_db()
        assert bytes(again.pdf) == PDF

    def test_no_bytes_for_content_that_was_changed(self) -> None:
        document = issue(line.job_at(Stage.REMOVED))
        append_only.remove(connection)
        models.IssuedDocument.objects.update(content=document.content | {"added": "later"})
        with refused("content_changed"):
            keep(document)

    @pytest.mark.parametrize(
        "changed", [{"content": {}}, {"number": 9}, {"rule_set": "other"}, {"issued_at": MORNING + timedelta(days=1)}]
    )
    def test_the_database_holds_what_was_issued(self, changed: dict[str, Any]) -> None:
        document = issue(line.job_at(Stage.REMOVED))
        row = models.IssuedDocument.objects.filter(pk=document.pk)
        for change in (lambda: row.update(**changed), lambda: row._raw_delete("default")):
            with pytest.raises(DatabaseError, match="does not change once it is issued"), transaction.atomic():
                change()
        keep(document)
        with pytest.raises(DatabaseError, match="does not change once it is issued"), transaction.atomic():
            row.update(pdf=PDF)

    def test_bytes_and_hash_come_together(self) -> None:
        document = issue(line.job_at(Stage.REMOVED))
        with pytest.raises(IntegrityError, match="document_bytes_have_hash"), transaction.atomic():
            models.IssuedDocument.objects.filter(pk=document.pk).update(pdf=PDF)


@pytest.mark.slow
@pytest.mark.usefixtures("committed_db")
def test_twenty_benches_at_once_get_twenty_numbers_in_a_row() -> None:
    job = line.job_at(Stage.REMOVED)
    by = line.technician()

    def bench(_: int) -> int:
        try:
            return documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=by).number
        finally:
            connection.close()

    with ThreadPoolExecutor(20) as benches:
        numbers = sorted(benches.map(bench, range(20)))
    assert numbers == list(range(1, 21))
    assert list(audit.differences()) == []
