"""The job of tests/journey/test_rebuild.py by the API: the same cells, the same faults on the way, the same end.

Cells: terencetaothucb/Pulse-Voltage-Response-Generation, Nature Communications 2024, doi:10.1038/s41467-024-54454-0.
"""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from shop.bridge.rules import HOUSING_RULES
from shop.models import Cell, Plan
from tests.factories import SettingsFactory
from tests.journey import outcome
from tests.journey.arithmetic import Measured, best_weakest_pair, cells_at_last_age, joints_of_strips, taps
from tests.journey.building import LEAST_SHARE
from tests.journey.planning import PARALLEL, SERIES, Groups, capacities
from tests.journey.stock import MODEL

from .conftest import Caller

BOARD = {"suits": True, "overcharge_mv": 4225, "undervoltage_mv": 3000}
WELD = {"machine": "bench welder", "schedule": "two pulses, ms", "pulse": 14}
SAMPLES = {"weld": WELD, "specimen": "scrap_can", "peeled": {"positive": "held", "negative": "held"}}
pytestmark = [pytest.mark.django_db, pytest.mark.data]

JOB = "jobs/1/"
PACK = {"cell_model": MODEL, "series": SERIES, "parallel": PARALLEL, "joint_method": "spot_weld"}
SHEET = {
    "name": MODEL,
    "chemistry": "nmc",
    "cell_format": "round",
    "terminals": "opposite_ends",
    "rated_capacity_mah": 2100,
    "nominal_voltage_mv": 3600,
    "charge_limit_mv": 4200,
    "end_of_discharge_mv": 3000,
    "max_charge_current_ma": 1050,
    "max_discharge_current_ma": 4200,
    "diameter_um": 18300,
    "height_um": 65200,
    "mass_mg": 45000,
}


def test_a_pack_is_rebuilt_from_counter_to_hand_over(caller: Caller, shared_data: Path) -> None:
    SettingsFactory()
    cells = as_kept(cells_at_last_age(shared_data / "pulsebat" / "pulsebat_cells.csv"))
    bring_in(caller, cells)
    plan(caller)
    groups = match(caller, cells)
    dismantle(caller)
    place(caller, groups, stranger=min(set(cells) - {cell.code for group in groups for cell in group}))
    measure(caller, groups)
    join(caller)
    check_taps(caller, groups)
    close_housing(caller)
    first_charge(caller)
    final_test(caller, groups)
    close(caller)
    outcome.books_balance(cells, groups)
    outcome.readings_stand(groups)


def bring_in(caller: Caller, cells: dict[str, Measured]) -> None:
    caller.post("cell-models/", SHEET, expect=201)
    lot = {"code": "NMC-1", "cell_model": MODEL, "origin": "bought", "received_on": "2026-07-01"}
    caller.post("lots/", lot, expect=201)
    rows = [{"code": code, "readings": readings(cell)} for code, cell in cells.items()]
    table = {"lot": "NMC-1", "rows": rows, "resistance_method": "DC pulse 5 s at 1 C", "conditions": "at 50 % charge"}
    twice = caller.post("cells/import/", table | {"rows": [*rows, rows[0]]}, expect=409)
    assert twice["code"] == "bad_rows"
    assert len(caller.post("cells/import/", table, expect=201)) == 12


def as_kept(cells: dict[str, Measured]) -> dict[str, Measured]:
    """Return the cells to a thousandth of each unit: the API takes no digit that the book would drop."""
    return {
        code: Measured(
            cell.identity, outcome.stored(cell.mah), outcome.stored(cell.mohm * 1000) / 1000, outcome.stored(cell.mv)
        )
        for code, cell in cells.items()
    }


def readings(cell: Measured) -> dict[str, str]:
    return {
        "capacity_mah": str(cell.mah),
        "dc_resistance_uohm": str(outcome.stored(cell.mohm * 1000)),
        "rest_voltage_mv": str(cell.mv),
    }


