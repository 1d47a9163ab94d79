"""How a step ends: readings stay, rules decide, the job moves on, and what was found is a snapshot."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from packs.terms import STEPS, Outcome, Stage
from shop import models
from shop.bridge import rules
from shop.operations import rebuild
from tests import line
from tests.factories import MORNING
from tests.operations.stopped import joined, rests
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def test_the_steps_of_the_job_card_are_done_in_their_order() -> None:
    job = line.job_at(Stage.REMOVED)
    steps = job.steps.exclude(stage=Stage.EXAMINE.value).order_by("ended_at", "pk")
    assert [step.stage for step in steps] == [stage.value for stage in STEPS]
    assert all(step.done and step.by == line.technician() for step in steps)
    done = [entry.facts["step"] for entry in job.log.all() if entry.verb == "step done"]
    assert done == [stage.value for stage in STEPS]


def test_each_change_of_a_job_gives_it_a_new_version() -> None:
    job = line.job_at(Stage.MEASURE)
    before = job.version
    rests(job, dict.fromkeys(line.names(), 3620))
    job.refresh_from_db()
    assert job.version == before + 1


def test_readings_of_a_stopped_step_are_kept_and_stand_below_each_other() -> None:
    job = line.job_at(Stage.MEASURE)
    high = dict.fromkeys(line.names(), 3620) | {"1.1": 4100}
    assert not rests(job, high).done
    assert job.readings.get(point="1.1", stage=Stage.MEASURE.value).value == 4100
    assert not rests(job, high).done
    assert job.readings.filter(point="1.1", stage=Stage.MEASURE.value).count() == 2
    assert rests(job, dict.fromkeys(line.names(), 3620)).done
    assert job.readings.filter(point="1.1", stage=Stage.MEASURE.value).count() == 3


def test_a_stopped_step_says_who_took_the_readings_but_not_that_it_is_done() -> None:
    job = line.job_at(Stage.MEASURE)
    step = rests(job, {"1.1": 3620}).step
    assert (step.outcome, step.done, step.by) == ("stopped", False, line.technician())
    assert {reading.by for reading in job.readings.filter(stage=Stage.MEASURE.value)} == {line.technician()}


def test_findings_are_stored_as_they_were_said() -> None:
    """A later rule set doesn't change what yesterday's step was held against."""
    job = line.job_at(Stage.MEASURE)
    result = rests(job, dict.fromkeys(line.names(), 3620))
    stored = models.Step.objects.get(job=job, stage=Stage.MEASURE.value)
    assert stored.rule_set == rules.version()
    assert [found["message"] for found in stored.findings] == [found.message for found in result.findings]
    assert {found["outcome"] for found in stored.findings} == {Outcome.PASS.value}


def test_the_moment_is_an_argument() -> None:
    job = line.job_at(Stage.LADDER)
    taps = [Decimal(3620 * n) for n in range(1, 5)]
    result = rebuild.check_taps(job=job, taps_mv=taps, board=line.BOARD_TRIED, by=line.technician(), now=MORNING)
    assert (result.step.started_at, result.step.ended_at) == (MORNING, MORNING)
    assert {reading.measured_at for reading in job.readings.filter(stage=Stage.LADDER.value)} == {MORNING}


def test_the_database_wants_an_end_with_every_outcome_and_one_try_that_counts() -> None:
    job = line.job_at(Stage.PLACE)
    done = job.steps.get(stage=Stage.DISMANTLE.value)
    begun = {"job": job, "stage": Stage.DISMANTLE.value, "started_at": MORNING, "by": line.technician()}
    with pytest.raises(IntegrityError, match="step_ended_has_outcome"), transaction.atomic():
        job.steps.filter(pk=done.pk).update(ended_at=None)
    with pytest.raises(IntegrityError), transaction.atomic():
        models.Step.objects.create(**begun, number=2)
    with pytest.raises(IntegrityError), transaction.atomic():
        models.Step.objects.create(**begun, number=1, outcome="stopped", ended_at=MORNING)


@pytest.mark.parametrize("value", ["NaN", "Infinity", "-Infinity"])
def test_a_number_that_is_none_is_no_reading(value: str) -> None:
    job = line.job_at(Stage.MEASURE)
    with refused():
        rests(job, dict.fromkeys(line.names(), 3620) | {"1.1": value})
    line.measure(job)
    job.refresh_from_db()
    joined(job, range(1, 6))
    with refused("impossible_value", field="tap 1"):
        rebuild.check_taps(job=job, taps_mv=[Decimal(value)], by=line.technician())
