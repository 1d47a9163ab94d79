"""The steps of the job card, from the old pack apart to the final test."""

from decimal import Decimal

from tests.journey.arithmetic import (
    CHARGE_MV,
    joints_of_strips,
    largest_current_on_joining,
    mah,
    printed,
    taps,
    volts,
)
from tests.journey.bench import Bench
from tests.journey.planning import JOB, PARALLEL, SERIES, Groups, capacities
from tests.pictures import photograph

BOARD_SAVED = "What the board keeps is read out and saved, or it keeps nothing."
UNPOWERED = "What the board does without supply is known, or whoever ordered the work accepts that it is not."
SECOND_LOOK = "Polarity and insulators looked at a second time, against the drawing"
ALLOWED_A = Decimal("1.05")
"""Largest charge current of the invented data sheet."""
LEAST_SHARE = Decimal("0.95")
"""What a finished pack must give of its weakest group; common practice, no source."""

SINCE = "What was found and done since the try before"


def on_to(bench: Bench, step: str) -> None:
    bench.go(JOB)
    bench.go_on(f"{JOB}steps/{step}/")


def dismantle(bench: Bench) -> None:
    """Seven whole cells and a damaged one; there is no ninth."""
    on_to(bench, "dismantle")
    bench.press("Ready to be cut")
    bench.says("Not confirmed: what the board keeps is read out and saved, or it keeps nothing.")
    bench.tick(BOARD_SAVED, UNPOWERED)
    bench.press("Ready to be cut")
    bench.fill({"Voltage at its ends": "3.30 V", "How many alike": "9"})
    bench.tick("intact")
    bench.press("Put it into the book")
    bench.says("8 cells are left in the old pack.")
    bench.fill({"How many alike": "7"})
    bench.press("Put it into the book")
    bench.fill({"Voltage at its ends": "1.2 V"})
    bench.tick("damaged or defective")
    bench.press("Put it into the book")
    bench.says("All 8 cells are out", "J0001-R08 1.200 V damaged or defective")
    bench.press("Finish dismantling")


def place(bench: Bench, groups: Groups, stranger: str) -> None:
    """A scanner types; nobody touches the field first."""
    on_to(bench, "place")
    scan(bench, stranger)
    bench.says(f"Cell {stranger} is not part of this plan.")
    for number, group in enumerate(groups, start=1):
        for seat, cell in enumerate(group, start=1):
            scan(bench, cell.code)
            bench.says(f"Cell {cell.code} is in position {number}.{seat}.")


def scan(bench: Bench, code: str) -> None:
    bench.page.keyboard.type(code)
    with bench.page.expect_navigation():
        bench.page.keyboard.press("Enter")


def measure(bench: Bench, groups: Groups) -> None:
    """One cell 100 mV too high would push more through its neighbour than the data sheet allows."""
    on_to(bench, "measure")
    for number, group in enumerate(groups, start=1):
        for seat, cell in enumerate(group, start=1):
            bench.fill({f"{number}.{seat} {cell.code}": f"{cell.mv} mV"})
    last, name = groups[-1], f"{SERIES}.{PARALLEL} {groups[-1][-1].code}"
    bench.fill({name: f"{last[-1].mv + 100} mV"})
    bench.press("Record the resting voltages")
    pairs = [(cell.mv, cell.mohm) for cell in last[:-1]] + [(last[-1].mv + 100, last[-1].mohm)]
    current = largest_current_on_joining(pairs)
    assert current > ALLOWED_A
    bench.says(
        f"Group {SERIES}: Largest current on joining the cells of the group is {printed(current, 2)} A; "
        f"at most {ALLOWED_A} A is allowed."
    )
    bench.fill({name: f"{last[-1].mv / 1000} V", SINCE: "levelled over a resistor"})
    bench.press("Record the resting voltages")
    bench.says("Done: measure before joining.")
    for group in groups:
        assert largest_current_on_joining([(cell.mv, cell.mohm) for cell in group]) <= ALLOWED_A


def peel(bench: Bench) -> None:
    """Both poles with one setting; the page leads back to the joints."""
    bench.go_on(f"{JOB}steps/join/peel-samples/")
    bench.fill({"Welder": "bench welder", "Schedule": "two pulses, ms", "Pulse": "14"})
    held = "held: the strip tore, the nugget stayed"
    bench.choose({"Welded to": "a discharged scrap can", "At the positive cap": held, "At the negative can": held})
    bench.press("Put the sample into the book")


def join(bench: Bench) -> None:
    on_to(bench, "join")
    bench.says("5 strips, 16 joints")
    peel(bench)
    bench.tick(SECOND_LOOK)
    bench.fill({"Looked at by": "Nell Sand"})
    for number, joints in enumerate(joints_of_strips(SERIES, PARALLEL), start=1):
        face = "bottom" if number % 2 else "top"
        bench.tick(f"Strip {number}, {face} face: {joints} joints")
    bench.page.locator("#id_failed_3").fill("2")
    bench.page.get_by_text("Where a joint had to be made again").click()
    bench.fill({"Most tries at one joint": "2"})
    bench.page.get_by_label("Each joint that was made again cooled").check()
    bench.press("Record the joints")
    bench.says(
        "16 joints on 5 strips, 2 made a second time, second look by Nell Sand (named by whoever joined, not confirmed by that person), welded with bench welder"
    )


