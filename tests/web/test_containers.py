"""Waste containers: one condition each, a start date, and out with a named carrier."""

import uuid
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import Condition, Place, Role, Stage
from shop import models
from tests import line, rows
from tests.factories import SettingsFactory
from tests.web.desk import errors, primary, send, sign_in, words

pytestmark = pytest.mark.django_db

NEW = "/containers/new/"


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


@pytest.fixture
def full(technician: Client) -> models.Container:
    """Return a container with three damaged cells."""
    _, container = line.containers()
    cells = {"place": Place.CONTAINER.value, "container": container, "condition": Condition.DAMAGED.value}
    rows.removed(rows.job(Stage.HAND_OVER), 3, **cells, job=None)
    return container


def typed(**changes: str) -> dict[str, str]:
    return {"code": "W-1", "condition": "damaged", "started_on": "2026-11-20"} | changes


def test_an_empty_list_says_what_it_will_hold_and_offers_the_first_step(technician: Client) -> None:
    answer = technician.get("/containers/")
    assert "No container is open" in words(answer)
    assert primary(answer) == ["Open a container"]


def test_the_counter_reads_who_opens_one(client: Client) -> None:
    sign_in(client, Role.COUNTER)
    answer = client.get("/containers/")
    assert "A technician opens it." in words(answer)
    assert primary(answer) == []
    assert client.get(NEW).status_code == 403
    assert send(client, NEW, **typed()).status_code == 403


def test_a_container_is_opened_once_with_its_condition_and_start(technician: Client) -> None:
    token = str(uuid.uuid4())
    for _ in range(2):
        assert send(technician, NEW, form_token=token, **typed()).url == "/containers/W-1/"
    row = models.Container.objects.get()
    assert (row.condition, row.started_on) == (Condition.DAMAGED, date(2026, 11, 20))
    assert "Nothing is in it yet" in words(technician.get("/containers/W-1/"))


def test_a_code_may_hold_strokes_and_spaces(technician: Client) -> None:
    sent = send(technician, NEW, **typed(code="2026/W 7"))
    assert technician.get(sent.url).status_code == 200
    assert technician.get("/containers/").status_code == 200


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"condition": "reactive"}, "condition", "Select a valid choice"),
        ({"condition": ""}, "condition", "This field is required."),
        ({"code": " "}, "code", "This field is required."),
        ({"started_on": "soon"}, "started_on", "Enter a valid date."),
        ({"started_on": str(timezone.localdate() + timedelta(days=2))}, "started_on", "The start date lies ahead."),
        ({"code": "W-INTACT"}, "code", "already exists"),
        ({"code": "new"}, "code", "Give it a code"),
    ],
)
def test_a_container_that_cannot_be_is_refused_beside_its_field(
    technician: Client, changes: dict[str, str], field: str, message: str
) -> None:
    line.containers()
    answer = send(technician, NEW, **typed(**changes))
    assert set(errors(answer)) == {field}
    assert message in errors(answer)[field][0]
    assert models.Container.objects.count() == 2


def test_a_container_says_what_is_in_it_and_from_which_job(full: models.Container, technician: Client) -> None:
    answer = technician.get(f"/containers/{full.code}/")
    seen = words(answer)
    assert "J0001-R-001" in seen
    assert "for what is damaged or defective" in seen
    assert "local fire codes set quantities" in seen
    assert primary(answer) == ["Hand the container over"]


def test_a_container_leaves_with_everything_in_it_once(full: models.Container, technician: Client) -> None:
    page, token = f"/containers/{full.code}/", str(uuid.uuid4())
    for _ in range(2):
        sent = send(technician, page, form_token=token, carrier="Brook Freight", receiver="Oberau works")
        assert sent.url == page
    assert set(full.cells.values_list("place", flat=True)) == {Place.CONSIGNED.value}
    assert models.Movement.objects.filter(container=full, to_place=Place.CONSIGNED.value).count() == 3
    answer = technician.get(page)
    assert "Brook Freight, for Oberau works" in words(answer)
    assert primary(answer) == []
    assert "Handed to a carrier" in words(technician.get("/containers/"))


def test_nobody_named_is_refused_beside_the_field_and_the_rest_is_kept(
    full: models.Container, technician: Client
) -> None:
    answer = send(technician, f"/containers/{full.code}/", carrier="Brook Freight", receiver="")
    assert set(errors(answer)) == {"receiver"}
    assert 'value="Brook Freight"' in answer.content.decode()
    full.refresh_from_db()
    assert full.consigned_at is None


def test_an_empty_container_and_one_that_left_are_refused_in_words(technician: Client) -> None:
    empty, _ = line.containers()
    answer = send(technician, f"/containers/{empty.code}/", carrier="Brook Freight", receiver="Oberau works")
    assert errors(answer) == {"__all__": [f"Container {empty.code} is empty; there is nothing to consign."]}
    empty.refresh_from_db()
    assert empty.consigned_at is None


def test_the_counter_hands_no_container_over(full: models.Container, client: Client) -> None:
    sign_in(client, Role.COUNTER)
    answer = client.get(f"/containers/{full.code}/")
    assert answer.status_code == 200
    assert primary(answer) == []
    sent = send(client, f"/containers/{full.code}/", carrier="Brook Freight", receiver="Oberau works")
    assert (sent.status_code, "technician, lead, owner" in words(sent)) == (403, True)
    full.refresh_from_db()
    assert full.consigned_at is None


def test_no_such_container_is_not_found(technician: Client) -> None:
    assert technician.get("/containers/W-404/").status_code == 404
