"""Every kind of job by the API alone: the same operations, the same stages, the same refusals."""

from typing import Any

import pytest

from packs.terms import ROUTES, JobKind, Stage
from shop import models
from shop.selectors import audit
from tests import line
from tests.factories import CellModelFactory, SettingsFactory

from .conftest import Caller

pytestmark = pytest.mark.django_db

FOUND = {"cell_model": "Round 2.6", "series": 4, "parallel": 2, "joint_method": "spot_weld"}
PLATE = {"model": "Field lantern L-7", "device_class": "other", "rated_voltage_mv": 14400, "rated_capacity_mah": 5200}


@pytest.fixture(autouse=True)
def workshop() -> None:
    SettingsFactory()


def taken_in(caller: Caller, **given: Any) -> Any:
    asked = {"customer_name": "Otto Brandt", "nameplate": PLATE, "signs": []}
    return caller.post("jobs/", asked | given, expect=201)


def test_a_pack_is_tested(caller: Caller) -> None:
    CellModelFactory()
    made = taken_in(caller, kind="test_only")
    assert made["route"] == [stage.value for stage in ROUTES[JobKind.TEST_ONLY]]
    job = f"jobs/{made['number']}/"
    assert caller.post(job + "examine/", FOUND)["job"]["stage"] == "test_pack"
    refused = caller.post(job + "pack-test/", {"discharge": {"capacity_mah": 4160}, "groups_mv": []}, expect=409)
    assert (refused["code"], refused["facts"]["field"]) == ("current_missing", "current")
    test = {"discharge": {"capacity_mah": 4160, "current_ma": 1040}, "groups_mv": [4130, 4130, None, 4130]}
    assert caller.post(job + "pack-test/", test)["done"]
    assert caller.post(job + "documents/", {"kind": "health_report"})["created"] == ["HR0001"]
    assert caller.post(job + "hand-over/", {"received_by": "Otto Brandt"})["job"]["closed_at"]
    assert list(audit.differences()) == []


def test_a_pack_is_taken_back(caller: Caller) -> None:
    line.containers()
    count = {"cells": 8, "basis": "estimated"}
    made = taken_in(caller, kind="take_back", count=count, nameplate=PLATE | {"chemistry": "nmc"})
    job = f"jobs/{made['number']}/"
    (item,) = caller.get(job + "items/")["results"]
    assert (item["kind"], item["cell_count"], item["count_basis"]) == ("pack", 8, "estimated")
    caller.post(job + "to-container/", {"container": "W-INTACT", "items": [item["id"]], "insulated": True})
    caller.post(job + "finish-removed/", {})
    caller.post(job + "documents/", {"kind": "disposal_note"})
    assert caller.post(job + "hand-over/", {"received_by": ""})["job"]["closed_at"]


def test_a_rebuild_needs_an_owner_of_the_removed_cells(caller: Caller) -> None:
    asked = {"customer_name": "Otto Brandt", "nameplate": PLATE, "signs": []}
    assert caller.post("jobs/", asked, expect=409)["code"] == "owner_missing"
    assert caller.post("jobs/", asked | {"kind": "warranty"}, expect=409)["code"] == "wrong_kind"


def test_a_pack_is_built_for_stock(caller: Caller) -> None:
    made = caller.post("jobs/for-stock/", {"model": "Lamp pack 14.4 V", "device_class": "other"}, expect=201)
    assert (made["kind"], made["stage"]) == ("for_stock", "target")
    job = models.Job.objects.get(number=made["number"])
    while job.stage != Stage.INTO_STOCK:
        line.WAY[Stage(job.stage)](job)
        job.refresh_from_db()
    address = f"jobs/{job.number}/"
    assert caller.post(address + "into-stock/", {}, expect=409)["facts"]["rules"] == [
        "handover.report",
        "handover.label",
    ]
    for kind in ("test_report", "pack_label"):
        caller.post(address + "documents/", {"kind": kind})
    assert caller.post(address + "into-stock/", {})["job"]["closed_at"]
    assert caller.get(address + "items/")["results"][0]["place"] == "stock"
    assert [row["number"] for row in caller.get("jobs/", kind="for_stock")["results"]] == [job.number]


