"""Before the old pack is cut: how full it is, what its board needs, and what a pack above 60 V DC asks for.

Voltage to charge: published curves as in tests/packs/test_state_of_charge.py; 30 %: common practice, no source, the
same as IATA PI 965 for carriage by air; 60 V DC: common practice, set by local rules.
"""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from packs.terms import Chemistry, Condition, Outcome, Protects, Stage, Unpowered
from shop import models
from shop.bridge import rules
from shop.bridge.documents import card_steps
from shop.bridge.rules import opening
from shop.operations import opening_pack, rebuild
from shop.templatetags.shop import by_weight
from tests import line
from tests.factories import CellModelFactory
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db
ASK = {"qualified": "Nell Sand", "second": "Jon Adler"}


def cut(job: models.Job) -> Any:
    return rebuild.record_removed(job=job, condition=Condition.INTACT, by=line.technician())


def prepare(job: models.Job, *confirmed: str, **given: Any) -> Any:
    ticks = dict.fromkeys(confirmed, True)
    return opening_pack.prepare_dismantling(job=job, confirmed=ticks, by=line.technician(), **given)


def test_a_small_empty_pack_without_a_board_is_asked_nothing_more() -> None:
    job = line.to_be_cut(groups=[3300] * 4)
    assert rules.opening_questions(job.as_found) == ()
    assert cut(job)


def test_the_average_counts_where_no_group_was_read_and_nothing_at_all_stops() -> None:
    assert cut(line.to_be_cut(pack_voltage_mv=Decimal(13200)))
    unread = line.to_be_cut()
    with held_by("dismantle.charge_low"):
        cut(unread)


# NMC, from the lowest of the published curves: 3.40 V is 29.5 % at most, 3.41 V is above 30 %.
@pytest.mark.parametrize(("mv", "stops"), [(2990, False), (3400, False), (3415, True), (4180, True)])
def test_a_group_above_a_low_charge_stops_the_cut(mv: int, stops: bool) -> None:
    job = line.to_be_cut(groups=[3300, 3300, mv, 3300])
    if not stops:
        assert cut(job)
        return
    with held_by("dismantle.charge_low"):
        cut(job)
    stopped = prepare(job, groups_mv=[Decimal(3300), None, Decimal(mv), None])
    assert [one.where for one in rules.stopping(stopped.findings)] == ["group 3"]
    assert not rules.stopping(prepare(job, groups_mv=[None, None, Decimal(3300), None]).findings)
    assert cut(job)


@pytest.mark.parametrize(("chemistry", "mv"), [("nmc", 3400), ("lmo", 3000)])
def test_the_voltage_to_reach_is_named_and_is_enough(chemistry: str, mv: int) -> None:
    """Common practice, no source, that it ends in 10 mV; what is known of each chemistry stands above and below."""
    model = CellModelFactory(name=f"Round {chemistry}", chemistry=chemistry)
    assert rules.rest_at_most(model).m_as("mV") == mv
    for more, outcome in ((0, Outcome.PASS), (15, Outcome.FAIL if chemistry == "nmc" else Outcome.UNKNOWN)):
        job = line.to_be_cut(groups=[mv + more] * 4, cell_model=model)
        found = opening_pack.standing(job)
        assert {one.outcome for one in found if one.rule_id == "dismantle.charge_low"} == {outcome}
    said = " ".join(card_steps._dismantle(models.Plan(job=job)).ticks)
    assert f"it rests at or below {mv / 1000:.3f}\N{NARROW NO-BREAK SPACE}V." in said


def test_what_says_the_same_of_several_groups_is_said_once() -> None:
    found = opening_pack.standing(line.to_be_cut(groups=[4000, 4000, 4100, 4000]))
    told = by_weight(rules.as_json(found))["open"]
    assert [one["where"] for one in told] == ["groups 1, 2, 4", "group 3"]


def test_a_voltage_that_is_not_a_number_or_not_known_tells_no_charge() -> None:
    model = CellModelFactory()
    assert opening.charge_at_most(model, None) is None
    assert opening.charge_at_most(model, Decimal("NaN")) is None
    assert opening.charge_at_most(model, Decimal(3000)) == opening.NO_CHARGE


# No published curve of LMO is known here: only a pack discharged to the data sheet's end is known to be empty.
@pytest.mark.parametrize(("mv", "stops"), [(3001, True), (3000, False), (2999, False)])
def test_without_a_curve_only_the_end_of_discharge_tells(mv: int, stops: bool) -> None:
    model = CellModelFactory(name="Round LMO", chemistry=Chemistry.LMO.value)
    job = line.to_be_cut(groups=[mv] * 4, cell_model=model)
    if stops:
        with held_by(*["dismantle.charge_low"] * 4):
            cut(job)
    else:
        assert cut(job)


