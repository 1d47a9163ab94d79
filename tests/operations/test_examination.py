"""The pack as found: written down once, before anything is cut."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import JointMethod, Measure, Place, Stage
from shop import models
from shop.operations import examination
from tests import line
from tests.factories import MORNING, CellModelFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    CellModelFactory()
    return line.job_at(Stage.EXAMINE)


def examine(job: models.Job, **given: Any) -> models.PackAsFound:
    standard = {
        "cell_model": CellModelFactory(),
        "series": 4,
        "parallel": 2,
        "joint_method": JointMethod.SPOT_WELD,
        "pack_voltage_mv": Decimal(13200),
        "group_voltages_mv": [Decimal(3310), Decimal(3290), Decimal(0), Decimal(3300)],
    }
    return examination.examine(**{"job": job, "by": line.technician(), "now": MORNING} | standard | given)


def test_the_device_comes_to_the_bench_with_its_cells_counted(job: models.Job) -> None:
    found = examine(job)
    item = job.items.get()
    job.refresh_from_db()
    assert (found.cell_count, item.cell_count, item.count_basis) == (8, 8, "known")
    assert (item.place, job.stage) == (Place.BENCH, Stage.TARGET)


def test_voltages_are_readings_and_nothing_is_a_reading_too(job: models.Job) -> None:
    """A group at 0 V is a finding, a voltage that was not measured is none."""
    examine(job)
    readings = job.readings.filter(measure=Measure.REST_VOLTAGE.value).values_list("point", "value")
    assert dict(readings) == {"pack": 13200, "group 1": 3310, "group 2": 3290, "group 3": 0, "group 4": 3300}


def test_without_voltages_the_pack_can_be_written_down(job: models.Job) -> None:
    examine(job, pack_voltage_mv=None, group_voltages_mv=[])
    assert job.readings.count() == 0


# A cell rests between 0 V and half a volt above its charge limit of 4.2 V, or the probes are wrong; common practice.
@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"series": 0}, "impossible_value"),
        ({"parallel": 0}, "impossible_value"),
        ({"series": 1201, "parallel": 1, "group_voltages_mv": []}, "impossible_value"),
        ({"group_voltages_mv": [Decimal(4701), *[Decimal(3300)] * 3]}, "impossible_value"),
        ({"group_voltages_mv": [Decimal(-1), *[Decimal(3300)] * 3]}, "impossible_value"),
        ({"group_voltages_mv": [Decimal(3300)] * 3}, "wrong_count"),
        ({"pack_voltage_mv": Decimal(4 * 4700 + 1)}, "impossible_value"),
        ({"pack_voltage_mv": Decimal(-1)}, "impossible_value"),
    ],
)
def test_what_is_refused(job: models.Job, given: dict[str, Any], code: str) -> None:
    with refused(code):
        examine(job, **given)


def test_it_is_written_down_once(job: models.Job) -> None:
    examine(job)
    with refused("out_of_order"):
        examine(job)


@pytest.mark.parametrize(("mv", "holds"), [(4250, True), (4251, False)])
def test_a_group_that_was_overcharged_is_told(job: models.Job, mv: int, holds: bool) -> None:
    """4.20 V and 0.05 V of tolerance: IEC 62133-2:2017, Annex A, as recalled. It is written down all the same."""
    examine(job, pack_voltage_mv=None, group_voltages_mv=[Decimal(3300), Decimal(mv), Decimal(3300), Decimal(3300)])
    findings = job.steps.get(stage=Stage.EXAMINE.value).findings
    outcomes = {one["where"]: one["outcome"] for one in findings if one["rule_id"] == "examine.group_overcharged"}
    assert outcomes == dict.fromkeys(("group 1", "group 3", "group 4"), "pass") | {
        "group 2": "pass" if holds else "fail"
    }


@pytest.mark.parametrize(("mv", "outcome"), [(3200, "pass"), (3199, "fail")])
def test_one_group_far_off_is_told(job: models.Job, mv: int, outcome: str) -> None:
    """100 mV: common practice, no source. It is written down all the same."""
    examine(job, pack_voltage_mv=None, group_voltages_mv=[Decimal(3300), Decimal(mv), Decimal(3300), Decimal(3300)])
    findings = job.steps.get(stage=Stage.EXAMINE.value).findings
    assert [one["outcome"] for one in findings if one["rule_id"] == "examine.group_spread"] == [outcome]


@pytest.mark.parametrize(
    ("rated_mv", "outcome"),
    [(36_000, "fail"), (12_950, "fail"), (12_960, "pass"), (14_400, "pass"), (16_800, "pass"), (16_810, "fail")],
)
def test_a_nameplate_that_the_arrangement_does_not_give_is_asked_about(rated_mv: int, outcome: str) -> None:
    """4 in series at 3.6 V: a tenth less than 14.4 V is 12.96 V, charged 16.8 V; invented limits of common practice."""
    job = line.job_at(Stage.EXAMINE)
    models.Device.objects.filter(pk=job.device_id).update(rated_voltage_mv=rated_mv)
    job.refresh_from_db()
    line.examine(job)
    found = line_finding(job, "examine.nameplate")
    assert found["outcome"] == outcome
    assert ("Count the groups again" in found["message"]) is (outcome == "fail")


def line_finding(job: models.Job, rule_id: str) -> dict[str, Any]:
    """What a rule found at the examination, as it is kept."""
    findings = job.steps.get(stage=Stage.EXAMINE.value).findings
    return next(one for one in findings if one["rule_id"] == rule_id)


def test_groups_that_differ_are_kept_with_a_warning_and_a_count_of_another_pack_is_refused() -> None:
    job = line.job_at(Stage.EXAMINE)
    given = {"job": job, "cell_model": CellModelFactory(), "joint_method": JointMethod.SPOT_WELD}
    given |= {"series": 4, "by": line.technician()}
    for counts, parallel in (([3, 3, 3, 3], 4), ([2, 3, 3, 3], 4), ([5, 4, 4, 4], 4)):
        with refused("counts_disagree", field="counts"):
            examination.examine(parallel=parallel, counts=counts, **given)
    examination.examine(parallel=4, counts=[4, 4, 3, 4], **given)
    assert "15" in line_finding(job, "examine.counted")["message"]
    assert line_finding(job, "examine.counted")["outcome"] == "fail"
