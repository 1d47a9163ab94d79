"""Limits of places by the API."""

import pytest

from packs.terms import Role
from tests.api.conftest import Caller
from tests.factories import CellFactory, UserFactory

pytestmark = pytest.mark.django_db


def test_the_api_tells_and_sets_them(caller: Caller) -> None:
    CellFactory()
    caller.post("places/", {"area": "stock", "energy_mwh": 10_000, "said_by": "fire code"}, expect=403)
    caller.client.force_login(UserFactory(username="owner", roles=(Role.OWNER,)))
    caller.post("places/", {"area": "stock", "energy_mwh": 10_000, "said_by": "fire code"}, expect=201)
    (told,) = [one for one in caller.get("places/") if one["area"] == "stock"]
    energy = told["filled"][0]
    assert energy == {
        "bulk": "energy_mwh",
        "amount": "9360.000",
        "limit": "10000.000",
        "room": "nearly",
        "uncounted": [],
    }