def plan(caller: Caller) -> None:
    device = {"model": "Garden pump GP-3", "device_class": "tool", "serial": "GP3-118", "charger_voltage_mv": 16800}
    taken = {"customer_name": "Ida Moor", "nameplate": device, "signs": [], "removed_owner": "shop"}
    caller.post("jobs/", taken, expect=201)
    voltages = {"pack_voltage_mv": 13200, "group_voltages_mv": [3310, 3290, 3300, 3300]}
    caller.post(JOB + "examine/", PACK | voltages)
    strip = {"strip_material": "nickel_200", "strip_width_um": 8000, "strip_thickness_um": 150}
    target = PACK | strip | {"continuous_current_ma": 6000}
    refused = caller.post(JOB + "target/", target | {"charger_voltage_mv": 16810}, expect=409)
    assert refused["facts"]["rules"] == ["target.charger_voltage"]
    caller.post(JOB + "target/", target | {"charger_voltage_mv": 16800})


def match(caller: Caller, cells: dict[str, Measured]) -> Groups:
    """The proposal adds up, and no choice of eight of the twelve cells has a better weakest group."""
    told = caller.get(JOB + "proposal/", min_capacity_mah=1260, capacity_window="0.05")
    groups = [[cells[code] for code in group["cells"]] for group in told["groups"]]
    sums = capacities(groups)
    assert [Decimal(group["capacity_mah"]) for group in told["groups"]] == sums
    assert Decimal(told["weakest_mah"]) == min(sums) == best_weakest_pair(cells.values(), SERIES)
    assert Decimal(told["spread_mah"]) == max(sums) - min(sums)
    codes = [group["cells"] for group in told["groups"]]
    never = {"groups": codes, "limits": {"max_resistance_ratio": "1"}}
    assert caller.post(JOB + "accept/", never, expect=409)["code"] == "not_as_asked"
    caller.post(JOB + "accept/", {"groups": codes, "limits": {"min_capacity_mah": 1260, "capacity_window": "0.05"}})
    kept = Plan.objects.get(accepted_at__isnull=False).limits
    assert [Decimal(kept[name]) for name in ("min_capacity_mah", "capacity_window")] == [1260, Decimal("0.05")]
    assert caller.post(JOB + "documents/", {"kind": "job_card"})["created"] == ["JC0001"]
    return groups


def dismantle(caller: Caller) -> None:
    out = {"condition": "intact", "rest_voltage_mv": 3300}
    assert caller.post(JOB + "removed-cells/", out | {"count": 9}, expect=409)["facts"]["left"] == 8
    caller.post(JOB + "removed-cells/", out | {"count": 7})
    caller.post(JOB + "removed-cells/", {"condition": "damaged", "rest_voltage_mv": 1200})
    assert caller.post(JOB + "finish-dismantling/", {})["done"]


def place(caller: Caller, groups: Groups, stranger: str) -> None:
    assert caller.post(JOB + "place-cell/", {"code": stranger}, expect=409)["code"] == "wrong_cell"
    for group in groups:
        for cell in group:
            caller.post(JOB + "place-cell/", {"code": cell.code})


def measure(caller: Caller, groups: Groups) -> None:
    """One cell 100 mV too low would have more pushed through it than the data sheet allows."""
    rest = {f"{g}.{p}": str(cell.mv) for g, group in enumerate(groups, 1) for p, cell in enumerate(group, 1)}
    last = f"{SERIES}.{PARALLEL}"
    too_low = rest | {last: str(groups[-1][-1].mv - 100)}
    stops(
        caller.post(JOB + "rest-voltages/", {"rest_voltages_mv": too_low}),
        "measure.joining_current",
        "measure.rest_spread",
    )
    assert caller.post(JOB + "rest-voltages/", {"rest_voltages_mv": rest, "since": "levelled"})["done"]


def join(caller: Caller) -> None:
    caller.post(JOB + "peel-samples/", SAMPLES)
    strips = [{"strip": n, "spots": 4} for n, _ in enumerate(joints_of_strips(SERIES, PARALLEL), start=1)]
    strips[2]["failed"] = 2
    body = {"strips": strips, "weld": WELD, "second_look": True, "second_look_by": "Jon"}
    assert not caller.post(JOB + "join/", body)["done"]
    assert caller.post(JOB + "join/", body | {"again": {"tries": 2, "cooled": True}})["done"]


def check_taps(caller: Caller, groups: Groups) -> None:
    due = taps([[cell.mv for cell in group] for group in groups])
    read = [outcome.tap_mv(n, mv) for n, mv in enumerate(due, start=1)]
    wrong = [read[0], read[0], *read[2:]]
    stops(caller.post(JOB + "taps/", {"taps_mv": [str(mv) for mv in wrong], "board": BOARD}), "ladder.tap")
    assert caller.post(JOB + "taps/", {"taps_mv": [str(mv) for mv in read], "board": BOARD, "since": "probe slipped"})[
        "done"
    ]


