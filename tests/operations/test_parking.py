"""A half-built pack is parked with covered ends, a place and its group voltages, and read again before work goes on.

20 mV beyond the middle group: common practice, no source.
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import STEPS, Measure, Stage
from shop import models
from shop.operations import giving_up, parking, proving, rebuild
from shop.selectors import joblog, sheet
from tests import line
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


def volts(*values: Any) -> list[Decimal | None]:
    return [None if value is None else Decimal(value) for value in values]


def park(job: models.Job, **changed: Any) -> models.Job:
    return parking.park(job=job, by=line.technician(), **line.parked(job) | changed)


def resume(job: models.Job, **changed: Any) -> models.Job:
    return parking.resume(job=job, by=line.technician(), **line.taken_up(job) | changed)


@pytest.mark.parametrize("stage", STEPS[1:])
def test_at_every_step_it_is_parked_and_taken_up_where_it_was(stage: Stage) -> None:
    job = line.job_at(stage)
    parked = park(job)
    assert (parked.stage, parked.parked_in) == (stage, "shelf 3, metal box")
    action = sheet.next_action(parked)
    assert action is not None
    assert (action.page, action.label) == ("resume", "Take the pack up again")
    taken_up = resume(parked)
    assert (taken_up.stage, taken_up.parked) == (stage, False)
    said = [told.sentence for told in joblog.lines(taken_up)[:2]]
    assert said[0].startswith(f"Taken up again at “{stage.label}”")
    assert said[1] == f"Parked at “{stage.label}”: shelf 3, metal box"


def test_nothing_is_done_on_a_parked_pack_but_taking_it_up_or_giving_it_up() -> None:
    job = park(line.job_at(Stage.LADDER))
    with refused("parked") as caught:
        line.check_taps(job)
    assert "shelf 3, metal box" in caught.value.message
    with refused("parked"):
        park(job)
    given_up = giving_up.give_up(job=job, reason="the case is cracked", by=line.technician())
    assert (given_up.parked, given_up.stage) == (False, Stage.REMOVED)


@pytest.mark.parametrize(
    ("changed", "rules"),
    [
        ({"insulated": False}, ["park.ends_insulated"]),
        ({"groups_mv": []}, ["park.groups_measured"]),
        ({"groups_mv": volts(3620, 3620, None, 3620)}, ["park.groups_measured"]),
        ({"groups_mv": volts(3620, 3620, 3620)}, ["park.groups_measured"]),
    ],
)
def test_what_is_missing_keeps_it_on_the_bench(changed: dict[str, Any], rules: list[str]) -> None:
    job = line.job_at(Stage.LADDER)
    line.technician()
    with held_by(*rules):
        park(job, **changed)


def test_a_place_is_named() -> None:
    job = line.job_at(Stage.LADDER)
    with refused("place_missing", field="place"):
        park(job, place=" ")


def test_cells_that_are_not_joined_have_no_group_to_read() -> None:
    job = line.job_at(Stage.MEASURE)
    assert line.groups_of(job) == {}
    assert resume(park(job)).stage == Stage.MEASURE


def test_a_charge_pauses_with_its_supply_off_and_goes_on_with_a_name() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    for supply_off in (False, None):
        with held_by("park.supply_off"):
            park(job, supply_off=supply_off)
    parked = park(job)
    with held_by("first_charge.supervised"):
        resume(parked, supervised_by="  ")
    taken_up = resume(parked, supervised_by="Jon Adler")
    assert joblog.lines(taken_up)[0].sentence.endswith("Jon Adler stays beside it")
    read = taken_up.readings.filter(stage=Stage.FIRST_CHARGE.value, measure=Measure.REST_VOLTAGE.value)
    assert read.filter(point="parked, group 3").count() == read.filter(point="taken up, group 3").count() == 1
    line.first_charge(taken_up)
    taken_up.refresh_from_db()
    assert taken_up.stage == Stage.FINAL_TEST


# After a charge all groups fall; group 2 falls further than the middle one of them.
@pytest.mark.parametrize(
    ("now", "goes"),
    [
        ((3600, 3580, 3600, 3600), True),
        ((3600, 3581, 3600, 3600), True),
        ((3600, "3579.999", 3600, 3600), False),
        ((3620, 3600, 3620, 3620), True),
        ((3620, 3400, 3620, 3620), False),
        ((3640, 3640, 3640, 3640), True),
    ],
)
def test_a_group_that_fell_behind_the_others_is_looked_into_first(now: tuple[Any, ...], goes: bool) -> None:
    job = park(line.job_at(Stage.LADDER))
    if goes:
        assert not resume(job, groups_mv=volts(*now)).parked
        return
    with held_by("park.group_falls_behind"):
        resume(job, groups_mv=volts(*now))


def test_it_is_read_again_before_work_goes_on() -> None:
    job = park(line.job_at(Stage.LADDER))
    with held_by("park.groups_measured"):
        resume(job, groups_mv=[])


def test_what_is_not_parked_is_not_taken_up() -> None:
    job = line.job_at(Stage.LADDER)
    with refused("not_parked"):
        resume(job)


def test_parked_readings_do_not_count_for_the_step() -> None:
    """The taps of the ladder and the groups of the final test are read in their own steps."""
    job = resume(park(line.job_at(Stage.FINAL_TEST)))
    result = proving.final_test(
        job=job, capacity_mah=Decimal(5080), conditions=line.AS_THE_CELLS, pack_rest_mv=Decimal(16560), groups_mv=[],
        by=line.technician(), **line.proof(),
    )  # fmt: skip
    assert "final.rest_agreement" in {found.rule_id for found in result.findings if found.stops}


def test_a_parked_build_may_have_cells_placed_only_once_it_is_taken_up() -> None:
    job = park(line.job_at(Stage.PLACE))
    with refused("parked"):
        rebuild.place_cell(job=job, code="S001", by=line.technician())
    assert rebuild.place_cell(job=resume(job), code="S001", by=line.technician())