def check_taps(bench: Bench, groups: Groups) -> None:
    on_to(bench, "ladder")
    due = taps([[cell.mv for cell in group] for group in groups])
    for number, mv in enumerate(due, start=1):
        bench.says(f"Tap {number} V {volts(mv)} ± 0.100 V")
        bench.fill({f"Tap {number}": f"{mv.to_integral_value()} mV"})
    try_board(bench, "4.225 V", "3.0 V")
    bench.fill({"Tap 2": f"{(due[0] / 1000):.3f} V"})
    bench.press("Record the tap voltages")
    bench.says(
        f"Voltage at the tap differs from the sum of the groups below it by {printed((due[1] - due[0]) / 1000, 2)} V"
    )
    bench.fill({"Tap 2": f"{(due[1] / 1000):.3f} V", SINCE: "probe slipped"})
    bench.press("Record the tap voltages")
    bench.says(
        f"Taps {volts(due[0])} to {volts(due[-1])}, board trips at 4.225 V and 3.000 V, since the try before: probe slipped."
    )


def try_board(bench: Bench, over: str, under: str) -> None:
    """On a bench ladder, before it is fitted."""
    bench.page.get_by_label("The board is for these groups and this chemistry").check()
    bench.fill({"Overcharge trip": over, "Undervoltage trip": under})


def photograph_the_open_case(bench: Bench) -> None:
    """From the half-ticked step to the photographs and back."""
    bench.press("Add photographs; what is ticked here is kept")
    sent = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
    bench.page.get_by_label("Photographs").set_input_files(sent)  # type: ignore[arg-type]
    bench.fill({"What they show": "the open case"})
    bench.press("Keep them")
    bench.says("1 photograph is kept.")
    bench.page.get_by_role("link", name="Close the housing").first.click()
    assert bench.page.get_by_label("The cells cannot move.").is_checked()


def close_housing(bench: Bench) -> None:
    on_to(bench, "housing")
    ticks = bench.page.get_by_role("checkbox").all()
    assert len(ticks) == 7 + 1  # and whether there is metal at the case
    for tick in ticks[1:-1]:
        tick.check()
    bench.press("Close the housing")
    bench.says("Not confirmed: the cells cannot move.", "No photograph of this step is kept")
    bench.page.get_by_label("The cells cannot move.").check()
    photograph_the_open_case(bench)
    bench.press("Close the housing")


LOOKS = (("0", "15.6", "1 A", "22 °C"), ("60", "16.4 V", "1.0", "26"), ("110", "16.76", "0.1", "25"))
"""Minutes, pack, current and hottest spot: at the start, in the middle and at the end."""


def first_charge(bench: Bench) -> None:
    on_to(bench, "first_charge")
    bench.fill({"Who stays beside it": "Nell", "Charger, no load": "16.79 V"})
    for number, look in enumerate(LOOKS, start=1):
        group = bench.page.get_by_role("group", name=f"Look {number}", exact=True)
        for label, value in zip(("Minutes", "Pack", "Current", "Hottest spot"), look, strict=True):
            group.get_by_label(label, exact=True).fill(value)
    for number in range(1, SERIES + 1):
        bench.fill({f"Group {number} in the middle": "4.10 V", f"Group {number}": "4.19 V"})
    bench.fill({"Group 2": "4.201 V"})
    bench.press("Record the first charge")
    bench.says(f"Highest group voltage on charge is 4.201 V; at most {volts(CHARGE_MV)} is allowed.")
    bench.fill({"Group 2": "4.200 V", SINCE: "charger set lower"})
    bench.press("Record the first charge")


def final_test(bench: Bench, groups: Groups) -> None:
    """The pack must give 95 % of its weakest group, and rest where its groups add up to within 0.1 V."""
    on_to(bench, "final_test")
    weakest = min(capacities(groups))
    least = weakest * LEAST_SHARE
    bench.says(f"The weakest group of the cells placed holds {mah(weakest)}.", f"at least {mah(least)}")
    bench.fill(
        {
            "Capacity delivered": f"{least - 1:.1f} mAh",
            "At which current, down to what, how warm": "0.2 C down to 2.75 V a cell, 22 °C",
        }
    )
    bench.page.get_by_label("The board cut the discharge off").check()
    for number in range(1, SERIES + 1):
        bench.fill({f"Group {number}": "4.13 V", f"Group {number} after it": "4.128 V"})
    bench.fill({"Hours of rest": "24", "Load": "2 A", "Pack after 10 s of it": "16.47 V"})
    bench.fill({"Largest drop at a joint": "0.4 mV", "Hottest spot": "26"})
    bench.fill({"Pack at rest": "16.621 V"})  # 4 × 4.13 V = 16.52 V, and 101 mV more
    bench.press("Record the final test")
    bench.says("Measured capacity of the pack is", "differs from the sum of its groups by 0.101 V")
    bench.fill({"Capacity delivered": f"{least + 1:.1f} mAh", "Pack at rest": "16.620 V"})
    # the day of rest is spent again, so nothing of the first one stands there
    bench.fill({f"Group {number} after it": "4.128 V" for number in range(1, SERIES + 1)} | {"Hours of rest": "24"})
    bench.press("Record the final test")
    bench.says("Done: final test.")