def close_housing(caller: Caller) -> None:
    confirmed = dict.fromkeys(HOUSING_RULES, True)
    stops(
        caller.post(JOB + "housing/", {"confirmed": confirmed | {"housing.fixed": False}}),
        "housing.fixed",
        "housing.photographs",
    )
    stops(caller.post(JOB + "housing/", {"confirmed": confirmed}), "housing.photographs")
    caller.photograph(JOB, "the open case")
    assert caller.post(JOB + "housing/", {"confirmed": confirmed})["done"]


def first_charge(caller: Caller) -> None:
    looks = [
        {"minutes": 0, "pack_voltage_mv": 15600, "current_ma": 1000, "hottest_mdegc": 22000},
        {"minutes": 60, "pack_voltage_mv": 16400, "current_ma": 1000, "hottest_mdegc": 26000},
        {"minutes": 110, "pack_voltage_mv": 16760, "current_ma": 100, "hottest_mdegc": 25000},
    ]
    charge = {"supervised_by": "Nell", "charger_voltage_mv": 16790, "lines": looks, "mid_groups_mv": [4100] * SERIES}
    high = charge | {"groups_mv": [4190, 4201, 4190, 4190]}
    stops(caller.post(JOB + "first-charge/", high), "first_charge.group_voltage")
    again = charge | {"groups_mv": [4190, 4200, 4190, 4190]}
    assert caller.post(JOB + "first-charge/", again, expect=409)["code"] == "since_missing"
    assert caller.post(JOB + "first-charge/", again | {"since": "charger set lower"})["done"]


def final_test(caller: Caller, groups: Groups) -> None:
    """The pack must give 95 % of its weakest group, and rest where its groups add up to within 0.1 V."""
    least = min(capacities(groups)) * LEAST_SHARE
    test = {
        "groups_mv": [4130] * SERIES,
        "conditions": "0.2 C down to 2.75 V a cell, 22 °C",
        "confirmed": {"final.board_cutoff": True},
    }
    test |= {"hold": {"hours": 24, "groups_mv": [4128] * SERIES}}
    test |= {"load": {"current_ma": 2000, "pack_mv": 16470, "joint_mv": "0.4", "hottest_mdegc": 26000}}
    short = test | {"capacity_mah": f"{least - 1:.1f}", "pack_rest_mv": 16621}
    stops(caller.post(JOB + "final-test/", short), "final.capacity", "final.rest_agreement")
    due = test | {"capacity_mah": str(outcome.delivered(groups)), "pack_rest_mv": 16620}
    assert caller.post(JOB + "final-test/", due)["done"]


def close(caller: Caller) -> None:
    caller.post("containers/", {"code": "W1", "condition": "damaged", "started_on": "2026-07-01"}, expect=201)
    removed = [cell["code"] for cell in caller.get("cells/", place="bench")["results"]]
    whole, damaged = removed[:-1], removed[-1:]
    caller.post(JOB + "to-stock/", {"cells": whole})
    gone = {"container": "W1", "cells": damaged}
    bare = caller.post(JOB + "to-container/", gone | {"insulated": False}, expect=409)
    assert bare["code"] == "not_insulated"
    caller.post(JOB + "to-container/", gone | {"insulated": True, "packed_alone": True})
    caller.post(JOB + "finish-removed/", {})
    early = caller.post(JOB + "hand-over/", {"received_by": "Ida Moor"}, expect=409)
    assert early["code"] == "held"
    for kind in ("test_report", "pack_label", "disposal_note"):
        caller.post(JOB + "documents/", {"kind": kind})
    assert caller.post(JOB + "hand-over/", {"received_by": "Ida Moor"})["job"]["closed_at"]
    assert Cell.objects.get(code=damaged[0]).condition == "damaged"


def stops(answer: Any, *rules: str) -> None:
    """The readings are kept, the step is not done, and these rules say why."""
    assert not answer["done"]
    assert [
        one["rule_id"] for one in answer["findings"] if one["outcome"] == "fail" and one["severity"] == "stop"
    ] == list(rules)
