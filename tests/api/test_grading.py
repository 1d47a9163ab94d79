"""Criteria of grades, new cells and goods in by the API. Numbers are invented."""

import pytest

from shop.models import Lot
from tests.api.conftest import Caller
from tests.factories import CellModelFactory, LotFactory

pytestmark = pytest.mark.django_db


def test_criteria_are_told_set_whole_and_told_again(caller: Caller) -> None:
    before = caller.get("criteria/")
    assert (before["version"], before["values"]["first_least_health_percent"]) == (0, "90.000")
    stricter = before["values"] | {"first_least_health_percent": "95"}
    row = caller.post("criteria/", {"values": stricter, "reason": "for pumps"}, expect=201)
    assert (row["number"], row["reason"]) == (1, "for pumps")
    after = caller.get("criteria/")
    assert (after["version"], after["values"]["first_least_health_percent"]) == (1, "95.000")
    part = caller.post("criteria/", {"values": {"oldest_d": "90"}, "reason": "newer"}, expect=409)
    assert part["code"] == "criteria_incomplete"


def test_what_a_new_cell_reads_is_stated_and_listed(caller: Caller) -> None:
    body = {"cell_model": CellModelFactory().name, "dc_resistance_uohm": 30_000, "method": "DC pulse 10 s"}
    caller.post("new-cells/", body | {"temperature_mdegc": 23_000, "source": "sheet"}, expect=201)
    (row,) = caller.get("new-cells/")["results"]
    assert (row["dc_resistance_uohm"], row["protection"]) == (30_000, "unknown")


def test_a_lot_is_held_by_its_sample_and_released(caller: Caller) -> None:
    code = LotFactory().code
    assert caller.post(f"lots/{code}/goods-in/", {"mass_mg": 46_000}, expect=201)["doubts"] == []
    (doubt,) = caller.post(f"lots/{code}/goods-in/", {"mass_mg": 30_000}, expect=201)["doubts"]
    assert Lot.objects.get(code=code).held_why == doubt
    caller.post(f"lots/{code}/release/", {"reason": "the scale was off"}, expect=201)
    assert Lot.objects.get(code=code).held_why == ""
