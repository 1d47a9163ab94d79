"""From the counter to the accepted proposal and the job card."""

from decimal import Decimal

from tests.journey.arithmetic import (
    CHARGE_MV,
    DISCHARGED_MV,
    NOMINAL_MV,
    RATED_MAH,
    Measured,
    best_weakest_pair,
    joints_of_strips,
    mah,
    mohm,
    rated_energy_wh,
    side_by_side,
    volts,
)
from tests.journey.bench import Bench
from tests.journey.papers import paper_says
from tests.journey.stock import MODEL

SERIES, PARALLEL = 4, 2
JOB = "/jobs/1/"
LOOKED = "I looked, listened, smelled and felt for heat. Every sign that is there is ticked."
STRIP = "commercial nickel (99.6 %, nickel 200)"
Groups = list[list[Measured]]


def take_in(bench: Bench) -> None:
    bench.go("/")
    bench.go_on("/jobs/new/")
    bench.tick(LOOKED)
    bench.fill(
        {
            "Name": "Ida Moor",
            "Model": "Garden pump GP-3",
            "Serial number": "GP3-118",
            "Rated voltage": "14.4 V",
            "Rated capacity": "4.2 Ah",
            "Charger output": "16.8 V",
            "What is wrong with it": "runs five minutes",
        }
    )
    bench.choose({"What it is used for": "tool"})
    bench.tick("the shop")
    bench.press("Open the job")


def examine(bench: Bench) -> None:
    bench.go_on(f"{JOB}examine/")
    bench.choose({"Cell model": MODEL, "How the cells are joined": "spot-welded strip"})
    bench.fill({"Arrangement": "4s2p"})
    bench.field("Group 4").wait_for()
    bench.fill({"How the case is shut": "four screws", "Board and sensors": "taps on every group"})
    bench.fill({"Pack voltage": "13.2 V", "Group 1": "3.31", "Group 2": "3.29", "Group 3": "3.30 V", "Group 4": "3.3"})
    bench.press("Record the pack as found")


def state_target(bench: Bench) -> None:
    """While it is typed, the page works out what the pack comes to."""
    bench.go_on(f"{JOB}target/")
    bench.choose({"Cell model": MODEL, "How the cells are joined": "spot-welded strip", "Strip or bar": STRIP})
    bench.fill({"Arrangement": "4s2p", "Continuous current": "6 A", "Charger voltage": "16.81 V"})
    bench.fill({"Thickness": "0.15 mm", "Width": "8 mm"})
    bench.press("State this target pack")
    bench.says(f"No-load voltage of the charger is 16.81 V; at most {volts(SERIES * CHARGE_MV)} is allowed.")
    bench.fill({"Charger voltage": "16.8 V"})
    bench.press("State this target pack")
    joints = joints_of_strips(SERIES, PARALLEL)
    assert (len(joints), sum(joints)) == (5, 16)
    bench.says(
        f"{volts(SERIES * DISCHARGED_MV)} to {volts(SERIES * CHARGE_MV)}",
        volts(SERIES * NOMINAL_MV),
        f"{mah(PARALLEL * RATED_MAH)} rated",
        f"{rated_energy_wh(8):.2f} Wh rated",
    )


def match(bench: Bench, cells: dict[str, Measured]) -> Groups:
    """The proposal adds up, and no choice of eight of the twelve cells has a better weakest group."""
    bench.go_on(f"{JOB}match/")
    groups = groups_shown(bench, cells)
    assert [len(group) for group in groups] == [PARALLEL] * SERIES
    assert len({cell.code for group in groups for cell in group}) == SERIES * PARALLEL
    sums = capacities(groups)
    assert min(sums) == best_weakest_pair(cells.values(), SERIES)
    bench.says(f"{mah(min(sums))} weakest group", f"{mah(max(sums) - min(sums))} strongest minus weakest")
    for group in groups:
        bench.says(f"{mah(sum_of(group))} {mohm(side_by_side(group))}")
    bench.go_on(JOB)
    bench.says(f"group {sums.index(min(sums)) + 1}, {mah(min(sums))}")
    return groups


def groups_shown(bench: Bench, cells: dict[str, Measured]) -> Groups:
    rows = bench.page.get_by_role("table").filter(has_text="Capacity").locator("tbody tr").all()
    return [[cells[code] for code in row.locator("a.code").all_inner_texts()] for row in rows]


def sum_of(group: list[Measured]) -> Decimal:
    return sum((cell.mah for cell in group), Decimal())


def capacities(groups: Groups) -> list[Decimal]:
    return [sum_of(group) for group in groups]


def issue_job_card(bench: Bench, pdftotext: str, groups: Groups) -> None:
    bench.go_on("/documents/JC0001/")
    rows = [f"{' '.join(cell.code for cell in group)}" for group in groups]
    figures = [f"{mah(sum_of(group))}, {mohm(side_by_side(group))}" for group in groups]
    paper_says(
        bench,
        "JC0001",
        pdftotext,
        "Lindenhof Cell Works",
        "J0001",
        "4s2p",
        "Garden pump GP-3, serial GP3-118",
        f"{rated_energy_wh(8):.2f} Wh",
        f"{volts(SERIES * DISCHARGED_MV)} to {volts(SERIES * CHARGE_MV)}",
        "5 strips, 16 joints",
        "Page 1 of 2",
        *rows,
        *figures,
    )
