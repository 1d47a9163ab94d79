"""A reading of a step that is done is corrected: its rules are asked again, and a job that met none before goes back."""

from dataclasses import replace
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from packs.terms import JointMethod, Measure, Outcome, Stage
from shop import models
from shop.bridge import rules
from shop.operations import parking, proving, rebuild, stock
from shop.selectors import audit
from shop.selectors.tries import beyond_a_limit
from tests import line
from tests.operations import calls
from tests.operations.stopped import joined, rests
from tests.refusal import held_by

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
    (Stage.LADDER, "overcharge trip", Measure.VOLTAGE, "4250", "4250.001", "ladder.overcharge_trip"),
    (Stage.LADDER, "undervoltage trip", Measure.VOLTAGE, "3000", "2999.999", "ladder.undervoltage_trip"),
    (Stage.FIRST_CHARGE, "group 2", Measure.VOLTAGE, "4200", "4200.001", "first_charge.group_voltage"),
    (Stage.FIRST_CHARGE, "charger", Measure.VOLTAGE, "16800", "16800.001", "first_charge.charger_voltage"),
    (Stage.FIRST_CHARGE, "mid-charge group 2", Measure.VOLTAGE, "3950", "3950.001", "first_charge.mid_spread"),
    (Stage.FINAL_TEST, "pack", Measure.CAPACITY, "4873.5", "4873.499", "final.capacity"),
    (Stage.FINAL_TEST, "worst joint", Measure.VOLTAGE, "2.5", "2.501", "final.joint_drop"),
    (Stage.FINAL_TEST, "loaded pack", Measure.VOLTAGE, "15760", "15759.9", "final.resistance"),
    (Stage.FINAL_TEST, "hottest spot", Measure.TEMPERATURE, "60000", "60001", "final.temperature"),
    (Stage.FINAL_TEST, "after 24 h group 2", Measure.REST_VOLTAGE, "4130", "4129.999", "final.rest_hold"),
]


@pytest.mark.parametrize(("stage", "point", "measure", "holds", "fails", "rule"), EDGES)
def test_a_step_holds_up_to_its_limit_and_opens_again_beyond(
    stage: Stage, point: str, measure: Measure, holds: str, fails: str, rule: str
) -> None:
    job = line.job_at(Stage.REMOVED)
    line.set_limit("measure.rest_spread", 500)  # or one cell alone stops by that before any current does
    right = correct(job, stage, point, measure, holds)
    assert (job.stage, beyond_a_limit(right)) == (Stage.REMOVED, "")
    right = correct(job, stage, point, measure, fails)
    assert job.stage == stage
    assert rule in {one["rule_id"] for one in rules.stored_stops(step(job, stage).findings)}
    assert f"back at “{stage.label}”" in beyond_a_limit(right)
    done = set(job.steps.filter(outcome=models.StepOutcome.DONE.value).values_list("stage", flat=True))
    assert done == {one.value for one in job.route[: job.route.index(stage)] if job.steps.filter(stage=one.value)}
    assert not list(audit.differences())


# An invented data sheet of 20 N·m: a tenth either way; 0.2 mΩ of contact (both common practice, no source).
@pytest.mark.parametrize(
    ("measure", "holds", "fails", "rule"),
    [
        (Measure.TORQUE, "18000", "17999.999", "join.torque"),
        (Measure.TORQUE, "22000", "22000.001", "join.torque"),
        (Measure.CONTACT_RESISTANCE, "200", "200.001", "join.contact_resistance"),
    ],
)
@pytest.mark.parametrize("look", [{"second_look_by": "Jon Adler"}, {"second_look_by": "", "pause_min": 12}])
def test_a_bolt_that_was_misread_asks_the_joining_again(
    look: dict[str, Any], measure: Measure, holds: str, fails: str, rule: str
) -> None:
    job = line.built_of(2, 2, joint_method=JointMethod.BOLTED)
    models.CellModel.objects.update(terminal_torque_mnm=20_000)
    assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
    line.photograph_the_cells(job)
    job.refresh_from_db()
    bolts = {"torque_mnm": Decimal(20_000), "contact_uohm": Decimal(60)}
    bars = [rebuild.StripJoined(strip=number, **bolts) for number in (1, 2, 3)]
    assert joined(job, range(0), strips=bars, clean_faces=True, weld=None, **look).done
    correct(job, Stage.JOIN, "bar 2", measure, holds)
    assert job.stage == Stage.LADDER
    assert rules.stored_stops(step(job, Stage.JOIN).findings) == []
    correct(job, Stage.JOIN, "bar 2", measure, fails)
    assert job.stage == Stage.JOIN
    assert [(one["rule_id"], one["where"]) for one in rules.stored_stops(step(job, Stage.JOIN).findings)] == [
        (rule, "bar 2")
    ]


