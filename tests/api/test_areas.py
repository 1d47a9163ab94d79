"""Limits of places by the API."""

import pytest

from packs.terms import Area, Role, Stage
from shop.operations import areas
from tests import line
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


def test_whoever_takes_in_is_told_that_the_place_is_nearly_full(caller: Caller) -> None:
    """Eight cells of 9360 mWh and a pack of 1 Wh are 84.3 % of 90 Wh, with another one 85.4 %; arithmetic."""
    line.job_at(Stage.TARGET)
    take_in = {"customer_name": "Ida Moor", "nameplate": {"model": "GP-3", "device_class": "tool"}, "signs": []}
    take_in |= {"removed_owner": "shop", "size": {"rated_energy_mwh": 1000}}
    assert caller.post("jobs/", take_in, expect=201)["nearly_full"] == []
    owner = UserFactory(username="owner", roles=(Role.OWNER,))
    areas.set_area_limit(area=Area.CUSTOMER_PACKS, energy_mwh=90_000, said_by="fire code", by=owner)
    (told,) = caller.post("jobs/", take_in, expect=201)["nearly_full"]
    assert told.startswith("Customers' packs: nearly full")
    refused = caller.post("jobs/", take_in | {"size": {"mass_mg": 900_000}}, expect=409)
    assert (refused["code"], list(refused["facts"]["fields"])) == ("size_unknown", ["rated_energy_mwh"])
