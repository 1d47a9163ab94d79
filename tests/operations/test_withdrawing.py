"""What was written to the wrong cell: it stays in the book, counts no more, and the figures fall back."""

from datetime import timedelta
from decimal import Decimal

import pytest

from packs.terms import Condition, Measure
from shop.bridge import figures
from shop.models import Cell, LogEntry, Reading, TraceFile
from shop.operations import cell_testing, stock, withdrawing
from tests import line
from tests.factories import MORNING, CellFactory
from tests.operations import tester_files
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def cell() -> Cell:
    """A cell of the factory, which gives it capacity, DC resistance and rest voltage."""
    one: Cell = CellFactory(code="W1")
    return one


def figure(cell: Cell, measure: Measure) -> Decimal | None:
    return figures.of_cells([cell]).get(cell.pk, {}).get(measure)


def read(cell: Cell, measure: Measure, value: int, **more: object) -> Reading:
    by, now = line.technician(), MORNING + timedelta(days=400)
    return stock.record_reading(cell=cell, measure=measure, value=Decimal(value), by=by, now=now, **more)  # type: ignore[arg-type]


def withdraw(reading: Reading, reason: str = "of the cell beside it") -> None:
    withdrawing.withdraw_reading(reading=reading, reason=reason, by=line.technician())


def test_the_reading_before_counts_again(cell: Cell) -> None:
    before = figure(cell, Measure.CAPACITY)
    wrong = read(cell, Measure.CAPACITY, 1900)
    assert figure(cell, Measure.CAPACITY) == 1900
    withdraw(wrong)
    assert figure(cell, Measure.CAPACITY) == before
    assert Reading.objects.get(pk=wrong.pk).value == 1900


def test_the_only_reading_of_its_kind_leaves_nothing(cell: Cell) -> None:
    withdraw(cell.readings.get(measure=Measure.REST_VOLTAGE.value))
    assert figure(cell, Measure.REST_VOLTAGE) is None


def test_with_a_correction_the_whole_chain_goes(cell: Cell) -> None:
    before = figure(cell, Measure.CAPACITY)
    wrong = read(cell, Measure.CAPACITY, 1900)
    right = stock.correct_reading(reading=wrong, value=Decimal(2400), reason="digits", by=line.technician())
    with refused("corrected_already"):
        withdraw(wrong)
    withdraw(right)
    assert figure(cell, Measure.CAPACITY) == before


def test_once_and_with_a_reason(cell: Cell) -> None:
    wrong = read(cell, Measure.CAPACITY, 1900)
    with refused("reason_missing"):
        withdraw(wrong, "  ")
    withdraw(wrong)
    with refused("withdrawn_already"):
        withdraw(wrong)
    with refused("withdrawn_already"):
        stock.correct_reading(reading=wrong, value=Decimal(2400), reason="digits", by=line.technician())


def test_a_cell_that_only_the_withdrawn_voltage_rejected_is_as_before(cell: Cell) -> None:
    """1.2 V lies below what a lithium-ion cell may fall to: the rule that rejects has its source in the catalogue."""
    wrong = read(cell, Measure.REST_VOLTAGE, 1200)
    cell.refresh_from_db()
    assert cell.condition == Condition.DAMAGED
    withdraw(wrong)
    cell.refresh_from_db()
    assert cell.condition == Condition.INTACT


def test_the_voltage_that_counts_again_rejects(cell: Cell) -> None:
    low = read(cell, Measure.REST_VOLTAGE, 1200)
    stock.correct_reading(reading=low, value=Decimal(3600), reason="digits", by=line.technician())
    cell.refresh_from_db()
    assert cell.condition == Condition.INTACT
    lower = read(cell, Measure.REST_VOLTAGE, 1100)
    higher = read(cell, Measure.REST_VOLTAGE, 3610)
    withdraw(higher)
    cell.refresh_from_db()
    assert (figure(cell, Measure.REST_VOLTAGE), cell.condition) == (lower.value, Condition.DAMAGED)


class TestTesterFile:
    def moved(self) -> tuple[TraceFile, TraceFile]:
        kept = tester_files.kept()
        by = line.technician()
        cell_testing.accept_trace(trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=by)
        right = CellFactory(code="T2", lot=kept.cell.lot)
        understood = cell_testing.again(kept)
        put = withdrawing.put_to_cell(trace=kept, cell=right, understood=understood, reason="the wrong line", by=by)
        return kept, put

    def test_its_readings_are_withdrawn_and_can_be_accepted_for_the_right_cell(self) -> None:
        kept, put = self.moved()
        assert not Reading.objects.standing().filter(trace=kept).exists()
        (reading,) = cell_testing.accept_trace(
            trace=put, understood=cell_testing.again(put), measures=[Measure.CAPACITY], by=line.technician()
        )
        assert reading.cell.code == "T2"
        assert LogEntry.objects.filter(verb="tester file put to another cell").exists()

    def test_the_same_bytes_are_known_for_the_right_cell(self) -> None:
        _, put = self.moved()
        known = cell_testing.known_already(tester_files.CONTENT)
        assert known == put

    def test_at_the_wrong_cell_nothing_more_is_accepted_and_it_is_not_moved_twice(self) -> None:
        kept, put = self.moved()
        third = CellFactory(code="T3")
        with refused("moved_already"):
            cell_testing.accept_trace(
                trace=kept, understood=cell_testing.again(kept), measures=[Measure.CAPACITY], by=line.technician()
            )
        with refused("moved_already"):
            withdrawing.put_to_cell(
                trace=kept, cell=third, understood=cell_testing.again(kept), reason="no", by=kept.by
            )
        with refused("same_cell"):
            withdrawing.put_to_cell(
                trace=put, cell=put.cell, understood=cell_testing.again(put), reason="no", by=kept.by
            )
