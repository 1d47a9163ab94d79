"""Whole jobs that do not go straight: only a lead lets them in, parked on the way, a strip burnt, a charge stopped,
closed on a forecast, and a nickel pack. Each ends handed over, with the books in balance.

Values are invented, limits as in the tests of their rules; nickel: 0.1 It for 14 to 16 h, IEC 61951-2 (from memory).
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Condition, DangerSign, DocumentKind, JointMethod, Outcome, Stage
from shop import models
from shop.bridge.rules import MadeAgain
from shop.operations import examination, intake, parking, proving, rebuild
from shop.selectors import audit
from tests import line
from tests.factories import CellModelFactory, SettingsFactory
from tests.operations import nickel
from tests.operations.stopped import joined, stopped_by
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


def ends(job: models.Job) -> models.Job:
    """Walk it to its end: closed, and everything accounted for."""
    job.refresh_from_db()
    line.to_the_end(job)
    assert job.closed_at
    assert list(audit.differences()) == []
    return job


def test_a_job_that_only_a_lead_may_let_in() -> None:
    job = line.job_at(Stage.EXAMINE, signs=[DangerSign.DROPPED])
    CellModelFactory()
    with refused("held"):
        line.examine(job)
    with refused("not_allowed"):
        intake.clear_amber(job=job, findings="dry, no dent", by=line.technician())
    intake.clear_amber(job=job, findings="dry, no dent, 3.3 V in every group", by=line.lead())
    assert ends(job).cleared_by == line.lead()


def test_a_build_that_is_parked_twice_on_its_way() -> None:
    job = line.job_at(Stage.LADDER)
    for stage in (Stage.LADDER, Stage.FIRST_CHARGE):
        while job.stage != stage:
            line.WAY[Stage(job.stage)](job)
            job.refresh_from_db()
        line.park(job)
        with refused("parked"):
            line.WAY[stage](job)
        parking.resume(job=job, by=line.technician(), **line.taken_up(job))
        job.refresh_from_db()
    ends(job)
    assert job.log.filter(verb="taken up again").count() == 2


def test_a_burnt_strip_is_made_again_at_a_new_spot() -> None:
    job = line.job_at(Stage.JOIN)
    burnt = [rebuild.StripJoined(strip=n, spots=4, failed=1 if n == 3 else 0) for n in range(1, 6)]
    stopped_by(joined(job, range(0), strips=burnt[:4]), "join.joints")
    stopped_by(joined(job, range(0), strips=burnt, again=MadeAgain(tries=3, cooled=False)), "join.cooled")
    assert joined(job, range(0), strips=burnt, again=MadeAgain(tries=3, cooled=True)).done
    assert models.Joint.objects.filter(strip=3, state="failed").count() == 1
    ends(job)


def test_a_first_charge_that_was_stopped_and_done_again() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    hot = proving.ChargeLine(
        minutes=20, pack_voltage_mv=Decimal(15000), current_ma=Decimal(1000), hottest_mdegc=Decimal(41_000)
    )
    result = proving.first_charge(
        job=job, supervised_by="Nell", charger_voltage_mv=Decimal(16790), lines=[hot], groups_mv=[],
        stopped_because="41 °C after 20 minutes", by=line.technician(),
    )  # fmt: skip
    stopped_by(result, "first_charge.temperature", "first_charge.completed")
    ends(job)
    assert [step.outcome for step in job.steps.filter(stage=Stage.FIRST_CHARGE.value)] == ["stopped", "done"]


def test_a_shop_without_a_load_hands_over_on_the_forecast() -> None:
    job = line.job_at(Stage.FINAL_TEST)
    result = proving.final_test(
        job=job, capacity_mah=None, pack_rest_mv=Decimal(16560), groups_mv=[Decimal(4140)] * 4, forecast_only=True,
        hold=line.HOLD, by=line.technician(),
    )  # fmt: skip
    assert result.done
    ends(job)
    report = job.documents.get(kind=DocumentKind.TEST_REPORT.value)
    assert report.content["proof"]["forecast_only"] is True


# --- a nickel pack


def test_a_nickel_pack_walks_by_rules_of_its_own() -> None:
    job = nickel.at(Stage.REMOVED)
    asked = {found["rule_id"]: found["outcome"] for step in job.steps.all() for found in step.findings}
    asked |= {found["rule_id"]: found["outcome"] for found in job.plans.get().findings}
    not_its_own = (
        "dismantle.charge_low", "cell.recovery_voltage", "target.charger_voltage", "ladder.board_suits",
        "ladder.overcharge_trip", "first_charge.charger_voltage", "first_charge.group_voltage",
    )  # fmt: skip
    assert {asked[rule] for rule in not_its_own} == {Outcome.NOT_APPLICABLE}
    own = ("measure.not_reversed", "housing.thermal_cutoff", "first_charge.ends_itself", "first_charge.forming_current")
    assert {asked[rule] for rule in own} == {Outcome.PASS}
    ends(job)


@pytest.mark.parametrize(("mv", "goes"), [(-200, False), (0, False), (1, True), (1290, True)])
def test_a_reversed_nickel_cell_is_not_joined(mv: int, goes: bool) -> None:
    job = nickel.at(Stage.MEASURE)
    result = nickel.measure(job, dict.fromkeys(nickel.NAMES, 1290) | {"3.1": mv})
    reversed_ones = [one.where for one in result.findings if one.stops and one.rule_id == "measure.not_reversed"]
    assert reversed_ones == ([] if goes else ["position 3.1"])


def test_a_lithium_cell_does_not_rest_below_zero() -> None:
    job = line.job_at(Stage.MEASURE)
    with refused("impossible_value"):
        rebuild.measure_before_joining(job=job, rest_voltages_mv={"1.1": Decimal(-1)}, by=line.technician())


def test_a_nickel_pack_has_a_thermal_cutoff() -> None:
    stopped_by(nickel.close(nickel.at(Stage.HOUSING), {}), "housing.thermal_cutoff")


@pytest.mark.parametrize(
    ("changed", "stops"),
    [
        ({"ends_itself": False}, ["first_charge.ends_itself"]),
        ({"ends_itself": None}, ["first_charge.ends_itself"]),
        ({"lines": 300}, []),
        ({"lines": "300.1"}, ["first_charge.forming_current"] * 5),
    ],
)
def test_a_nickel_pack_is_formed_slowly_by_a_charger_that_ends_itself(
    changed: dict[str, Any], stops: list[str]
) -> None:
    if "lines" in changed:
        changed["lines"] = nickel.looks_at(0, 240, 480, 720, 840, current_ma=changed["lines"])
    result = nickel.form(nickel.at(Stage.FIRST_CHARGE), **changed)
    assert [found.rule_id for found in result.findings if found.stops] == stops
    assert result.done is (not stops)


def test_no_lithium_pack_is_asked_what_nickel_is() -> None:
    job = line.job_at(Stage.HOUSING)
    line.technician()
    result = nickel.close(job, {})
    cutoff = [found.outcome for found in result.findings if found.rule_id == "housing.thermal_cutoff"]
    assert (result.done, cutoff) == (True, [Outcome.NOT_APPLICABLE])


def test_a_small_pack_that_is_still_full_is_not_cut() -> None:
    SettingsFactory()
    job = line.take_in()
    examination.examine(
        job=job, cell_model=CellModelFactory(), series=4, parallel=2, joint_method=JointMethod.SPOT_WELD,
        group_voltages_mv=[Decimal(4000)] * 4, by=line.technician(),
    )  # fmt: skip
    models.Job.objects.filter(pk=job.pk).update(stage=Stage.DISMANTLE.value)
    job.refresh_from_db()
    with held_by(*["dismantle.charge_low"] * 4):
        rebuild.record_removed(job=job, condition=Condition.INTACT, by=line.technician())
