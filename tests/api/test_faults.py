"""A pack is stated for fault finding by the API; what is odd is asked back there too."""

import pytest

from packs.terms import Stage
from shop import models
from tests import line
from tests.api.conftest import Caller

pytestmark = pytest.mark.django_db


def test_another_number_of_groups_than_was_found_is_asked_back_and_taken_from_who_is_sure(caller: Caller) -> None:
    address = f"jobs/{line.job_at(Stage.TARGET).number}/fault-pack/"
    pack = {"series": 5, "chemistry": "nmc"}
    assert caller.post(address, pack, expect=409)["code"] == "unlikely_value"
    caller.post(address, pack | {"sure": True})
    assert models.FaultSearch.objects.get().series == 5


def test_a_cell_too_hot_to_be_probed_is_refused(caller: Caller) -> None:
    address = f"jobs/{line.job_at(Stage.EXAMINE).number}/fault-pack/"
    caller.post(address, {"series": 4, "chemistry": "nmc", "temperature_mdegc": 210_000}, expect=400)
    assert not models.FaultSearch.objects.exists()
