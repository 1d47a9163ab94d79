"""A worn pack comes to the counter and leaves rebuilt, in a real browser, with cells that were really measured.

Cells: terencetaothucb/Pulse-Voltage-Response-Generation, Nature Communications 2024, doi:10.1038/s41467-024-54454-0.
"""

from pathlib import Path

import pytest

from shop.models import Cell, Job, Joint
from shop.selectors import audit
from tests.journey import building, closing, planning, stock
from tests.journey.arithmetic import cells_at_last_age
from tests.journey.bench import Bench

pytestmark = [pytest.mark.browser, pytest.mark.data, pytest.mark.slow]


def test_a_pack_is_rebuilt_from_counter_to_hand_over(
    bench: Bench, shared_data: Path, pdftotext: str, pango: None
) -> None:
    table = shared_data / "pulsebat" / "pulsebat_cells.csv"
    cells = cells_at_last_age(table)
    stock.bring_in(bench, table, cells)

    planning.take_in(bench)
    planning.examine(bench)
    planning.state_target(bench)
    groups = planning.match(bench, cells)
    planning.issue_job_card(bench, pdftotext, groups)

    left_over = set(cells) - {cell.code for group in groups for cell in group}
    building.dismantle(bench)
    building.place(bench, groups, stranger=min(left_over))
    building.measure(bench, groups)
    building.join(bench)
    building.check_taps(bench, groups)
    building.close_housing(bench)
    building.first_charge(bench)
    building.final_test(bench, groups)

    closing.clear_the_bench(bench)
    closing.issue_test_report(bench, pdftotext, groups)
    closing.issue_disposal_note(bench, pdftotext)
    closing.hand_over(bench, pdftotext)
    books_balance(left_over, {cell.code for group in groups for cell in group})


def books_balance(left_over: set[str], placed: set[str]) -> None:
    """Twelve cells came in bought and eight came out of the old pack; each of the twenty stands in one place."""
    assert list(audit.differences()) == []
    assert Job.objects.get().closed_at is not None
    assert Joint.objects.filter(state="made").count() == 16
    assert codes("customer") == placed
    assert codes("stock") == left_over | {f"J0001-R{number:02d}" for number in range(1, 8)}
    assert codes("container") == {"J0001-R08"}
    assert Cell.objects.count() == 20


def codes(place: str) -> set[str]:
    return set(Cell.objects.filter(place=place).values_list("code", flat=True))
