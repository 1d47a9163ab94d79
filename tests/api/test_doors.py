"""Every address of the API, found through the URL resolver, asks who is there; a tester's key opens one of them."""

from typing import Any

import pytest
from django.urls import URLPattern, get_resolver
from rest_framework.test import APIClient

from packs.terms import Role
from shop.models import Instrument
from shop.operations import testers
from tests.factories import CellFactory, UserFactory

pytestmark = pytest.mark.django_db


def _address(pattern: URLPattern) -> str:
    return "/api/v1/" + str(pattern.pattern).replace("<int:number>", "1").replace("<int:pk>", "1").replace(
        "<str:code>", "W1"
    )


PAGE = "/api/v1/docs/"
ADDRESSES = sorted({_address(pattern) for pattern in get_resolver("shop.api.urls").url_patterns} - {PAGE})
READINGS = "/api/v1/readings/"


def key() -> str:
    lead = UserFactory(username="lead", roles=(Role.LEAD, Role.TECHNICIAN))
    return testers.issue_token(name="rack 1", instrument=Instrument.objects.create(name="rack 1"), by=lead)[1]


def post(client: APIClient, address: str, body: Any = None) -> Any:
    return client.post(address, body or {}, format="json", headers={"Idempotency-Key": "one"})


@pytest.mark.parametrize("address", ADDRESSES)
def test_nobody_comes_in_unknown(address: str) -> None:
    client = APIClient()
    for answer in (client.get(address), post(client, address)):
        assert answer.status_code in (401, 403, 405)
        if "openapi" not in answer.headers["Content-Type"]:  # the description itself speaks its own type
            assert set(answer.json()) == {"code", "message", "facts"}


def test_the_page_of_the_description_asks_who_is_there() -> None:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Tester {key()}")
    assert client.get(PAGE).url.startswith("/sign-in/")


@pytest.mark.parametrize("address", [address for address in ADDRESSES if address != READINGS])
def test_a_testers_key_opens_nothing_but_readings(address: str) -> None:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Tester {key()}")
    for answer in (client.get(address), post(client, address), client.get(READINGS)):
        assert answer.status_code in (403, 405)


def test_a_tester_posts_a_reading_under_its_own_instrument() -> None:
    CellFactory(code="C1")
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Tester {key()}")
    answer = post(client, READINGS, {"cell": "C1", "measure": "capacity_mah", "value": "2571.5"})
    assert answer.status_code == 201, answer.content
    told = answer.json()
    assert (told["instrument"], told["by"], told["tester"]) == ("rack 1", "lead", "rack 1")
    assert told["value"] == "2571.500"


def test_a_revoked_key_opens_nothing() -> None:
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Tester {key()}")
    lead = UserFactory(username="lead", roles=(Role.LEAD, Role.TECHNICIAN))
    testers.revoke_token(token=testers.TesterToken.objects.get(), by=lead)
    assert post(client, READINGS, {"cell": "C1", "measure": "capacity_mah", "value": "1"}).status_code == 401
