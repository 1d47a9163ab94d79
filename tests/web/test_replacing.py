"""The page on which one cell of a plan is replaced: shown, then done as shown."""

import pytest
from django.test import Client

from packs.terms import Measure, Role, Stage
from shop import models
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.web.desk import send, sign_in, stage_of, words

pytestmark = pytest.mark.django_db


def test_the_least_change_is_shown_and_done(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.MEASURE)
    where = f"/jobs/{job.number}/replace/"
    assert where in client.get(f"/jobs/{job.number}/steps/measure/").content.decode()
    assert "No free cell in stock" in words(client.get(f"{where}?cell=S001"))
    CellFactory(code="X1", readings={Measure.CAPACITY: 2590, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620})
    page = client.get(f"{where}?cell=S001")
    assert "The weakest group had 5130 mAh and has 5120 mAh then" in words(page)
    (entering,) = page.context["least"].changes
    assert (entering.into, entering.capacity.magnitude, entering.resistance.m_as("mohm")) == ("X1", 2590, 40)
    assert "2590" in words(page).partition("Goes in")[2].partition("The weakest group")[0]
    assert "Choose the cell that is not fit." in words(client.get(f"{where}?cell="))
    shown = page.context["signed"]
    assert "no change that was shown" in words(
        send(client, where, change="made up", reason="dented", condition="intact")
    )
    assert "This field is required." in words(send(client, f"{where}?cell=S001", change=shown, reason="dented"))
    sent = send(client, f"{where}?cell=S001", change=shown, reason="dented", condition="damaged")
    told = words(client.get(sent.url))
    assert "X1 reserved. S001 is damaged or defective and is used in no pack: put it into a container now." in told
    assert not models.Cell.objects.in_stock().filter(code="S001").exists()
    assert stage_of(job) == Stage.PLACE
    again = send(client, where, change=shown, reason="dented", condition="damaged")
    assert "The plan was changed since this was shown" in words(again)


def test_for_a_pierced_can_the_best_free_cell_is_named(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.JOIN)
    CellFactory(code="X1", readings={Measure.CAPACITY: 2300, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620})
    page = client.get(f"/jobs/{job.number}/breached/?cell=S001")
    assert "No replacement for cell S001 was found" not in words(page)
    assert page.context["form"]["instead"].value() == "X1"
    refused = client.get(f"/jobs/{job.number}/breached/?cell=nobody")
    assert refused.context["least"] is None


def test_a_damaged_cell_from_the_shelf_goes_into_a_container_first(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.PLACE)
    CellFactory(code="X1", readings={Measure.CAPACITY: 2590, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620})
    where = f"/jobs/{job.number}/replace/?cell=S001"
    sent = {"change": client.get(where).context["signed"], "reason": "dented", "condition": "damaged"}
    assert send(client, where, version=job.version, **sent).url == "/stock/discard/S001/"
    discard = words(client.get("/stock/discard/S001/"))
    assert "put it into a container now" in discard
    assert "job card no longer counts" not in discard, "none was printed"
