"""Readings that stood on paper first: measured then, entered later by whom; not before the job, not in the time to come."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import DocumentKind, Role, Stage
from shop import models
from shop.operations import documents, proving, rebuild
from tests import line
from tests.factories import SettingsFactory
from tests.refusal import refused
from tests.web.desk import at, send, sign_in, words

pytestmark = pytest.mark.django_db
TAPS = [Decimal(3620 * n) for n in range(1, 5)]


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.LADDER)


def test_a_reading_keeps_when_it_was_taken_and_when_it_was_entered(job: models.Job) -> None:
    now = timezone.now()
    taken = now - timedelta(hours=3)
    result = rebuild.check_taps(
        job=job, taps_mv=TAPS, board=line.BOARD_TRIED, measured_at=taken, by=line.technician(), now=now
    )
    assert result.done
    kept = set(result.step.readings.values_list("measured_at", "entered_at", "by__username"))
    assert kept == {(taken, now, "technician")}
    assert result.step.ended_at == now


def test_what_was_typed_as_it_was_read_was_entered_at_once(job: models.Job) -> None:
    line.check_taps(job)
    assert not job.readings.filter(entered_at__isnull=False).exists()


# The job was opened on MORNING (tests/factories.py).
@pytest.mark.parametrize(
    ("off", "code"),
    [
        (timedelta(), None),
        (timedelta(seconds=-1), "before_the_job"),
        (timedelta(seconds=1), None),
    ],
)
def test_not_before_the_job(job: models.Job, off: timedelta, code: str | None) -> None:
    by = line.technician()
    given = {"job": job, "taps_mv": TAPS, "board": line.BOARD_TRIED, "by": by, "measured_at": job.opened_at + off}
    if code is None:
        assert rebuild.check_taps(**given).done
        return
    with refused(code, field="measured_at"):
        rebuild.check_taps(**given)


@pytest.mark.parametrize(("off", "goes"), [(0, True), (1, False)])
def test_not_in_the_time_to_come(job: models.Job, off: int, goes: bool) -> None:
    now = timezone.now()
    given = {"job": job, "taps_mv": TAPS, "board": line.BOARD_TRIED, "by": line.technician(), "now": now}
    later = now + timedelta(seconds=off)
    if goes:
        assert rebuild.check_taps(measured_at=later, **given).done
        return
    with refused("future_date", field="measured_at"):
        rebuild.check_taps(measured_at=later, **given)


def test_the_test_report_lists_them_step_by_step() -> None:
    job = line.job_at(Stage.FINAL_TEST)
    now = timezone.now()
    proving.final_test(
        job=job,
        capacity_mah=Decimal(5080),
        conditions=line.AS_THE_CELLS,
        pack_rest_mv=Decimal(16560),
        groups_mv=[Decimal(4140)] * 4,
        **line.proof(),
        measured_at=now - timedelta(hours=2),
        by=line.technician(),
        now=now,
    )
    job.refresh_from_db()
    report = documents.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician())
    (told,) = report.content["from_paper"]
    assert (told["stage"], told["count"], told["by"]) == ("final_test", 14, "Technician")
    assert told["measured_at"] < told["entered_at"]


def test_the_page_takes_the_time_and_the_record_says_so(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.LADDER)
    taken = timezone.localtime() - timedelta(hours=1)
    typed = {f"tap_{n}": f"{mv / 1000}" for n, mv in enumerate(TAPS, start=1)}
    board = {"suits": "on", "overcharge_trip": "4.225", "undervoltage_trip": "3.0"}
    late = {"measured_at": (taken + timedelta(hours=3)).strftime("%Y-%m-%dT%H:%M")}
    answer = send(client, at(job, Stage.LADDER), **typed, **board, **late)
    assert answer.context["form"].errors["measured_at"] == ["The readings lie in the future."]
    send(client, at(job, Stage.LADDER), **typed, **board, measured_at=taken.strftime("%Y-%m-%dT%H:%M"))
    page = words(client.get(at(job, Stage.LADDER)))
    assert f"measured {taken:%-d %b %Y, %H:%M}, entered later from paper by" in page
