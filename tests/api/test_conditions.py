"""Conditions of cells by the API: rejected as they come out, lowered with a reason, and out of stock."""

import uuid
from typing import Any

import pytest
from rest_framework.test import APIClient

from packs.terms import Stage
from tests import line
from tests.factories import CellFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> APIClient:
    client = APIClient()
    client.force_authenticate(line.technician())
    return client


def post(client: APIClient, address: str, **body: Any) -> Any:
    headers = {"Idempotency-Key": uuid.uuid4().hex}
    return client.post(f"/api/v1/{address}", body, format="json", headers=headers)


def test_a_cell_at_0_v_comes_out_as_defective(client: APIClient) -> None:
    job = line.job_at(Stage.DISMANTLE)
    made = post(client, f"jobs/{job.number}/removed-cells/", condition="intact", rest_voltage_mv=0, sure=True).json()[
        "created"
    ]
    (cell,) = client.get(f"/api/v1/cells/?job={job.number}").json()["results"]
    assert (cell["code"], cell["condition"]) == (made[0], "damaged")
    (change,) = client.get(f"/api/v1/cells/{made[0]}/conditions/").json()["results"]
    assert (change["before"], change["after"], change["by"]) == ("intact", "damaged", "technician")
    assert change["reason"].startswith("Rejected: ")


def test_lowered_and_out(client: APIClient) -> None:
    line.containers()
    CellFactory(code="R1")
    up = post(client, "cells/R1/conditions/", condition="intact", reason="it is fine")
    assert (up.status_code, up.json()["code"]) == (409, "not_lower")
    assert post(client, "cells/R1/conditions/", condition="damaged", reason="dented").status_code == 201
    wrong = post(client, "cells/R1/discard/", container="W-INTACT", insulated=True)
    assert (wrong.status_code, wrong.json()["code"]) == (409, "wrong_container")
    gone = post(client, "cells/R1/discard/", container="W-DAMAGED", insulated=True, packed_alone=True)
    assert (gone.status_code, gone.json()["place"], gone.json()["condition"]) == (200, "container", "damaged")


def test_a_cell_that_a_plan_holds_stays(client: APIClient) -> None:
    line.job_at(Stage.PLACE)
    line.containers()
    lowered = post(client, "cells/S001/conditions/", condition="damaged", reason="dented")
    out = post(client, "cells/S001/discard/", container="W-INTACT", insulated=True)
    assert {lowered.json()["code"], out.json()["code"]} == {"in_a_plan"}
