"""Tries of the steps by the API: each with its number and outcome, and every reading with its own."""

import uuid
from typing import Any

import pytest
from rest_framework.test import APIClient

from packs.terms import Stage
from shop.operations import rebuild, replacing
from tests import line
from tests.factories import CellFactory

pytestmark = pytest.mark.django_db


BOARD = {"suits": True, "overcharge_mv": 4225, "undervoltage_mv": 3000}
WELD = {"machine": line.WELD.machine, "schedule": line.WELD.schedule, "pulse": str(line.WELD.pulse)}


def test_a_step_done_again_lists_both_tries_and_their_readings() -> None:
    job = line.job_at(Stage.LADDER)
    client = APIClient()
    client.force_authenticate(line.technician())

    def taps(*mv: int, **given: Any) -> Any:
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        return client.post(
            f"/api/v1/jobs/{job.number}/taps/", {"taps_mv": mv, "board": BOARD} | given, format="json", headers=headers
        ).json()

    assert taps(3620, 7240, 10860, 14600)["done"] is False
    assert taps(3620, 7240, 10860, 14480)["code"] == "since_missing"
    assert taps(3620, 7240, 10860, 14480, since="probe slipped")["done"] is True
    tries = client.get(f"/api/v1/jobs/{job.number}/steps/?stage=ladder").json()["results"]
    assert [(one["number"], one["outcome"], one["by"]) for one in tries] == [
        (1, "stopped", "technician"),
        (2, "done", "technician"),
    ]
    assert [found["where"] for found in tries[0]["findings"] if found["outcome"] == "fail"] == ["tap 4"]
    assert all(one["started_at"] and one["ended_at"] for one in tries)
    read = client.get(f"/api/v1/readings/?job={job.number}&stage=ladder").json()["results"]
    last = [(one["try_number"], one["try_outcome"], one["value"]) for one in read if one["point"] == "tap 4"]
    assert sorted(last) == [(1, "stopped", "14600.000"), (2, "done", "14480.000")]
    assert client.get(f"/api/v1/jobs/{job.number}/steps/?outcome=stopped").json()["count"] == 1


def test_an_old_request_does_not_stand_for_a_cell_that_was_replaced_since() -> None:
    """Voltages are named by position, and another cell lies there by now: the request says which state it was made for."""
    job = line.job_at(Stage.MEASURE)
    CellFactory(code="X1")
    client = APIClient()
    client.force_authenticate(line.technician())

    def measure(**given: Any) -> Any:
        body = {"rest_voltages_mv": dict.fromkeys(line.names(), 3620)} | given
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        return client.post(f"/api/v1/jobs/{job.number}/rest-voltages/", body, format="json", headers=headers)

    assert measure().json()["done"] is True
    job.refresh_from_db()
    cell = job.plans.get().positions.get(group=1, place=1).cell
    replacing.replace_cell(
        job=job, code=cell.code, goes_in={"1.1": "X1"}, reason="its wrap is torn", by=line.technician()
    )
    rebuild.place_cell(job=job, code="X1", by=line.technician())
    assert (measure().status_code, measure().json()["code"]) == (409, "version_missing")
    job.refresh_from_db()
    assert (job.stage, measure(version=job.version - 1).json()["code"]) == (Stage.MEASURE, "stale")
    assert measure(version=job.version).json()["done"] is True


def test_a_strip_that_a_try_no_longer_names_is_off() -> None:
    job = line.job_at(Stage.JOIN)
    client = APIClient()
    client.force_authenticate(line.technician())

    def join(*numbers: int, **given: Any) -> Any:
        strips = [{"strip": number, "spots": 4} for number in numbers]
        body = {"strips": strips, "weld": WELD, "second_look": True, "second_look_by": "Jon Adler"} | given
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        return client.post(f"/api/v1/jobs/{job.number}/join/", body, format="json", headers=headers)

    assert join(1, 2, 3, 4, 5, second_look=False).json()["code"] == "held"
    assert join(1, 2, 3, 4).json()["done"] is False
    assert join(1, 2, 3, 5).json()["done"] is False
    told = join(1, 2, 3, 5, strips=[{"strip": 1, "spots": 4, "failed": 3}])
    assert (told.status_code, told.json()["code"]) == (409, "impossible_value")
    assert "has 2 joints, 3 cannot" in told.json()["message"]
    assert join(1, 2, 3, 4, 5).json()["done"] is True
