"""One job from counter to hand-over by the API alone."""

from typing import Any

import pytest

from shop.selectors import audit
from tests import line
from tests.factories import SettingsFactory

from .conftest import Caller

BOARD = {"suits": True, "overcharge_mv": 4225, "undervoltage_mv": 3000}
WELD = {"machine": "bench welder", "schedule": "two pulses, ms", "pulse": 14}
SAMPLES = {"weld": WELD, "specimen": "scrap_can", "peeled": {"positive": "held", "negative": "held"}}
pytestmark = pytest.mark.django_db
HOUSING = ("fixed", "wires", "insulation", "vent_path", "strain_relief", "sensors", "gasket")


def model() -> dict[str, Any]:
    return {
        "name": "Round 2.6",
        "chemistry": "nmc",
        "cell_format": "round",
        "terminals": "opposite_ends",
        "rated_capacity_mah": 2600,
        "nominal_voltage_mv": 3600,
        "charge_limit_mv": 4200,
        "end_of_discharge_mv": 3000,
        "max_charge_current_ma": 2600,
        "max_discharge_current_ma": 5200,
    }


def stock(caller: Caller) -> list[str]:
    caller.post("cell-models/", model(), expect=201)
    lot = {"code": "L1", "cell_model": "Round 2.6", "origin": "bought", "received_on": "2026-11-02"}
    caller.post("lots/", lot, expect=201)
    rows = [
        {"code": f"S{n}", "readings": {"capacity_mah": mah, "dc_resistance_uohm": 40000, "rest_voltage_mv": 3620}}
        for n, mah in enumerate(line.CAPACITIES, start=1)
    ]
    made = caller.post("cells/import/", {"lot": "L1", "rows": rows, "resistance_method": "DC 10 s"}, expect=201)
    return [cell["code"] for cell in made]


def open_job(caller: Caller) -> str:
    taken = caller.post(
        "jobs/",
        {
            "customer_name": "Ida Moor",
            "nameplate": {"model": "Garden pump GP-3", "device_class": "tool"},
            "signs": [],
            "removed_owner": "shop",
        },
        expect=201,
    )
    return f"jobs/{taken['number']}/"


def pack() -> dict[str, Any]:
    return {"cell_model": "Round 2.6", "series": 4, "parallel": 2, "joint_method": "spot_weld"}


def build(caller: Caller, job: str, codes: list[str]) -> None:
    caller.post(job + "examine/", pack() | {"pack_voltage_mv": 13200})
    strip = {"strip_material": "nickel_200", "strip_width_um": 8000, "strip_thickness_um": 150}
    caller.post(job + "target/", pack() | strip | {"continuous_current_ma": 6000, "charger_voltage_mv": 16800})
    caller.post(job + "accept/", {"groups": [[codes[n], codes[-1 - n]] for n in range(4)]})
    caller.post(job + "removed-cells/", {"condition": "intact", "rest_voltage_mv": 3300, "count": 8})
    caller.post(job + "finish-dismantling/", {})
    for code in codes:
        caller.post(job + "place-cell/", {"code": code})
    caller.post(job + "rest-voltages/", {"rest_voltages_mv": dict.fromkeys(line.names(), 3620)})
    caller.post(job + "peel-samples/", SAMPLES)
    strips = [{"strip": n, "spots": 4} for n in range(1, 6)]
    caller.post(job + "join/", {"strips": strips, "weld": WELD, "second_look": True, "second_look_by": "Jon"})


def prove(caller: Caller, job: str) -> None:
    caller.post(job + "taps/", {"taps_mv": [3620, 7240, 10860, 14480], "board": BOARD})
    caller.photograph(job, "the open case")
    caller.post(job + "housing/", {"confirmed": {f"housing.{name}": True for name in HOUSING}})
    look = {"pack_voltage_mv": 15200, "current_ma": 1000, "hottest_mdegc": 24000}
    looks = [look | {"minutes": minutes} for minutes in (0, 30, 60)]
    charge = {"supervised_by": "J", "charger_voltage_mv": 16790, "lines": looks, "groups_mv": [4180] * 4}
    charge["mid_groups_mv"] = [3900] * 4
    assert caller.post(job + "first-charge/", charge)["done"]
    test = {"capacity_mah": 5080, "pack_rest_mv": 16560, "groups_mv": [4140] * 4, "confirmed": line.CUTOFF}
    test["conditions"] = line.AS_THE_CELLS
    test["hold"] = {"hours": 24, "groups_mv": [4136] * 4}
    test["load"] = {"current_ma": 5000, "pack_mv": 16060, "joint_mv": 1, "hottest_mdegc": 31000}
    assert caller.post(job + "final-test/", test)["done"]


def test_a_job_walks_by_the_api(caller: Caller) -> None:
    SettingsFactory()
    codes = stock(caller)
    job = open_job(caller)
    build(caller, job, codes)
    prove(caller, job)
    removed = [cell["code"] for cell in caller.get("cells/", place="bench")["results"]]
    caller.post(job + "to-stock/", {"cells": removed})
    caller.post(job + "finish-removed/", {})
    for kind in ("test_report", "pack_label"):
        caller.post(job + "documents/", {"kind": kind})
    closed = caller.post(job + "hand-over/", {"received_by": "Ida Moor"})
    assert closed["job"]["closed_at"]
    assert list(audit.differences()) == []


def test_a_stopped_step_says_why_and_keeps_its_readings(caller: Caller) -> None:
    SettingsFactory()
    codes = stock(caller)
    job = open_job(caller)
    build(caller, job, codes)
    answer = caller.post(job + "taps/", {"taps_mv": [3620, 7240, 10860, 14581], "board": BOARD})
    assert not answer["done"]
    assert [finding["rule_id"] for finding in answer["findings"] if finding["outcome"] == "fail"] == [
        "ladder.rest_agreement"
    ]
    assert len(caller.get("readings/", stage="ladder")["results"]) == 4 + 2


def test_the_same_key_does_a_thing_once(caller: Caller) -> None:
    body = {
        "customer_name": "Ida Moor",
        "nameplate": {"model": "GP-3", "device_class": "tool"},
        "signs": [],
        "removed_owner": "shop",
    }
    first = caller.post("jobs/", body, key="same", expect=201)
    assert caller.post("jobs/", body, key="same", expect=201) == first
    refused = caller.post("jobs/", body | {"customer_name": "Otto"}, key="same", expect=409)
    assert refused["code"] == "key_reused"
    assert caller.get("jobs/")["count"] == 1
