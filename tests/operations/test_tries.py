"""Tries of a step: each is a thing of its own, and what was read in a stopped one is kept and does not count."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from packs import documents as contents
from packs.terms import STEPS, Condition, DocumentKind, Measure, Stage
from shop import models
from shop.bridge import documents, figures
from shop.operations import documents as papers
from shop.operations import giving_up, proving, rebuild, stock
from shop.operations.steps import StepResult
from tests import line
from tests.factories import MORNING
from tests.operations.stopped import rests

pytestmark = pytest.mark.django_db

LATER = MORNING + timedelta(hours=3)


def charge(job: models.Job, *, group_2: Any, minutes: int, at: Any, meter: str) -> StepResult:
    """Charge a pack whose limits are all kept, but for what the second group is given."""
    return proving.first_charge(
        job=job,
        supervised_by="Nell",
        charger_voltage_mv=Decimal(16790),
        lines=line.looks_at(0, minutes, 2 * minutes),
        mid_groups_mv=[Decimal(3900)] * 4,
        groups_mv=[Decimal(4180), Decimal(group_2), Decimal(4180), Decimal(4180)],
        since="" if group_2 > 4200 else "charger set to 16.72 V",
        instrument=models.Instrument.objects.get_or_create(name=meter)[0],
        by=line.technician(),
        now=at,
    )


class TestFirstChargeDoneAgain:
    """Group 2 passes the 4.2 V of the invented data sheet at the first try, and keeps them at the second."""

    @pytest.fixture
    def job(self) -> models.Job:
        job = line.job_at(Stage.FIRST_CHARGE)
        assert not charge(job, group_2=4250, minutes=45, at=MORNING, meter="old meter").done
        assert charge(job, group_2=4190, minutes=30, at=LATER, meter="new meter").done
        job.refresh_from_db()
        return job

    def test_each_try_has_its_number_start_end_and_outcome(self, job: models.Job) -> None:
        tries = job.steps.filter(stage=Stage.FIRST_CHARGE.value)
        assert list(tries.values_list("number", "outcome", "started_at", "ended_at")) == [
            (1, "stopped", MORNING, MORNING),
            (2, "done", LATER, LATER),
        ]

    def test_a_reading_belongs_to_the_try_it_was_taken_in(self, job: models.Job) -> None:
        group_2 = job.readings.filter(stage=Stage.FIRST_CHARGE.value, point="group 2")
        assert list(group_2.values_list("step__number", "value")) == [(1, 4250), (2, 4190)]
        assert {count.readings.count() for count in job.steps.filter(stage=Stage.FIRST_CHARGE.value)} == {18}

    def test_only_the_last_try_counts(self, job: models.Job) -> None:
        assert set(figures.of_points(job, Stage.FIRST_CHARGE, Measure.CURRENT)) == {"0 min", "30 min", "60 min"}
        assert figures.of_points(job, Stage.FIRST_CHARGE, Measure.VOLTAGE)["group 2"] == 4190

    def test_the_report_shows_the_looks_of_one_try_and_names_the_one_that_was_stopped(self, job: models.Job) -> None:
        line.final_test(job)
        job.refresh_from_db()
        issued = papers.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician())
        paper = documents.thawed(issued.content)
        assert isinstance(paper, contents.TestReport)
        assert [look.point for look in paper.proof.looks] == ["0 min", "30 min", "60 min"]
        assert [meter.split(" (")[0].partition(":")[0] for meter in paper.proof.instruments] == [
            "new meter",
            "none named",
        ]
        (stopped,) = paper.stopped
        assert (stopped.stage, stopped.number, stopped.by) == (Stage.FIRST_CHARGE, 1, str(line.technician()))
        (reason,) = stopped.reasons
        assert reason.startswith("group 2: ")
        assert "4.25" in reason
        assert [done.stage for done in paper.steps].count(Stage.FIRST_CHARGE) == 1
        assert [
            check.message for check in paper.checks if check.outcome == "fail" and "surface" not in check.message
        ] == []
        assert paper.done_again == ((Stage.FIRST_CHARGE, 1),)

    def test_a_report_of_before_there_were_tries_is_still_read(self, job: models.Job) -> None:
        line.final_test(job)
        job.refresh_from_db()
        content = papers.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician()).content
        del content["stopped"]
        paper = documents.thawed(content)
        assert isinstance(paper, contents.TestReport)
        assert paper.stopped == ()

    def test_the_log_says_which_try_it_was(self, job: models.Job) -> None:
        entries = job.log.filter(facts__step=Stage.FIRST_CHARGE.value)
        assert list(entries.values_list("verb", "facts__number")) == [("step stopped", 1), ("step done", 2)]


class TestMeasuredAgain:
    """A typing error at position 1.1: 4100 mV for 3600 mV."""

    @pytest.fixture
    def job(self) -> models.Job:
        job = line.job_at(Stage.MEASURE)
        assert not rests(job, dict.fromkeys(line.names(), 3620) | {"1.1": 4100}).done
        return job

    def cell(self, job: models.Job) -> models.Cell:
        return job.plans.get().positions.get(group=1, place=1).cell

    def test_until_it_is_done_again_what_was_measured_is_true(self, job: models.Job) -> None:
        assert figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)["1.1"] == 4100
        assert figures.of_cells([self.cell(job)])[self.cell(job).pk][Measure.REST_VOLTAGE] == 4100

    def test_what_the_next_try_leaves_out_does_not_come_from_the_one_before(self, job: models.Job) -> None:
        assert not rests(job, {name: 3620 for name in line.names() if name != "1.1"}).done
        assert "1.1" not in figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)
        assert figures.of_cells([self.cell(job)])[self.cell(job).pk][Measure.REST_VOLTAGE] == 3620

    def test_a_typing_error_is_corrected_in_the_try_it_was_made_in(self, job: models.Job) -> None:
        wrong = job.readings.get(stage=Stage.MEASURE.value, point="1.1")
        right = stock.correct_reading(
            reading=wrong, value=Decimal(3600), reason="a one for a six", by=line.technician()
        )
        assert (right.corrects, right.step) == (wrong, wrong.step)
        assert figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)["1.1"] == 3600
        rests(job, dict.fromkeys(line.names(), 3620))
        assert figures.of_points(job, Stage.MEASURE, Measure.REST_VOLTAGE)["1.1"] == 3620


def outcomes(job: models.Job) -> list[tuple[Any, ...]]:
    of_the_card = job.steps.filter(stage__in=[stage.value for stage in STEPS])
    return list(of_the_card.values_list("stage", "number", "outcome"))


def test_cells_that_go_one_by_one_are_one_try() -> None:
    """Nothing is taken out again because one is missing."""
    job = line.job_at(Stage.DISMANTLE)
    rebuild.record_removed(
        job=job, condition=Condition.INTACT, rest_voltage_mv=Decimal(3300), count=7, by=line.technician()
    )
    assert not rebuild.finish_dismantling(job=job, by=line.technician()).done
    assert outcomes(job) == [("dismantle", 1, "under_way")]
    rebuild.record_removed(job=job, condition=Condition.DAMAGED, by=line.technician())
    assert rebuild.finish_dismantling(job=job, by=line.technician()).done
    job.refresh_from_db()
    line.place(job)
    assert outcomes(job) == [("dismantle", 1, "done"), ("place", 1, "done")]
    assert set(job.readings.filter(stage="dismantle").values_list("step__stage", flat=True)) == {"dismantle"}


def test_a_try_under_way_when_the_build_is_given_up_was_given_up() -> None:
    job = line.job_at(Stage.PLACE)
    rebuild.place_cell(job=job, code="S001", by=line.technician(), now=MORNING)
    giving_up.give_up(job=job, reason="the case is cracked", by=line.technician(), now=LATER)
    assert outcomes(job) == [("dismantle", 1, "done"), ("place", 1, "given_up")]
    assert job.steps.get(stage="place").ended_at == LATER


def test_what_is_taken_apart_goes_on_when_the_build_is_given_up() -> None:
    job = line.job_at(Stage.DISMANTLE)
    rebuild.record_removed(job=job, condition=Condition.INTACT, by=line.technician())
    giving_up.give_up(job=job, reason="the case is cracked", by=line.technician())
    assert outcomes(job) == [("dismantle", 1, "under_way")]
