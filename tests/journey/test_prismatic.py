"""A bolted pack of flat cells from the counter to the hand-over in a real browser: 16s2p out of 56 retired cells.

Cells: terencetaothucb/Pulse-Voltage-Response-Generation, Nature Communications 2024, doi:10.1038/s41467-024-54454-0.
Data sheet and device are invented, but for the rated capacity.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from tests.journey import outcome
from tests.journey.arithmetic import Measured, joints_of_strips, printed, volts
from tests.journey.bench import Bench
from tests.journey.building import LEAST_SHARE, SECOND_LOOK, on_to, photograph_the_open_case, scan, try_board
from tests.journey.closing import send
from tests.journey.papers import paper_says
from tests.journey.planning import JOB, LOOKED, Groups, capacities, groups_shown

pytestmark = [pytest.mark.browser, pytest.mark.data, pytest.mark.slow]

MODEL = "Flat 35"
SERIES, PARALLEL = 16, 2
CHARGE_MV = Decimal(3650)
LEVEL_MV = Decimal(3300)
BEST_WEAKEST_AH = Decimal("61.3258")
"""The strongest 32 of the 56, the largest beside the smallest; no other choice has a better weakest group."""
CLEAN = "Every terminal and bar face cleaned bright just before it was bolted"


def test_a_bolted_pack_is_rebuilt_from_counter_to_hand_over(
    bench: Bench, shared_data: Path, pdftotext: str, pango: None
) -> None:
    table = shared_data / "pulsebat" / "pulsebat_cells.csv"
    cells = retired(table)
    bring_in(bench, table, cells)
    take_in(bench)
    examine(bench)
    state_target(bench)
    groups = match(bench, cells)
    issue_job_card(bench, pdftotext, groups)
    dismantle(bench)
    place(bench, groups)
    measure(bench, groups)
    bolt(bench)
    check_taps(bench)
    close_housing(bench)
    first_charge(bench)
    final_test(bench, groups)
    close(bench, pdftotext, groups)
    mah = {code: cell.mah for code, cell in cells.items()}
    outcome.bolted_pack_stands(mah, [[cell.code for cell in group] for group in groups])


def ah(mah: Decimal) -> str:
    """Return a capacity [mAh] as one above ten ampere-hours is printed."""
    return f"{printed(mah / 1000, 2)} Ah"


def retired(table: Path) -> dict[str, Measured]:
    """Return the 56 flat cells by their number in the table."""
    with table.open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["batch"] == "LFP35"]
    assert len(rows) == 56
    return {row["no"]: measured(row) for row in rows}


def measured(row: dict[str, str]) -> Measured:
    capacity, rest = Decimal(row["q_ah"]) * 1000, Decimal(row["ocv50_v"]) * 1000
    return Measured(row["no"], capacity, Decimal(row["r5s_dis_1c_soc50_mohm"]), rest)


def bring_in(bench: Bench, table: Path, cells: dict[str, Measured]) -> None:
    bench.go("/stock/import/")
    bench.go_on("/stock/lots/new/")
    bench.go_on("/stock/models/new/")
    add_model(bench)
    bench.fill({"Code of the lot": "LFP-1", "From whom": "Brook Trading", "Came in on": "2026-07-01"})
    bench.choose({"Cell model": MODEL})
    bench.press("Add the lot")
    bench.go_on("/stock/import/")
    bench.page.get_by_label("Table of tested cells").set_input_files(table)
    bench.press("Upload the table")
    bench.choose(
        {
            "Lot they belong to": f"LFP-1, {MODEL}",
            "Code of the cell": "no",
            "Capacity": "q_ah",
            "DC resistance": "r5s_dis_1c_soc50_mohm",
            "Rest voltage": "ocv50_v",
            "Column of filter 1": "batch",
        }
    )
    bench.fill(
        {
            "Word of filter 1": "LFP35",
            "How the DC resistance was measured": "DC pulse 5 s at 1 C",
            "Resistance read at what charge": "50 %",
        }
    )
    bench.press("Look at what will come in")
    bench.press(f"Import {len(cells)} cells")
    bench.says("56 cells came in.")


def add_model(bench: Bench) -> None:
    bench.fill({"Name of the model": MODEL, "Data sheet": "invented data sheet"})
    bench.choose(
        {
            "Chemistry": "lithium iron phosphate (LFP)",
            "Form": "prismatic",
            "Terminals": "both on one face",
            "How it wants to be held": "between plates at a set distance",
        }
    )
    bench.fill(
        {
            "Rated capacity": "35 Ah",
            "Nominal voltage": "3.2 V",
            "Charge limit": "3.65 V",
            "End of discharge": "2.5 V",
            "Largest charge current": "17.5 A",
            "Largest continuous discharge current": "35 A",
            "Diameter or thickness": "27 mm",
            "Width": "148 mm",
            "Height": "92 mm",
            "Plate distance, force or gap": "two plates, 300 N",
            "Torque of its terminals": "6 Nm",
            "Mass": "800 g",
        }
    )
    bench.press("Add the cell model")


def take_in(bench: Bench) -> None:
    bench.go("/jobs/new/")
    bench.tick(LOOKED)
    bench.fill({"Name": "Ida Moor", "Model": "Cabin store CS-2", "Serial number": "CS2-07", "Charger output": "58.4 V"})
    bench.choose({"What it is used for": "other device"})
    bench.tick("the shop")
    bench.press("Open the job")


def examine(bench: Bench) -> None:
    bench.go_on(f"{JOB}examine/")
    bench.choose({"Cell model": MODEL, "How the cells are joined": "bolted bar"})
    bench.fill({"Arrangement": "16s2p", "Pack voltage": "51.2 V"})
    bench.press("Record the pack as found")


def state_target(bench: Bench) -> None:
    bench.go_on(f"{JOB}target/")
    bench.choose({"Cell model": MODEL, "How the cells are joined": "bolted bar", "Strip or bar": "copper"})
    bench.fill({"Arrangement": "16s2p", "Continuous current": "40 A", "Charger voltage": "58.4 V"})
    bench.fill({"Thickness": "2 mm", "Width": "20 mm"})
    bench.press("State this target pack")


def match(bench: Bench, cells: dict[str, Measured]) -> Groups:
    """Without the limits that the page starts from, as the reference has it."""
    bench.go_on(f"{JOB}match/")
    bench.fill({"Least capacity of a cell": "", "Capacity window": ""})
    bench.press("Propose again")
    groups = groups_shown(bench, cells)
    assert [len(group) for group in groups] == [PARALLEL] * SERIES
    assert len({cell.code for group in groups for cell in group}) == SERIES * PARALLEL
    weakest = min(capacities(groups))
    assert f"{weakest / 1000:.4f}" == str(BEST_WEAKEST_AH)
    bench.says(f"{printed(weakest / 1000, 3)} Ah weakest group")
    bench.go_on(JOB)
    return groups


def issue_job_card(bench: Bench, pdftotext: str, groups: Groups) -> None:
    bench.go_on("/documents/JC0001/")
    # As the cells lie: the first eight groups from the left, the others back again, a row for each cell of a group.
    there, back = groups[: SERIES // 2], groups[: SERIES // 2 - 1 : -1]
    rows = [" ".join(group[place].code for group in half) for half in (there, back) for place in range(PARALLEL)]
    joints = sum(joints_of_strips(SERIES, PARALLEL))
    assert joints == 64
    paper_says(bench, "JC0001", pdftotext, "16s2p", f"17 bars, {joints} joints", volts(SERIES * CHARGE_MV), *rows)


def dismantle(bench: Bench) -> None:
    on_to(bench, "dismantle")
    bench.fill({"Voltage at its ends": "3.2 V", "How many alike": "32"})
    bench.tick("intact")
    bench.press("Put it into the book")
    bench.says("All 32 cells are out")
    bench.press("Finish dismantling")


def place(bench: Bench, groups: Groups) -> None:
    on_to(bench, "place")
    for group in groups:
        for cell in group:
            scan(bench, cell.code)


def measure(bench: Bench, groups: Groups) -> None:
    """All of them levelled by equal charge, as flat iron phosphate cells must be."""
    on_to(bench, "measure")
    for number, group in enumerate(groups, start=1):
        bench.fill({f"{number}.{seat} {cell.code}": "3.3 V" for seat, cell in enumerate(group, start=1)})
    bench.page.get_by_label("Every cell was filled by itself").check()
    bench.press("Record the resting voltages")
    bench.says("Done: measure before joining.")


def bolt(bench: Bench) -> None:
    """One nut that is not tight enough holds the whole step up."""
    on_to(bench, "join")
    bench.says("17 bars, 64 joints")
    bench.tick(CLEAN, SECOND_LOOK)
    bench.fill({"Looked at by": "Nell Sand"})
    for number in range(1, SERIES + 2):
        bench.page.locator(f"#id_done_{number}").check()
        bench.page.locator(f"#id_torque_{number}").fill("6 Nm")
        bench.page.locator(f"#id_contact_{number}").fill("0.06 mΩ")
    bench.page.locator("#id_torque_3").fill("5.399 Nm")
    bench.press("Record the joints")
    bench.says("Bar 3: Torque of the bolts is 5.399 N·m; it must lie between 5.400 N·m and 6.600 N·m.")
    bench.page.locator("#id_torque_3").fill("6 Nm")
    bench.press("Record the joints")
    bench.says("64 joints on 17 bars")


def check_taps(bench: Bench) -> None:
    on_to(bench, "ladder")
    bench.fill({f"Tap {number}": volts(number * LEVEL_MV) for number in range(1, SERIES + 1)})
    try_board(bench, "3.78 V", "2.6 V")
    bench.press("Record the tap voltages")
    bench.says(f"Taps {volts(LEVEL_MV)} to {volts(SERIES * LEVEL_MV)}, board trips at 3.780 V and 2.600 V.")


def close_housing(bench: Bench) -> None:
    """A flat cell that is not held as its data sheet says keeps the case open."""
    on_to(bench, "housing")
    ticks = bench.page.get_by_role("checkbox").all()
    metal = ticks.pop()
    assert len(ticks) == 8
    assert not metal.is_checked()
    held = bench.page.locator("[name='housing.compression']")
    for tick in ticks:
        tick.check()
    held.uncheck()
    bench.press("Close the housing")
    assert bench.path.endswith("/steps/housing/"), bench.text
    held.check()
    photograph_the_open_case(bench)
    bench.press("Close the housing")


LOOKS = (
    ("0", "52.8", "5 A", "22"),
    ("60", "53.4", "5 A", "24"),
    ("120", "53.6", "5 A", "26"),
    ("180", "54.4", "5 A", "27"),
    ("240", "57.6 V", "5 A", "27 °C"),
)


def first_charge(bench: Bench) -> None:
    on_to(bench, "first_charge")
    bench.fill({"Who stays beside it": "Nell", "Charger, no load": "58.4 V"})
    bench.page.get_by_text("More looks").click()
    for number, look in enumerate(LOOKS, start=1):
        group = bench.page.get_by_role("group", name=f"Look {number}", exact=True)
        for label, value in zip(("Minutes", "Pack", "Current", "Hottest spot"), look, strict=True):
            group.get_by_label(label, exact=True).fill(value)
    bench.fill({f"Group {number} in the middle": "3.36 V" for number in range(1, SERIES + 1)})
    bench.fill({f"Group {number}": "3.6 V" for number in range(1, SERIES + 1)})
    bench.press("Record the first charge")


def final_test(bench: Bench, groups: Groups) -> None:
    on_to(bench, "final_test")
    weakest = min(capacities(groups))
    bench.says(f"at least {ah(weakest * LEAST_SHARE)}")
    bench.fill(
        {
            "Capacity delivered": f"{printed(weakest * Decimal('0.98') / 1000, 4)} Ah",
            "At which current, down to what, how warm": "0.2 C down to 2.5 V a cell, 22 °C",
            "Pack at rest": "53.44 V",
        }
    )
    bench.fill({f"Group {number}": "3.34 V" for number in range(1, SERIES + 1)})
    bench.fill({"Hours of rest": "24", "Load": "20 A", "Pack after 10 s of it": "53.04 V"})
    bench.fill({"Largest drop at a joint": "2 mV", "Hottest spot": "27"})
    bench.fill({f"Group {number} after it": "3.339 V" for number in range(1, SERIES + 1)})
    bench.page.get_by_label("The board cut the discharge off").check()
    bench.press("Record the final test")
    bench.says("Done: final test.")


def close(bench: Bench, pdftotext: str, groups: Groups) -> None:
    bench.go(JOB)
    bench.go_on(f"{JOB}removed/")
    send(bench, "intact", "back to stock as reclaimed, to be tested")
    bench.go_on("/documents/TR0001/")
    weakest = min(capacities(groups))
    paper_says(bench, "TR0001", pdftotext, ah(weakest * Decimal("0.98")), ah(weakest), "53.44 V")
    bench.go(f"{JOB}hand-over/")
    bench.go_on("/documents/PL0001/")
    bench.go(f"{JOB}hand-over/")
    bench.press("Issue the hand-over receipt")
    bench.go(f"{JOB}hand-over/")
    bench.fill({"Who takes the device": "Ida Moor"})
    bench.press("Hand the device over")
    bench.says("closed")
