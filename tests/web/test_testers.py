"""Keys of testers: issued and withdrawn by a lead, shown once."""

import re
import uuid
from html import unescape

import pytest
from django.test import Client
from rest_framework.test import APIClient

from packs.terms import Role
from shop import models
from tests.factories import CellFactory, SettingsFactory
from tests.web.desk import errors, said, send, sign_in, words

pytestmark = pytest.mark.django_db
TESTERS = "/settings/testers/"


@pytest.fixture
def lead(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.LEAD)
    return client


@pytest.fixture
def meter() -> models.Instrument:
    return models.Instrument.objects.create(name="rack meter")


def key_on(answer: object) -> str:
    found = re.findall(r"<code>([\w-]{43})</code>", answer.content.decode())  # type: ignore[attr-defined]
    return found[0] if found else ""


def posted_with(key: str, run: str) -> int:
    tester = APIClient()
    tester.credentials(HTTP_AUTHORIZATION=f"Tester {key}")
    reading = {"cell": "C1", "measure": "capacity_mah", "value": "2571.5"}
    return tester.post("/api/v1/readings/", reading, format="json", headers={"Idempotency-Key": run}).status_code


def test_a_key_is_shown_once_opens_the_door_and_is_withdrawn(lead: Client, meter: models.Instrument) -> None:
    CellFactory(code="C1")
    form = {"name": "rack 1", "instrument": meter.pk, "form_token": str(uuid.uuid4())}
    answer = lead.post(TESTERS, form)
    key = key_on(answer)
    assert key
    assert "no-store" in answer.headers["Cache-Control"]
    assert key not in lead.get(TESTERS).content.decode()
    assert key not in lead.post(TESTERS, form, follow=True).content.decode()
    assert models.TesterToken.objects.count() == 1
    assert posted_with(key, "one") == 201
    token = models.TesterToken.objects.get()
    assert "does not come back" in words(lead.get(f"{TESTERS}{token.pk}/withdraw/"))
    assert models.TesterToken.objects.get().revoked_at is None, "looking at the question withdraws nothing"
    after = send(lead, f"{TESTERS}{token.pk}/withdraw/")
    assert after.url == TESTERS
    assert posted_with(key, "two") == 401
    assert "withdrawn" in words(lead.get(TESTERS))


def test_the_page_of_a_key_shows_a_request_that_is_taken(lead: Client, meter: models.Instrument) -> None:
    """What stands there is sent as it stands, but for the code of the cell."""
    CellFactory(code="B2611-002")
    told = unescape(send(lead, TESTERS, name="rack 1", instrument=meter.pk).content.decode())
    request = re.search(r"<pre[^>]*>(.*?)</pre>", told, re.DOTALL)
    assert request
    head, _, body = request[1].partition("\n\n")
    headers = dict(line.split(": ", 1) for line in head.splitlines()[1:])
    kind = headers.pop("Content-Type")
    answer = APIClient().generic("POST", "/api/v1/readings/", body, content_type=kind, headers=headers)
    assert answer.status_code == 201, answer.content


def test_a_meter_that_was_missing_leads_back_to_the_key(lead: Client) -> None:
    """There is none yet."""
    asked = re.search(r'href="([^"]*meters/new/[^"]*)"', lead.get(TESTERS).content.decode())
    assert asked
    added = send(lead, unescape(asked[1]), name="bench meter 9", error_ppm="0.05", error_uv="1")
    assert added.url == TESTERS


def test_a_key_is_withdrawn_once(lead: Client, meter: models.Instrument) -> None:
    send(lead, TESTERS, name="rack 1", instrument=meter.pk)
    address = f"{TESTERS}{models.TesterToken.objects.get().pk}/withdraw/"
    send(lead, address)
    send(lead, address)
    assert "The key of rack 1 was withdrawn already." in said(lead.get(TESTERS))


def test_two_testers_never_share_a_name(lead: Client, meter: models.Instrument) -> None:
    send(lead, TESTERS, name="rack 1", instrument=meter.pk)
    answer = send(lead, TESTERS, name="rack 1", instrument=meter.pk)
    assert set(errors(answer)) == {"name"}
    assert not key_on(answer)


def test_without_a_meter_the_page_leads_to_one(lead: Client) -> None:
    assert "Add the meter first." in words(lead.get(TESTERS))


def test_two_testers_of_one_lead_may_use_the_same_run_number(lead: Client, meter: models.Instrument) -> None:
    CellFactory(code="C1")
    keys = [key_on(send(lead, TESTERS, name=name, instrument=meter.pk)) for name in ("rack 1", "rack 2")]
    assert [posted_with(key, "run-1") for key in keys] == [201, 201]
    assert models.Reading.objects.filter(value="2571.5").count() == 2
