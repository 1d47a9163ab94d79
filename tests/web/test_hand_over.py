"""The hand-over: papers first, then a name; nothing leaves while a hold point stands."""

import uuid
from decimal import Decimal

import pytest
from django.test import Client

from packs.terms import DangerSign, DocumentKind, Measure, Place, Role, Stage
from shop import models
from shop.operations import disposal, documents, stock
from tests import line
from tests.factories import SettingsFactory
from tests.web.desk import errors, primary, send, sign_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def page(job: models.Job) -> str:
    return f"/jobs/{job.number}/hand-over/"


def issue(job: models.Job, *kinds: DocumentKind) -> None:
    for kind in kinds:
        documents.issue(job=job, kind=kind, by=line.technician())


def is_closed(job: models.Job) -> bool:
    return models.Job.objects.get(pk=job.pk).closed_at is not None


def test_while_a_paper_is_missing_the_one_thing_to_do_is_to_issue_it(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    wanted = []
    for kind in (DocumentKind.TEST_REPORT, DocumentKind.DISPOSAL_NOTE, DocumentKind.PACK_LABEL):
        wanted += primary(technician.get(page(job)))
        assert f'action="/jobs/{job.number}/issue/{kind.value}/"' in technician.get(page(job)).content.decode()
        issue(job, kind)
    assert wanted == ["Issue the test report", "Issue the disposal note", "Issue the pack label"]
    assert primary(technician.get(page(job))) == ["Hand the device over"]


def test_hold_points_are_told_with_what_stops_first(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    issue(job, DocumentKind.TEST_REPORT)
    issue(job, DocumentKind.PACK_LABEL)
    seen = words(technician.get(page(job))).split("Hold points")[1]
    assert seen.index("The disposal note is not issued yet.") < seen.index("3 more hold")


def test_no_note_is_due_where_nothing_went_into_a_container(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    damaged = models.Cell.objects.filter(lot__donor_job=job, condition="damaged")
    damaged.update(condition="intact")
    cells = list(models.Cell.objects.filter(lot__donor_job=job))
    for cell in cells:
        stock.record_reading(cell=cell, measure=Measure.REST_VOLTAGE, value=Decimal(3300), by=line.technician())
    disposal.to_stock(job=job, cells=cells, by=line.technician())
    disposal.finish_removed(job=job, by=line.technician())
    assert [kind for kind, *_ in technician.get(page(job)).context["papers"]] == [
        DocumentKind.TEST_REPORT,
        DocumentKind.PACK_LABEL,
        DocumentKind.HAND_OVER,
    ]


def test_the_device_goes_back_by_name_and_once(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    token = str(uuid.uuid4())
    for _ in range(2):
        sent = send(technician, page(job), form_token=token, received_by="Ida Moor", version=str(job.version))
        assert sent.url == f"/jobs/{job.number}/"
    assert is_closed(job)
    assert job.items.get().place == Place.CUSTOMER
    assert job.log.filter(verb="handed over").count() == 1
    answer = technician.get(page(job))
    assert "The device is out of the shop." in words(answer)
    assert primary(answer) == ["Back to the job"]


def test_without_a_name_it_is_refused_beside_the_field(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    answer = send(technician, page(job), received_by=" ")
    assert errors(answer) == {"received_by": ["Write down who takes the device."]}
    assert not is_closed(job)


def test_with_a_paper_missing_nothing_leaves_and_the_page_says_why(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    answer = send(technician, page(job), received_by="Ida Moor")
    assert "The test report is not issued yet" in errors(answer)["__all__"][0]
    assert "Not saved yet." in words(answer)
    assert not is_closed(job)


def test_a_stale_page_hands_nothing_over_and_keeps_the_name(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    answer = send(technician, page(job), received_by="Ida Moor", version=str(job.version - 1))
    assert "Somebody changed job" in errors(answer)["__all__"][0]
    assert 'value="Ida Moor"' in answer.content.decode()
    assert not is_closed(job)


def test_the_counter_hands_over_and_issues_the_receipt_alone(client: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    sign_in(client, Role.COUNTER)
    before = client.get(page(job))
    assert "A technician, a lead or the owner issues it." in words(before)
    assert "disabled" in before.content.decode().split("Issue the test report</button>")[0][-120:]
    line.issue_papers(job)
    after = client.get(page(job))
    assert primary(after) == ["Hand the device over"]
    receipt = f"/jobs/{job.number}/issue/hand_over/"
    assert after.content.decode().count("/issue/") == 1
    assert receipt in after.content.decode()
    send(client, f"/jobs/{job.number}/issue/test_report/")
    assert job.documents.filter(kind="test_report").count() == 1
    assert send(client, receipt).url == "/documents/HO0001/"
    assert send(client, page(job), received_by="Ida Moor").url == f"/jobs/{job.number}/"
    assert is_closed(job)


def test_before_its_time_the_page_leads_back(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    answer = technician.get(page(job))
    assert "The hand-over is not next on this job. Next: Place the cells." in words(answer)
    sent = send(technician, page(job), received_by="Ida Moor")
    assert not is_closed(job)
    assert sent.status_code == 200


def test_a_red_job_closes_with_its_note_and_no_device(technician: Client) -> None:
    job = line.take_in(signs=[DangerSign.SWELLING])
    _, damaged = line.containers()
    disposal.to_container(
        job=job, container=damaged, items=list(job.items.all()), insulated=True, packed_alone=True, by=line.technician()
    )
    disposal.finish_removed(job=job, by=line.technician())
    assert primary(technician.get(page(job))) == ["Issue the disposal note"]
    issue(job, DocumentKind.DISPOSAL_NOTE)
    answer = technician.get(page(job))
    assert "goes out for disposal and does not come back" in words(answer)
    assert "how to charge" not in words(answer)
    assert primary(answer) == ["Close the job"]
    assert 'name="received_by"' not in answer.content.decode()
    send(technician, page(job))
    assert is_closed(job)
    assert job.items.get().place == Place.CONTAINER
    seen = words(technician.get(page(job)))
    assert "The pack is put aside for disposal" in seen
    assert "device is out of the shop" not in seen


def test_what_the_pack_carries_and_may_be_called(technician: Client) -> None:
    """Regulation (EU) 2023/1542, Art. 13(4) and 3(32), the latter quoted elsewhere."""
    job = line.job_at(Stage.HAND_OVER)
    seen = words(technician.get(page(job)))
    assert "The crossed-out bin." in seen
    assert "called “remanufactured”" in seen
    SettingsFactory(jurisdiction="us")
    seen = words(technician.get(page(job)))
    assert "crossed-out" not in seen
    assert "remanufactured" not in seen.replace("repurposed or remanufactured", "")
