"""A worn pack comes to the counter and leaves rebuilt, in a real browser, with cells that were really measured.

Cells: terencetaothucb/Pulse-Voltage-Response-Generation, Nature Communications 2024, doi:10.1038/s41467-024-54454-0.
"""

from pathlib import Path

import pytest

from tests.journey import building, closing, outcome, planning, stock
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
    outcome.books_balance(cells, groups)
    outcome.readings_stand(groups)