def test_the_taps_lean_on_what_the_cells_were_measured_at() -> None:
    """3.62 V for two cells side by side; 3.70 V for both is 80 mV more at every tap, 3.74 V 120 mV, over the 0.1 V."""
    job = line.job_at(Stage.HOUSING)
    for rule in ("measure.groups_apart", "measure.rest_spread"):  # or that step is asked again before this one
        line.set_limit(rule, 500)
    for place in ("1.1", "1.2"):
        correct(job, Stage.MEASURE, place, Measure.REST_VOLTAGE, 3700)
    assert job.stage == Stage.HOUSING
    for place in ("1.1", "1.2"):
        correct(job, Stage.MEASURE, place, Measure.REST_VOLTAGE, 3740)
    assert job.stage == Stage.LADDER


def found(step: models.Step) -> list[tuple[str, str, str]]:
    return sorted((one["rule_id"], one["where"], one["outcome"]) for one in step.findings)


KINDS = {"as it goes": {}, "low at first": {"low": True}, "no load": {"forecast_only": True}}


@pytest.mark.parametrize("kind", KINDS)
def test_asked_again_a_step_finds_what_its_operation_found(kind: str) -> None:
    """All that was written down or confirmed counts again: trips, who stays, looks, rest hold, metal, forecast alone."""
    given = dict(KINDS[kind])
    job = line.job_at(Stage.FIRST_CHARGE)
    charged = calls.arguments("proving.first_charge", job)
    if given.pop("low", False):
        low = replace(calls.CHARGE_LINE, minutes=5, pack_voltage_mv=Decimal(11_000), current_ma=Decimal(500))
        charged["lines"] = [low, *line.looks_at(30, 60)]
    assert proving.first_charge(**charged | {"by": line.technician()}).done
    line.with_metal(job)
    hold = rules.RestHold(hours=Decimal("12.5"), groups_mv=[Decimal(4136), None, Decimal(4136), Decimal(4120)])
    proved = calls.arguments("proving.final_test", job) | {"hold": hold, "by": line.technician()} | given
    proved |= {"insulation_kohm": Decimal(20_000)} | ({"confirmed": {}, "load": rules.NOT_LOADED} if given else {})
    if given:
        proved["capacity_mah"] = None
    for rule in ("final.rest_hold", "final.rest_hours"):  # of one group nobody knows, and it was half a day
        line.accept_in_writing(job, rule)
    job.refresh_from_db()
    assert proving.final_test(**proved).done
    for stage in (Stage.LADDER, Stage.FIRST_CHARGE, Stage.FINAL_TEST):
        done = step(job, stage)
        again = models.Step(findings=rules.as_json(rules.found_again(done) or []))
        assert found(again) == found(done)


def test_a_pack_that_is_apart_stays_apart_and_its_record_tells_how_full_it_was() -> None:
    """4.0 V is more than 30 % of the charge of an NMC cell by every published curve."""
    job = line.job_at(Stage.PLACE)
    for number in range(1, 5):
        right = correct(job, Stage.EXAMINE, f"group {number}", Measure.REST_VOLTAGE, 4000)
        correct(job, Stage.EXAMINE, "pack", Measure.REST_VOLTAGE, 13_200 + 700 * number)
    assert job.stage == Stage.PLACE
    stops = rules.stored_stops(step(job, Stage.DISMANTLE).findings)
    assert {one["rule_id"] for one in stops} == {"dismantle.charge_low"}
    assert step(job, Stage.DISMANTLE).done
    assert "The old pack is apart already" in beyond_a_limit(right)
    assert not list(audit.differences())


def test_a_parked_pack_that_was_led_back_is_taken_up_there() -> None:
    job = line.job_at(Stage.HOUSING)
    line.park(job)
    correct(job, Stage.LADDER, "tap 2", Measure.VOLTAGE, 7345)
    assert (job.stage, job.parked) == (Stage.LADDER, True)
    with held_by("park.group_falls_behind"):
        fallen = [Decimal(mv) for mv in (3620, 3590, 3620, 3620)]
        parking.resume(job=job, groups_mv=fallen, by=line.technician())
    parking.resume(job=job, by=line.technician(), **line.taken_up(job))
    assert line.to_the_end(models.Job.objects.get(pk=job.pk)).closed_at


def test_the_job_goes_on_to_its_end_from_there() -> None:
    job = line.job_at(Stage.REMOVED)
    correct(job, Stage.FIRST_CHARGE, "group 2", Measure.VOLTAGE, 4240)
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
        groups_mv=[Decimal(4240)] * 4,
        by=line.technician(),
    )
    first = step(job, Stage.FIRST_CHARGE)
    assert not first.done
    line.first_charge(job)
    reading = first.readings.get(point="group 1")
    stock.correct_reading(reading=reading, value=Decimal(4400), reason="misread", by=line.technician())
    job.refresh_from_db()
    assert job.stage == Stage.FINAL_TEST
