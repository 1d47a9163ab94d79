"""A reading of a step that is done is corrected: its rules are asked again, and a job that met none before goes back."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from packs.terms import Measure, Outcome, Stage
from shop import models
from shop.bridge import rules
from shop.operations import proving, stock
from shop.selectors import audit
from shop.selectors.tries import beyond_a_limit
from tests import line

pytestmark = pytest.mark.django_db


def correct(job: models.Job, stage: Stage, point: str, measure: Measure, value: Any) -> models.Reading:
    wrong = models.Reading.objects.standing().get(job=job, stage=stage.value, point=point, measure=measure.value)
    right = stock.correct_reading(reading=wrong, value=Decimal(value), reason="misread", by=line.technician())
    job.refresh_from_db()
    return right


def step(job: models.Job, stage: Stage) -> models.Step:
    return job.steps.filter(stage=stage.value).last()  # type: ignore[return-value]


# Stage, point, measure, the last value that holds, the first that does not, the rule: limits of the demo's Round 2.6,
# a 4s2p of 40 mΩ cells at 3.62 V; 0.1 V for taps and sums, 95 % of 5130 mAh, 4.2 V a group, 40 °C (invented pack).
EDGES = [
    (Stage.MEASURE, "1.1", Measure.REST_VOLTAGE, "3620", "1999.999", "cell.recovery_voltage"),
    (Stage.MEASURE, "1.1", Measure.REST_VOLTAGE, "3720", "3840", "measure.joining_current"),
    (Stage.LADDER, "tap 2", Measure.VOLTAGE, "7340", "7345", "ladder.tap"),
    (Stage.FIRST_CHARGE, "group 2", Measure.VOLTAGE, "4200", "4200.001", "first_charge.group_voltage"),
    (Stage.FIRST_CHARGE, "charger", Measure.VOLTAGE, "16800", "16800.001", "first_charge.charger_voltage"),
    (Stage.FINAL_TEST, "pack", Measure.CAPACITY, "4873.5", "4873.499", "final.capacity"),
]


@pytest.mark.parametrize(("stage", "point", "measure", "holds", "fails", "rule"), EDGES)
def test_a_step_holds_up_to_its_limit_and_opens_again_beyond(
    stage: Stage, point: str, measure: Measure, holds: str, fails: str, rule: str
) -> None:
    job = line.job_at(Stage.REMOVED)
    right = correct(job, stage, point, measure, holds)
    assert (job.stage, beyond_a_limit(right)) == (Stage.REMOVED, "")
    right = correct(job, stage, point, measure, fails)
    assert job.stage == stage
    assert rule in {one["rule_id"] for one in rules.stored_stops(step(job, stage).findings)}
    assert f"back at “{stage.label}”" in beyond_a_limit(right)
    done = set(job.steps.filter(outcome=models.StepOutcome.DONE.value).values_list("stage", flat=True))
    assert done == {one.value for one in job.route[: job.route.index(stage)] if job.steps.filter(stage=one.value)}
    assert not list(audit.differences())


def test_the_taps_lean_on_what_the_cells_were_measured_at() -> None:
    """3.62 V for two cells side by side; 3.70 V for both is 80 mV more at every tap, 3.74 V 120 mV, over the 0.1 V."""
    job = line.job_at(Stage.HOUSING)
    for place in ("1.1", "1.2"):
        correct(job, Stage.MEASURE, place, Measure.REST_VOLTAGE, 3700)
    assert job.stage == Stage.HOUSING
    for place in ("1.1", "1.2"):
        correct(job, Stage.MEASURE, place, Measure.REST_VOLTAGE, 3740)
    assert job.stage == Stage.LADDER


def test_the_job_goes_on_to_its_end_from_there() -> None:
    job = line.job_at(Stage.REMOVED)
    correct(job, Stage.FIRST_CHARGE, "group 2", Measure.VOLTAGE, 4350)
    assert line.to_the_end(job).closed_at
    assert step(job, Stage.FIRST_CHARGE).number == 2
    assert not list(audit.differences())


def test_a_closed_job_stays_closed_and_its_papers_tell(client: Client) -> None:
    job = line.to_the_end(line.job_at(Stage.HAND_OVER))
    reading = job.readings.get(stage=Stage.FIRST_CHARGE.value, point="group 2")
    client.force_login(line.technician())
    address = f"/stock/readings/{reading.pk}/correct/"
    form = {"value": "4.35 V", "reason": "misread", "form_token": str(uuid4())}
    said = client.post(address, form, follow=True).content.decode()
    assert "is closed: tell whoever has the pack not to use it" in said
    job.refresh_from_db()
    assert job.closed_at
    found = {one["where"]: one["outcome"] for one in step(job, Stage.FIRST_CHARGE).findings if one["where"]}
    assert found["group 2"] == Outcome.FAIL
    assert job.log.filter(verb="step holds no more").count() == 1


def test_a_stopped_try_is_not_asked_again() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    looks = [
        proving.ChargeLine(
            minutes=10, pack_voltage_mv=Decimal(15000), current_ma=Decimal(900), hottest_mdegc=Decimal(24000)
        )
    ]
    proving.first_charge(
        job=job,
        supervised_by="",
        charger_voltage_mv=Decimal(16800),
        lines=looks,
        groups_mv=[Decimal(4350)] * 4,
        by=line.technician(),
    )
    first = step(job, Stage.FIRST_CHARGE)
    assert not first.done
    line.first_charge(job)
    reading = first.readings.get(point="group 1")
    stock.correct_reading(reading=reading, value=Decimal(4400), reason="misread", by=line.technician())
    job.refresh_from_db()
    assert job.stage == Stage.FINAL_TEST
