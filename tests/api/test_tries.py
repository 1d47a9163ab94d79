"""Tries of the steps by the API: each with its number and outcome, and every reading with its own."""

import uuid
from typing import Any

import pytest
from rest_framework.test import APIClient

from packs.terms import Stage
from tests import line

pytestmark = pytest.mark.django_db


def test_a_step_done_again_lists_both_tries_and_their_readings() -> None:
    job = line.job_at(Stage.LADDER)
    client = APIClient()
    client.force_authenticate(line.technician())

    def taps(*mv: int) -> Any:
        headers = {"Idempotency-Key": uuid.uuid4().hex}
        return client.post(f"/api/v1/jobs/{job.number}/taps/", {"taps_mv": mv}, format="json", headers=headers).json()

    assert taps(3620, 7240, 10860, 14600)["done"] is False
    assert taps(3620, 7240, 10860, 14480)["done"] is True
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
