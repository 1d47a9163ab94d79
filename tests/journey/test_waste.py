"""Damaged and intact cells of one pack into their containers, until one is full, and out with a carrier."""

import pytest

from packs.terms import Condition, Owner, Role, Stage
from shop.models import Cell, CellModel, Consignment, Container, InnerPackaging, User
from shop.selectors import audit
from tests import line
from tests.journey.bench import Bench
from tests.journey.papers import paper_says

pytestmark = [pytest.mark.browser, pytest.mark.slow]

JOB = "/jobs/1/removed/"
HEAVY_MG = 3_900_000
"""Seven cells of 3.9 kg: 27.3 kg, above nine tenths of the 30 kg of a package that is not UN-approved (ADR P909(2))."""


def test_cells_of_one_pack_leave_in_the_right_containers(
    technician: User, bench: Bench, pdftotext: str, pango: None
) -> None:
    job = line.job_at(Stage.REMOVED, removed_owner=Owner.CUSTOMER)
    CellModel.objects.update(mass_mg=HEAVY_MG)
    assert Role.TECHNICIAN in {Role(role) for role in technician.holdings.values_list("role", flat=True)}
    sort(bench, job.number)
    warned(bench)
    close(bench)
    consign(bench, pdftotext)
    confirm(bench)
    assert list(audit.differences()) == []
    assert Cell.objects.filter(place="consigned").count() == 8


def sort(bench: Bench, number: int) -> None:
    """Each condition has one kind of container to choose from."""
    for code, takes in (("I1", "intact cells and packs"), ("D1", "damaged or defective cells and packs")):
        bench.go(f"/containers/new/?for={number}")
        bench.fill({"Code on the container": code, "Start date": "2026-07-01"})
        bench.choose({"Takes": takes})
        bench.press("Open the container")
    for condition, right, wrong in (("damaged", "D1", "I1"), ("intact", "I1", "D1")):
        part = bench.page.locator(f"#{condition}")
        ways = part.get_by_label("Where they go").locator("option").all_inner_texts()
        assert f"into container {right}" in ways
        assert f"into container {wrong}" not in ways
        part.get_by_label("Where they go").select_option(label=f"into container {right}")
        part.get_by_label("Every terminal is insulated").check()
        if condition == "damaged":
            part.get_by_label("Each is alone in an inner packaging").check()
        with bench.page.expect_navigation():
            part.get_by_role("button", name="Put").first.click()
    bench.says("Nothing that was removed is left on the bench.")
    assert inside("I1") == {Condition.INTACT: 7}
    assert inside("D1") == {Condition.DAMAGED: 1}
    assert InnerPackaging.objects.get().container.code == "D1"


def inside(code: str) -> dict[Condition, int]:
    found: dict[Condition, int] = {}
    for condition in Cell.objects.filter(container__code=code).values_list("condition", flat=True):
        found[Condition(condition)] = found.get(Condition(condition), 0) + 1
    return found


def warned(bench: Bench) -> None:
    bench.go("/containers/")
    bench.says("nearly full")
    bench.go("/containers/I1/")
    bench.says("27.300 kg of 30 kg gross", "Close it and start another.")


def close(bench: Bench) -> None:
    bench.only_one_thing_first()
    bench.fill({"Gross mass, weighed": "30.1 kg"})
    bench.tick("Closed and secured", "The lid lets gas out")
    bench.press("Close the container")
    bench.says("Too heavy for packaging that is not UN-approved.")
    bench.fill({"Gross mass, weighed": "29.5 kg"})
    bench.press("Close the container")
    bench.says("closed and secured")
    bench.go("/containers/D1/")
    bench.fill({"Gross mass, weighed": "5 kg"})
    bench.tick("Closed and secured", "The lid lets gas out", "UN-approved packaging")
    bench.press("Close the container")


def consign(bench: Bench, pdftotext: str) -> None:
    bench.press("Issue the label")
    paper_says(bench, "CL0001", pdftotext, "DAMAGED/DEFECTIVE", "5.000 kg", "UN3480")
    bench.go("/containers/D1/")
    bench.fill(
        {
            "Carrier": "Vale Haulage",
            "Who of the carrier signs": "Per Lund",
            "Receiving facility": "Vale Recycling",
            "Number of the statutory note": "BS 4711",
        }
    )
    bench.tick("I1")
    bench.press("Hand the container over")
    assert bench.path == "/consignments/1/"
    assert set(Container.objects.filter(consignment=Consignment.objects.get()).values_list("code", flat=True)) == {
        "I1",
        "D1",
    }
    bench.press("Issue the disposal note")
    paper_says(
        bench, "DN0001", pdftotext, "The workshop's own record.", "BS 4711", "34.500 kg", "74.88 Wh", "Vale Recycling"
    )


def confirm(bench: Bench) -> None:
    bench.go("/consignments/1/")
    bench.says("confirmation not back yet")
    day = Consignment.objects.get().left_at.date().isoformat()
    bench.fill({"Received on": day, "Confirmed by": "Ola Berg"})
    bench.press("Write the confirmation down")
    bench.says("by Ola Berg")
    bench.go("/containers/")
    bench.says("confirmed")
