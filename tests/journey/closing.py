"""Removed cells on their way, the papers, and the device over the counter."""

import re

from tests.journey.arithmetic import mah, mohm, rated_energy_wh, side_by_side, volts
from tests.journey.bench import Bench
from tests.journey.building import LEAST_SHARE
from tests.journey.papers import paper_says
from tests.journey.planning import JOB, Groups, capacities, sum_of

ONE_CELL_G = "45.0 g"


def open_container(bench: Bench, condition: str) -> None:
    """The page of the removed items leads there, knowing what it is for."""
    with bench.page.expect_navigation():
        bench.page.locator(f"#{condition}").get_by_role("link", name="Open a container").click()
    bench.fill({"Code on the container": "W1", "Start date": "2026-07-01"})
    bench.press("Open the container")


CELLS_INSULATED = "Every terminal is insulated"
PACK_COVERED = "Every contact that can be touched from outside is covered"


def send(bench: Bench, condition: str, way: str, *, insulated: bool = False, confirmed: str = CELLS_INSULATED) -> None:
    part = bench.page.locator(f"#{condition}")
    part.get_by_label(re.compile("Where (they go|it goes)")).select_option(label=way)
    if insulated:
        part.get_by_label(confirmed).check()
        if condition == "damaged":
            part.get_by_label("Each is alone in an inner packaging").check()
    with bench.page.expect_navigation():
        part.get_by_role("button", name="Put").first.click()


def clear_the_bench(bench: Bench) -> None:
    bench.go(JOB)
    bench.go_on(f"{JOB}removed/")
    open_container(bench, "damaged")
    send(bench, "intact", "back to stock as reclaimed, to be tested")
    send(bench, "damaged", "into container W1")
    bench.says("Insulate every terminal first, then confirm it.")
    send(bench, "damaged", "into container W1", insulated=True)
    bench.says("Nothing that was removed is left on the bench.")


def issue_test_report(bench: Bench, pdftotext: str, groups: Groups) -> None:
    bench.go(f"{JOB}hand-over/")
    bench.says("The test report is not issued yet", "The disposal note is not issued yet.")
    assert bench.page.get_by_role("button", name="Hand the device over").count() == 0
    bench.go_on("/documents/TR0001/")
    weakest = min(capacities(groups))
    paper_says(
        bench,
        "TR0001",
        pdftotext,
        f"{mah(weakest * LEAST_SHARE + 1)} {mah(weakest)} 16.62 V",
        f"at least {mah(weakest * LEAST_SHARE)}",
        f"{rated_energy_wh(8):.2f} Wh",
        "16.62 V",
        *(
            f"{cell.code} bought {mah(cell.mah)} {mohm(cell.mohm)} {volts(cell.mv)}"
            for group in groups
            for cell in group
        ),
        *(f"{mah(sum_of(group))} {mohm(side_by_side(group))}" for group in groups),
    )


def issue_disposal_note(bench: Bench, pdftotext: str) -> None:
    """One damaged cell of 2.1 Ah and 3.6 V went: 7.56 Wh and 45 g by its data sheet."""
    bench.go(f"{JOB}hand-over/")
    bench.go_on("/documents/DN0001/")
    assert f"{rated_energy_wh(1):.2f}" == "7.56"
    paper_says(bench, "DN0001", pdftotext, "J0001-R08", "7.56 Wh", ONE_CELL_G, "container W1", "UN3480", "1 Jul 2026")


def hand_over(bench: Bench, pdftotext: str) -> None:
    bench.go(f"{JOB}hand-over/")
    bench.go_on("/documents/PL0001/")
    bench.go(f"{JOB}hand-over/")
    bench.press("Issue the hand-over receipt")
    paper_says(bench, "HO0001", pdftotext, "Ida Moor", f"{rated_energy_wh(8):.2f} Wh", "Garden pump GP-3")
    bench.go(f"{JOB}hand-over/")
    bench.fill({"Who takes the device": "Ida Moor"})
    bench.press("Hand the device over")
    bench.says("closed")
