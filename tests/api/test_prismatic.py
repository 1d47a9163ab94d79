"""A bolted pack of flat cells from intake to hand-over by the API: 16s2p out of 56 retired cells of 35 Ah.

Cells: terencetaothucb/Pulse-Voltage-Response-Generation, Nature Communications 2024, doi:10.1038/s41467-024-54454-0.
The data sheet's values are invented, but for the rated capacity.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from shop.bridge.rules import FLAT_CELLS, HOUSING_RULES
from tests.factories import SettingsFactory
from tests.journey import outcome

from .conftest import Caller
from .test_rebuild import stops

BOARD = {"suits": True, "overcharge_mv": 3780, "undervoltage_mv": 2600}
pytestmark = [pytest.mark.django_db, pytest.mark.data]

JOB = "jobs/1/"
SERIES, PARALLEL = 16, 2
MODEL = "Flat 35"
LEVEL_MV = 3300
SHEET = {
    "name": MODEL,
    "chemistry": "lfp",
    "cell_format": "prismatic",
    "terminals": "same_face",
    "rated_capacity_mah": 35000,
    "nominal_voltage_mv": 3200,
    "charge_limit_mv": 3650,
    "end_of_discharge_mv": 2500,
    "max_charge_current_ma": 17500,
    "max_discharge_current_ma": 35000,
    "diameter_um": 27000,
    "width_um": 148000,
    "height_um": 92000,
    "mass_mg": 800000,
    "compression": "plate",
    "compression_note": "two plates, 300 N",
    "terminal_torque_mnm": 6000,
}
PACK = {"cell_model": MODEL, "series": SERIES, "parallel": PARALLEL, "joint_method": "bolted"}


def retired(folder: Path) -> dict[str, dict[str, str]]:
    """Return the readings of the 56 flat cells by code, from the table."""
    with (folder / "pulsebat" / "pulsebat_cells.csv").open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["batch"] == "LFP35"]
    return {
        f"F{row['no']}": {
            "capacity_mah": str(round(Decimal(row["q_ah"]) * 1000, 3)),
            "dc_resistance_uohm": str(round(Decimal(row["r5s_dis_1c_soc50_mohm"]) * 1000, 3)),
            "rest_voltage_mv": str(round(Decimal(row["ocv50_v"]) * 1000, 3)),
        }
        for row in rows
    }


def test_a_bolted_pack_is_rebuilt_from_counter_to_hand_over(caller: Caller, shared_data: Path) -> None:
    SettingsFactory()
    cells = retired(shared_data)
    assert len(cells) == 56
    bring_in(caller, cells)
    plan(caller)
    groups = match(caller, cells)
    dismantle(caller)
    for code in (code for group in groups for code in group):
        caller.post(JOB + "place-cell/", {"code": code})
    measure(caller)
    join(caller)
    taps = [str(LEVEL_MV * number) for number in range(1, SERIES + 1)]
    assert caller.post(JOB + "taps/", {"taps_mv": taps, "board": BOARD})["done"]
    confirmed = dict.fromkeys(HOUSING_RULES, True)
    caller.photograph(JOB, "the open case")
    loose = caller.post(JOB + "housing/", {"confirmed": confirmed | {FLAT_CELLS: False}})
    stops(loose, FLAT_CELLS)
    assert caller.post(JOB + "housing/", {"confirmed": confirmed | {FLAT_CELLS: True}})["done"]
    prove(caller, groups, cells)
    close(caller)
    outcome.bolted_pack_stands({code: Decimal(read["capacity_mah"]) for code, read in cells.items()}, groups)


def bring_in(caller: Caller, cells: dict[str, dict[str, str]]) -> None:
    caller.post("cell-models/", SHEET, expect=201)
    caller.post(
        "lots/", {"code": "LFP-1", "cell_model": MODEL, "origin": "bought", "received_on": "2026-07-01"}, expect=201
    )
    rows = [{"code": code, "readings": readings} for code, readings in cells.items()]
    table = {"lot": "LFP-1", "rows": rows, "resistance_method": "DC pulse 5 s at 1 C", "conditions": "at 50 % charge"}
    assert len(caller.post("cells/import/", table, expect=201)) == 56


def plan(caller: Caller) -> None:
    device = {"model": "Cabin store CS-2", "device_class": "other", "serial": "CS2-07", "charger_voltage_mv": 58400}
    taken = {"customer_name": "Ida Moor", "nameplate": device, "signs": [], "removed_owner": "shop"}
    caller.post("jobs/", taken, expect=201)
    caller.post(JOB + "examine/", PACK | {"pack_voltage_mv": 51200})
    bar = {"strip_material": "copper", "strip_width_um": 20000, "strip_thickness_um": 2000}
    caller.post(JOB + "target/", PACK | bar | {"continuous_current_ma": 40000, "charger_voltage_mv": 58400})


def match(caller: Caller, cells: dict[str, dict[str, str]]) -> list[list[str]]:
    """The strongest 32 cells, the largest beside the smallest: 61.3258 Ah, as the exchange argument says."""
    told = caller.get(JOB + "proposal/")
    groups = [group["cells"] for group in told["groups"]]
    capacity = {code: Decimal(readings["capacity_mah"]) for code, readings in cells.items()}
    strongest = sorted(capacity.values())[-SERIES * PARALLEL :]
    pairs = [low + high for low, high in zip(strongest, reversed(strongest), strict=True)]
    sums = [sum(capacity[code] for code in group) for group in groups]
    assert float(min(pairs)) == pytest.approx(61325.8, abs=0.1)
    assert float(min(sums)) == pytest.approx(61325.8, abs=0.1)
    caller.post(JOB + "accept/", {"groups": groups})
    assert caller.post(JOB + "documents/", {"kind": "job_card"})["created"] == ["JC0001"]
    return groups


def dismantle(caller: Caller) -> None:
    caller.post(JOB + "removed-cells/", {"condition": "intact", "rest_voltage_mv": 3200, "count": SERIES * PARALLEL})
    assert caller.post(JOB + "finish-dismantling/", {})["done"]


def measure(caller: Caller) -> None:
    names = [f"{group}.{place}" for group in range(1, SERIES + 1) for place in range(1, PARALLEL + 1)]
    level = dict.fromkeys(names, str(LEVEL_MV))
    assert not caller.post(JOB + "rest-voltages/", {"rest_voltages_mv": level})["done"], "3.3 V may be any charge"
    assert caller.post(JOB + "rest-voltages/", {"rest_voltages_mv": level, "equal_charge": True})["done"]


def join(caller: Caller) -> None:
    bars = [{"strip": number, "torque_mnm": 6000, "contact_uohm": 60} for number in range(1, SERIES + 2)]
    looks = {"clean_faces": True, "second_look": True, "second_look_by": "Jon Adler"}
    soft = [{**bar, "torque_mnm": 5399} if bar["strip"] == 3 else bar for bar in bars]
    stops(caller.post(JOB + "join/", looks | {"strips": soft}), "join.torque")
    assert caller.post(JOB + "join/", looks | {"strips": bars})["done"]


def prove(caller: Caller, groups: list[list[str]], cells: dict[str, dict[str, str]]) -> None:
    looks = [
        {"minutes": minutes, "pack_voltage_mv": mv, "current_ma": 5000, "hottest_mdegc": 26000}
        for minutes, mv in ((0, 52_800), (60, 53_400), (120, 53_600), (180, 54_400), (240, 57_600))
    ]
    charge = {"supervised_by": "Nell", "charger_voltage_mv": 58400, "lines": looks, "groups_mv": [3600] * SERIES}
    charge["mid_groups_mv"] = [3360] * SERIES
    assert caller.post(JOB + "first-charge/", charge)["done"]
    weakest = min(sum(Decimal(cells[code]["capacity_mah"]) for code in group) for group in groups)
    test = {
        "groups_mv": [3340] * SERIES,
        "pack_rest_mv": 3340 * SERIES,
        "conditions": "0.2 C down to 2.5 V a cell, 22 °C",
    }
    test["confirmed"] = {"final.board_cutoff": True}
    test["hold"] = {"hours": 24, "groups_mv": [3339] * SERIES}
    test["load"] = {"current_ma": 20_000, "pack_mv": 3340 * SERIES - 400, "joint_mv": 2, "hottest_mdegc": 27000}
    assert caller.post(JOB + "final-test/", test | {"capacity_mah": f"{weakest * Decimal('0.98'):.1f}"})["done"]


def close(caller: Caller) -> None:
    removed = [cell["code"] for cell in caller.get("cells/", place="bench")["results"]]
    caller.post(JOB + "to-stock/", {"cells": removed})
    caller.post(JOB + "finish-removed/", {})
    for kind in ("test_report", "pack_label"):
        caller.post(JOB + "documents/", {"kind": kind})
    assert caller.post(JOB + "hand-over/", {"received_by": "Ida Moor"})["job"]["closed_at"]
