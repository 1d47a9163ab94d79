"""Figures behind the pictures of a lot and of a cell; numbers are invented, counted and divided by hand."""

from datetime import timedelta
from decimal import Decimal

import pytest

from packs.terms import Measure
from shop.bridge import lot_figures
from shop.bridge.lot_figures import Bin
from shop.operations import grading, stock
from tests.factories import MORNING, CellFactory, CellModelFactory, UserFactory


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        # From 2510 to 2590 in twelve steps are 6.7 mAh: the next of 1, 2, 5 and 10 is 10 mAh.
        (
            [2510, 2519.9, 2520, 2590],
            [(2500, 0), (2510, 2), (2520, 1), *((low, 0) for low in range(2530, 2590, 10)), (2590, 1), (2600, 0)],
        ),
        ([2500, 2500, 2500], [(2499, 0), (2500, 3), (2501, 0)]),
        (
            [1000, 2300],
            [(800, 0), (1000, 1), (1200, 0), (1400, 0), (1600, 0), (1800, 0), (2000, 0), (2200, 1), (2400, 0)],
        ),
    ],
)
def test_numbers_are_counted_in_round_steps_on_a_base_of_nothing(
    numbers: list[float], expected: list[tuple[float, int]]
) -> None:
    assert lot_figures.bins(numbers) == [Bin(low, count) for low, count in expected]


@pytest.mark.django_db
def test_a_cell_over_its_tests_is_told_by_rated_capacity_and_by_a_new_cell_measured_alike() -> None:
    """2600, 2340 and 2080 of 2600 mAh are 100, 90 and 80 %; 45 of 30 mΩ are 150 %; 1 kHz is no DC pulse."""
    by = UserFactory(username="technician")
    cell = CellFactory(code="D1", readings={})
    assert lot_figures.drift(cell) == {}
    for days, mah, uohm in ((0, 2600, 30_000), (40, 2340, 36_000), (100, 2080, 45_000)):
        at = MORNING + timedelta(days=days)
        stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=Decimal(mah), by=by, measured_at=at, now=at)
        for method, value in (("DC pulse 10 s", uohm), ("two steps", 20_000)):
            given = {"measure": Measure.DC_RESISTANCE, "value": Decimal(value), "method": method}
            stock.record_reading(cell=cell, **given, by=by, measured_at=at, now=at)
    assert list(lot_figures.drift(cell)) == [Measure.CAPACITY]
    facts = {"dc_resistance_uohm": 30_000, "method": "DC pulse 10 s", "temperature_mdegc": 23_000, "source": "sheet"}
    grading.state_new_cell(cell_model=CellModelFactory(), **facts, by=by, now=MORNING)
    told = lot_figures.drift(cell)
    assert told[Measure.CAPACITY] == lot_figures.Drift([0, 40, 100], [100, 90, 80])
    assert told[Measure.DC_RESISTANCE] == lot_figures.Drift([0, 40, 100], [100, 120, 150])