def test_charge_from_a_voltage_is_not_asked_of_nickel() -> None:
    model = CellModelFactory(
        name="Sub-C", chemistry=Chemistry.NIMH.value, nominal_voltage_mv=1200, charge_limit_mv=1600,
        end_of_discharge_mv=1000,
    )  # fmt: skip
    job = line.to_be_cut(groups=[1350] * 4, cell_model=model)
    charges = [one for one in opening_pack.standing(job) if one.rule_id == "dismantle.charge_low"]
    assert {one.outcome for one in charges} == {Outcome.NOT_APPLICABLE}
    assert cut(job)


@pytest.mark.parametrize(
    ("unpowered", "asked"),
    [
        (Unpowered.UNAFFECTED, [opening.BOARD_SAVED]),
        (Unpowered.NEEDS_WAKING, [opening.BOARD_SAVED]),
        (Unpowered.LOCKS, [opening.BOARD_SAVED, opening.UNPOWERED]),
        (Unpowered.UNKNOWN, [opening.BOARD_SAVED, opening.UNPOWERED]),
    ],
)
def test_a_board_is_saved_and_what_it_does_without_supply_is_known_or_accepted(
    unpowered: Unpowered, asked: list[str]
) -> None:
    job = line.to_be_cut(groups=[3300] * 4, protects=[Protects.MEMORY], unpowered=unpowered)
    with held_by(*asked):
        cut(job)
    for rule in asked:
        assert rules.stopping(prepare(job, *[one for one in asked if one != rule]).findings)
    assert not rules.stopping(prepare(job, *asked).findings)
    assert cut(job)


# 14 × 4.2 V = 58.8 V and 16 × 3.75 V = 60.0 V are not above 60 V, 15 × 4.2 V = 63 V is.
@pytest.mark.parametrize(("series", "limit", "above"), [(14, 4200, False), (16, 3750, False), (15, 4200, True)])
def test_above_60_v_two_people_are_named_tools_insulated_groups_covered(series: int, limit: int, above: bool) -> None:
    model = CellModelFactory(name=f"Round {limit}", charge_limit_mv=limit)
    job = line.to_be_cut(series=series, groups=[3200] * series, cell_model=model)
    if not above:
        assert cut(job)
        return
    with held_by(opening.QUALIFIED, opening.SECOND, *opening.TICKED_ABOVE_60_V):
        cut(job)
    for changed in ({"qualified": " "}, {"second": ""}, {"second": "nell sand"}):
        assert rules.stopping(prepare(job, *opening.TICKED_ABOVE_60_V, **ASK | changed).findings)
    assert rules.stopping(prepare(job, **ASK).findings)
    assert not rules.stopping(prepare(job, *opening.TICKED_ABOVE_60_V, **ASK).findings)
    assert cut(job)
    kept = opening_pack.under_way(job).confirmed
    assert {"qualified for the voltage: Nell Sand", "second person: Jon Adler"} <= set(kept)


def test_a_name_is_not_ticked_away() -> None:
    job = line.to_be_cut(series=15, groups=[3200] * 15)
    with refused("no_such_question"):
        prepare(job, opening.QUALIFIED)


def test_what_held_stays_with_the_step_and_nothing_is_asked_again_once_a_cell_is_out() -> None:
    job = line.job_at(Stage.DISMANTLE)
    cut(job)
    rebuild.record_removed(job=job, condition=Condition.INTACT, count=7, by=line.technician())
    done = rebuild.finish_dismantling(job=job, by=line.technician())
    kept = {(one["rule_id"], one["outcome"]) for one in done.step.findings}
    assert {("dismantle.charge_low", "pass"), ("dismantle.all_recorded", "pass")} <= kept


# Common practice, no source: every cell is in the book within the hour.
@pytest.mark.parametrize(("minutes", "outcome"), [(59, "pass"), (60, "pass"), (61, "fail")])
@pytest.mark.parametrize("prepared", [True, False])
def test_a_cell_that_lies_there_for_more_than_an_hour_is_a_warning(prepared: bool, minutes: int, outcome: str) -> None:
    """From the moment the pack was ready to be cut, or else from the first cell on; each booking begins the hour anew."""
    job, by, begun = line.to_be_cut(3, [3200] * 3), line.technician(), timezone.now()
    at = [begun + timedelta(minutes=after) for after in (0, minutes, minutes + 40, minutes + 80)]
    if prepared:
        opening_pack.prepare_dismantling(job=job, confirmed={}, by=by, now=at[0])
    for moment in at[1:] if prepared else at[:3]:
        job.refresh_from_db()
        rebuild.record_removed(job=job, condition=Condition.INTACT, rest_voltage_mv=Decimal(3200), by=by, now=moment)
    job.refresh_from_db()
    result = rebuild.finish_dismantling(job=job, by=by, now=at[-1])
    assert result.done
    assert [one.outcome for one in result.findings if one.rule_id == "dismantle.within_the_hour"] == [outcome]
