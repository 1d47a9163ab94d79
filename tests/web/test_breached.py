"""The page of a pierced can: the cells in the pack, and tested ones to choose from in stock."""

import pytest
from django.test import Client

from packs.terms import JobKind, Role, Stage
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.web.desk import send, sign_in, stage_of, words

pytestmark = pytest.mark.django_db


def test_a_pierced_can_is_replaced_by_a_tested_cell(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.JOIN)
    CellFactory(code="X1")
    CellFactory(code="X2", readings={})
    page = words(client.get(f"/jobs/{job.number}/breached/"))
    assert "X1" in page
    assert "X2" not in page
    typed = {"code": "S001", "happened": "electrode slipped", "instead": "X1"}
    refused = send(client, f"/jobs/{job.number}/breached/", **typed)
    assert "Not confirmed: work stopped" in words(refused)
    assert stage_of(job) == Stage.JOIN
    send(client, f"/jobs/{job.number}/breached/", **typed, isolated="on")
    assert stage_of(job) == Stage.PLACE


def test_beside_groups_that_stay_what_stays_live_is_said(client: Client) -> None:
    """On the page of a pierced can, and where the pack is parked."""
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    whole, repair = line.job_at(Stage.JOIN), line.job_at(Stage.JOIN, kind=JobKind.GROUP_REPAIR)
    for page in ("breached", "park"):
        said = {job.pk: words(client.get(f"/jobs/{job.number}/{page}/")) for job in (whole, repair)}
        assert "What stays of the old pack stays live" in said[repair.pk]
        assert "What stays of the old pack stays live" not in said[whole.pk]