def test_a_pack_comes_back_and_the_build_is_given_up(caller: Caller) -> None:
    old = line.handed_over()
    asked = {"signs": [], "removed_owner": "shop", "complaint": "dead again"}
    made = caller.post(f"jobs/{old.number}/returns/", asked, expect=201)
    assert (made["kind"], made["returns"]) == ("warranty", old.number)
    assert caller.post(f"jobs/{old.number}/returns/", asked, expect=409)["code"] == "returned_already"
    job = models.Job.objects.get(number=made["number"])
    for stage in (Stage.EXAMINE, Stage.TARGET, Stage.MATCH):
        line.WAY[stage](job)
        job.refresh_from_db()
    address = f"jobs/{job.number}/"
    out = caller.post(address + "removed-cells/", {"condition": "damaged", "code": "S004"})
    assert out["created"] == ["S004"]
    told = caller.post(address + "give-up/", {"reason": "no cells that match"})
    assert (told["job"]["stage"], told["job"]["given_up"]) == ("dismantle", "no cells that match")
    assert caller.post(address + "give-up/", {"reason": "again"}, expect=409)["code"] == "given_up_already"


def test_a_group_is_repaired(caller: Caller) -> None:
    CellModelFactory()
    made = taken_in(caller, kind="group_repair", removed_owner="shop")
    assert made["route"] == [stage.value for stage in ROUTES[JobKind.GROUP_REPAIR]]
    job = f"jobs/{made['number']}/"
    assert caller.post(job + "examine/", FOUND, expect=409)["code"] == "groups_not_measured"
    caller.post(job + "examine/", FOUND | {"group_voltages_mv": [3300, 2100, 3310, 3300]})
    stated = FOUND | {
        "strip_material": "nickel_200",
        "strip_width_um": 8000,
        "strip_thickness_um": 150,
        "continuous_current_ma": 6000,
        "charger_voltage_mv": 16800,
    }
    for replaced, code in (
        ([], "no_group_named"),
        ([0], "no_such_group"),
        ([5], "no_such_group"),
        ([2, 2], "group_twice"),
        ([1, 2, 3, 4], "all_groups"),
    ):
        refused = caller.post(job + "target/", stated | {"replaced": replaced}, expect=409)
        assert (refused["code"], refused["facts"]["field"]) == (code, "replaced")
    caller.post(job + "target/", stated | {"replaced": [2], "group_capacities_mah": {"one": 4800}}, expect=400)
    caller.post(job + "target/", stated | {"replaced": [2], "group_capacities_mah": {"1": 4800}})
    line.stock()
    (proposed,) = caller.get(job + "proposal/")["groups"]
    assert (proposed["number"], proposed["capacity_mah"]) == (2, "5070.000")
    assert caller.post(job + "accept/", {"groups": [proposed["cells"]]}, expect=409)["code"] == "held"
    line.accept_old_beside_new(models.Job.objects.get(number=made["number"]))
    assert caller.post(job + "accept/", {"groups": [proposed["cells"]]})["job"]["stage"] == "dismantle"
    caller.post(job + "removed-cells/", {"condition": "damaged", "count": 2})
    caller.post(job + "finish-dismantling/", {})
    for code in proposed["cells"]:
        caller.post(job + "place-cell/", {"code": code})
    rest = {"2.1": 3620, "2.2": 3620, "group 1": 3300, "group 3": 3310, "group 4": 3300}
    told = caller.post(job + "rest-voltages/", {"rest_voltages_mv": rest})
    stops = [found for found in told["findings"] if found["severity"] == "stop" and found["outcome"] == "fail"]
    assert [(found["rule_id"], found["where"], found["limit"]) for found in stops] == [
        ("measure.group_level", "group 2", "3.25\u202fV to 3.35\u202fV")
    ]
    assert caller.post(
        job + "rest-voltages/", {"rest_voltages_mv": rest | {"2.1": 3300, "2.2": 3310}, "since": "levelled for 2 h"}
    )["done"]
    plan = caller.get("plans/", job=made["number"])["results"][0]
    assert (plan["replaced"], len(plan["positions"])) == ([2], 2)
    told = caller.post(job + "give-up/", {"reason": "the board is dead", "standing": "intact"})
    (rest_of_pack,) = [item for item in caller.get(job + "items/")["results"] if item["kind"] == "pack"]
    assert (told["job"]["stage"], rest_of_pack["cell_count"]) == ("removed", 6)
    caller.post(job + "to-customer/", {"cells": [], "items": [rest_of_pack["id"]], "insulated": True})
    assert list(audit.differences()) == []
