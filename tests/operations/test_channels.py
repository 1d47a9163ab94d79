"""Channels of testers, their check cells, the queue, and what a passed cell costs. Numbers are invented."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from packs.terms import Condition, Grade, Measure, Place, Role, Stage
from shop import models
from shop.bridge import grading as bridge
from shop.operations import channels, proving, stock
from shop.selectors import channels as told
from shop.selectors import upkeep
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, LotFactory, SettingsFactory
from tests.operations import calls
from tests.operations.test_grading import a_cell, read, state_new
from tests.refusal import refused
from tests.web.desk import sign_in, words

pytestmark = pytest.mark.django_db

WEEK = timedelta(days=7)
SECOND = timedelta(seconds=1)


def a_tester(*names: str) -> list[models.Channel]:
    meter = models.Instrument.objects.create(name="T1")
    return [channels.add_channel(instrument=meter, name=one, by=line.technician()) for one in names or ("1",)]


def check_cell(capacity: int = 2500) -> models.Cell:
    cell = models.Cell.objects.filter(code="K1").first() or CellFactory(code="K1")
    known = {"capacity_mah": Decimal(capacity), "conditions": "mean of 3 tests"}
    channels.keep_check_cell(cell=cell, **known, by=line.technician(), now=MORNING)
    return cell


def reads(channel: models.Channel, cell: models.Cell, mah: int, at: Any = MORNING) -> models.CheckReading:
    given = {"channel": channel, "cell": cell, "capacity_mah": Decimal(mah)}
    return channels.read_check_cell(**given, by=line.technician(), now=at)


def graded(cell: models.Cell, meter: models.Instrument, at: Any = MORNING) -> Grade:
    """Grade a cell whose capacity was read with a meter at a moment."""
    given = {"measure": Measure.CAPACITY, "value": Decimal(2400), "conditions": "0.2 C, 23 °C", "instrument": meter}
    stock.record_reading(cell=cell, **given, by=line.technician(), now=at)
    found: Grade = bridge.of_cells([cell], at=at)[cell.pk].grade
    return found


class TestCheckCells:
    @pytest.mark.parametrize(
        ("mah", "agrees"), [(2449, False), (2450, True), (2500, True), (2550, True), (2551, False)]
    )
    def test_a_channel_reads_true_within_two_percent(self, mah: int, agrees: bool) -> None:
        """2 % of 2500 mAh are 50 mAh; common practice, no source."""
        (channel,) = a_tester()
        assert reads(channel, check_cell(), mah).agrees is agrees

    @pytest.mark.parametrize(("after", "grade"), [(WEEK, Grade.FIRST), (WEEK + SECOND, Grade.RETEST)])
    def test_what_was_measured_after_the_week_is_not_graded(self, after: timedelta, grade: Grade) -> None:
        state_new()
        (channel,) = a_tester()
        reads(channel, check_cell(), 2500)
        assert graded(a_cell("M1"), channel.instrument, MORNING + after) is grade

    def test_before_the_first_reading_of_a_check_cell_nothing_is_graded(self) -> None:
        state_new()
        (channel,) = a_tester()
        assert graded(a_cell("M1"), channel.instrument) is Grade.RETEST

    def test_a_channel_that_does_not_read_true_is_out_until_it_does(self) -> None:
        state_new()
        (channel,) = a_tester()
        cell = check_cell()
        reads(channel, cell, 2400)
        assert graded(a_cell("M1"), channel.instrument) is Grade.RETEST
        reads(channel, cell, 2490, MORNING + SECOND)
        assert graded(a_cell("M2"), channel.instrument, MORNING + 2 * SECOND) is Grade.FIRST

    def test_where_the_book_knows_the_channel_only_that_one_counts(self) -> None:
        """One of two channels was never checked: a cell from an unknown one is not graded."""
        state_new()
        good, _ = a_tester("1", "2")
        reads(good, check_cell(), 2500)
        cell, other = a_cell("M1"), a_cell("M2")
        technician = line.technician()
        (run,) = channels.queue_cells(cells=[cell], by=technician, now=MORNING)
        channels.begin_run(run=run, channel=good, hours=Decimal(9), by=technician, now=MORNING)
        later = MORNING + timedelta(hours=9)
        assert graded(cell, good.instrument, later) is Grade.FIRST
        assert graded(other, good.instrument, later) is Grade.RETEST

    @pytest.mark.parametrize(
        ("cell_at", "check_at", "later", "model", "grade"),
        [
            ("0.2 C, 12 °C", None, 0, None, Grade.RETEST),
            ("0.2 C, 12 °C", 12_000, 0, None, Grade.FIRST),
            ("0.2 C, 12 °C", 15_000, 0, None, Grade.FIRST),
            ("0.2 C, 12 °C", 15_001, 0, None, Grade.RETEST),
            ("0.2 C, 12 °C", 12_000, 1, None, Grade.RETEST),
            ("0.2 C, 12 °C", 12_000, 0, "Another 2.6", Grade.RETEST),
            ("0.5 C, 12 °C", 12_000, 0, None, Grade.RETEST),
            ("0.2 C", 12_000, 0, None, Grade.UNTESTED),
            ("0.2 C, 23 °C", 12_000, 0, None, Grade.SECOND),
        ],
    )
    def test_a_capacity_at_another_temperature_is_held_against_the_check_cell_of_the_day(
        self, cell_at: str, check_at: int | None, later: int, model: str | None, grade: Grade
    ) -> None:
        """2250 of 2600 mAh are 86.5 %, grade 2; beside a cell of 2500 that gave 2350 they are 92.1 %, grade 1; arithmetic."""
        state_new()
        (channel,) = a_tester()
        known = check_cell()
        reads(channel, known, 2500)
        if model:
            lot = LotFactory(code="L9", cell_model=CellModelFactory(name=model))
            models.Cell.objects.filter(pk=known.pk).update(lot=lot)
        if check_at is not None:
            given = {"channel": channel, "cell": known, "capacity_mah": Decimal(2350), "temperature_mdegc": check_at}
            read = channels.read_check_cell(**given, by=line.technician(), now=MORNING)
            assert read.agrees is None
        cell, at = a_cell("M1"), MORNING + timedelta(days=later)
        read_at = {"measure": Measure.CAPACITY, "value": Decimal(2250), "conditions": cell_at}
        read_at |= {"instrument": channel.instrument, "sure": True}
        stock.record_reading(cell=cell, **read_at, by=line.technician(), now=at)
        found = bridge.of_cells([cell], at=at)[cell.pk]
        assert found.grade is grade
        told = " ".join(reason.words for reason in found.reasons)
        assert ("against that day's check cell" in told) is (grade is Grade.FIRST)

    def test_a_check_cell_that_was_read_in_the_cold_does_not_judge_its_channel(self) -> None:
        state_new()
        (channel,) = a_tester()
        cell = check_cell()
        reads(channel, cell, 2500)
        technician = line.technician()
        given = {"channel": channel, "cell": cell, "capacity_mah": Decimal(2000), "by": technician}
        channels.read_check_cell(**given, temperature_mdegc=5000, now=MORNING + SECOND)
        assert graded(a_cell("M1"), channel.instrument, MORNING + 2 * SECOND) is Grade.FIRST
        with refused("impossible_value", field="temperature_mdegc"):
            channels.read_check_cell(**given, temperature_mdegc=60_001)

    def test_an_overdue_channel_ends_no_final_test(self) -> None:
        job, (channel,) = line.job_at(Stage.FINAL_TEST), a_tester()
        given = calls.arguments("proving.final_test", job) | {"instrument": channel.instrument, "by": line.technician()}
        with refused("check_overdue", field="instrument"):
            proving.final_test(**given)
        cell = check_cell()
        channels.read_check_cell(channel=channel, cell=cell, capacity_mah=Decimal(2500), by=line.technician())
        assert proving.final_test(**given)

    def test_a_check_cell_goes_into_no_pack(self) -> None:
        cell = check_cell()
        assert cell not in models.Cell.objects.free()
        assert models.Cell.objects.filter(pk=cell.pk, place=Place.STOCK.value).exists()

    def test_a_cell_that_a_pack_waits_for_is_none(self) -> None:
        job = line.job_at(Stage.PLACE)
        cell, technician = job.plans.get().positions.get(group=1, place=1).cell, line.technician()
        with refused("reserved", field="cell"):
            channels.keep_check_cell(cell=cell, capacity_mah=Decimal(2500), conditions="3 tests", by=technician)

    def test_any_other_cell_tells_nothing(self) -> None:
        (channel,), cell = a_tester(), CellFactory(code="X1")
        with refused("no_check_cell", field="cell"):
            reads(channel, cell, 2500)


class TestQueue:
    def test_one_cell_to_a_channel(self) -> None:
        (channel,), technician = a_tester(), line.technician()
        first, second = channels.queue_cells(cells=[CellFactory(), CellFactory()], by=technician)
        channels.begin_run(run=first, channel=channel, hours=Decimal(9), by=technician)
        with refused("channel_taken", field="channel"):
            channels.begin_run(run=second, channel=channel, hours=Decimal(9), by=technician)
        channels.end_run(run=first, state=models.RunState.PASSED, by=technician)
        channels.begin_run(run=second, channel=channel, hours=Decimal(9), by=technician)

    @pytest.mark.parametrize(
        ("columns", "code"),
        [({"condition": Condition.DAMAGED.value}, "not_intact"), ({"place": Place.CUSTOMER.value}, "not_here")],
    )
    def test_what_is_not_tested(self, columns: dict[str, str], code: str) -> None:
        cell, technician = CellFactory(**columns), line.technician()
        with refused(code, field="cells"):
            channels.queue_cells(cells=[cell], by=technician)

    def test_a_cell_found_damaged_while_it_waited_is_not_charged(self) -> None:
        (channel,), technician = a_tester(), line.technician()
        (run,) = channels.queue_cells(cells=[CellFactory(code="D1")], by=technician)
        models.Cell.objects.filter(code="D1").update(condition=Condition.DAMAGED.value)
        with refused("not_intact"):
            channels.begin_run(run=run, channel=channel, hours=Decimal(9), by=technician)

    def test_a_cell_waits_once(self) -> None:
        cell, technician = CellFactory(), line.technician()
        channels.queue_cells(cells=[cell], by=technician)
        with refused("queued_already", field="cells"):
            channels.queue_cells(cells=[cell], by=technician)

    @pytest.mark.parametrize("state", [models.RunState.PASSED, models.RunState.REJECTED, models.RunState.RUNNING])
    def test_what_was_in_no_channel_has_no_result(self, state: models.RunState) -> None:
        technician = line.technician()
        (run,) = channels.queue_cells(cells=[CellFactory()], by=technician)
        with refused("not_tested", field="state"):
            channels.end_run(run=run, state=state, by=technician)

    @pytest.mark.parametrize("hours", ["0", "2000.1"])
    def test_hours_that_cannot_be(self, hours: str) -> None:
        (channel,), technician = a_tester(), line.technician()
        (run,) = channels.queue_cells(cells=[CellFactory()], by=technician)
        with refused("impossible_value", field="hours"):
            channels.begin_run(run=run, channel=channel, hours=Decimal(hours), by=technician)

    def test_the_job_promised_first_is_tested_first_and_the_stock_last(self) -> None:
        technician = line.technician()
        one, two = line.job_at(Stage.EXAMINE), line.job_at(Stage.EXAMINE)
        for job, code in ((None, "Q0"), (one, "Q1"), (two, "Q2")):
            channels.queue_cells(cells=[CellFactory(code=code)], job=job, by=technician)
        channels.promise(job=two, promised_on=date(2099, 1, 2), by=technician)
        assert [queue.job for queue in told.queue()] == [two, one, None]
        channels.promise(job=models.Job.objects.get(pk=one.pk), promised_on=date(2099, 1, 1), by=technician)
        assert [queue.job for queue in told.queue()] == [one, two, None]

    def test_a_day_that_is_past_is_no_promise(self) -> None:
        job, technician = line.job_at(Stage.EXAMINE), line.technician()
        with refused("day_past", field="promised_on"):
            channels.promise(job=job, promised_on=date(2020, 1, 1), by=technician)


def test_hours_left_and_what_a_passed_cell_costs() -> None:
    """Three tests of 8 h at 0.50 an hour are 12, 3 x 10 min of handling at 60 an hour are 30: 42 for two that passed."""
    technician = line.technician()
    line.state_prices(labour_rate=Decimal(60))
    meter = models.Instrument.objects.create(name="T1")
    costs = {"hour_cost": Decimal("0.50"), "handling_min": 10}
    channel = channels.add_channel(instrument=meter, name="1", **costs, by=technician)
    runs = channels.queue_cells(cells=[CellFactory() for _ in range(4)], by=technician, now=MORNING)
    for run, state in zip(runs, ("passed", "passed", "rejected"), strict=False):
        channels.begin_run(run=run, channel=channel, hours=Decimal(9), by=technician, now=MORNING)
        ended = MORNING + timedelta(hours=8)
        channels.end_run(run=run, state=models.RunState(state), by=technician, now=ended)
    channels.begin_run(run=runs[3], channel=channel, hours=Decimal(9), by=technician, now=MORNING)
    cost = told.cost(MORNING + timedelta(days=1))
    assert (cost.tested, cost.passed, cost.each) == (3, 2, Decimal(21))
    (shown,) = told.lines(MORNING + timedelta(hours=2))
    assert shown.left is not None
    assert (shown.left.m_as("hour"), shown.late) == (7, False)
    assert told.lines(MORNING + timedelta(hours=10))[0].late


def test_what_the_stock_wants() -> None:
    """NMC rests between 3.58 and 3.74 V in storage, by the table of the chemistry; 180 d by version 0 of the criteria."""
    for code, rest in (("U1", 3580), ("U2", 3579), ("U3", 3741)):
        CellFactory(code=code, readings={Measure.REST_VOLTAGE: rest})
    CellFactory(code="U4", readings={})
    CellFactory(code="U9", lot__code="H1", lot__held_why="too light", readings={Measure.REST_VOLTAGE: 3000})
    assert [(lot.code, count) for lot, count in upkeep.held()] == [("H1", 1)]
    for number in range(3):
        read(CellFactory(code=f"V{number}"), Measure.SELF_DISCHARGE, 100, "charged 2 Nov, shelf 3, over 14 d")
    read(CellFactory(code="V9"), Measure.SELF_DISCHARGE, 401, "charged 2 Nov, shelf 3, over 14 d")
    due, storage, drifting = (
        [cell.code for cell, _ in wants.rows] for wants in upkeep.lists(MORNING + timedelta(days=180))
    )
    assert (due, storage, drifting) == (["U4"], ["U2", "U3"], ["V9"])
    assert upkeep.lists(MORNING + timedelta(days=180, seconds=1))[0].count == 8


def test_the_settings_say_of_a_tester_why_it_does_not_count(client: Client) -> None:
    SettingsFactory()
    good, _ = a_tester("1", "2")
    channels.read_check_cell(channel=good, cell=check_cell(), capacity_mah=Decimal(2500), by=line.technician())
    sign_in(client, Role.TECHNICIAN)
    told_of = words(client.get("/settings/"))
    assert "does not count channel 2: no check cell was read yet" in told_of
    assert "channel 1:" not in told_of
