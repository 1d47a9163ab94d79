"""What nobody knew at the counter: written down once, and a recalled pack goes outside while it is whole."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Chemistry, Condition, DangerLevel, DangerSign, DeviceClass, JobKind, Owner, Place, Stage
from shop import models
from shop.operations import completing, intake
from shop.operations.intake import Recall
from shop.selectors import audit, joblog
from tests import line
from tests.factories import MORNING
from tests.refusal import refused

pytestmark = pytest.mark.django_db

LOOKED = Recall(source="maker's recall page", checked_on=MORNING.date(), result="nothing found")
RECALLED = Recall(source="market watch", checked_on=MORNING.date(), result="fire hazard, lot 11", recalled=True)


def unknown(**options: Any) -> models.Job:
    """Take in a device whose nameplate was hidden."""
    return intake.take_in(
        nameplate=intake.Nameplate(model="Garden pump GP-3", device_class=DeviceClass.TOOL),
        customer_name="Ida Moor",
        **({"signs": [], "removed_owner": Owner.SHOP, "by": line.technician(), "now": MORNING} | options),
    )


def complete(job: models.Job, **given: Any) -> models.Job:
    return completing.complete_intake(job=job, by=line.technician(), now=MORNING, **given)


def test_both_are_written_down_and_told() -> None:
    job = unknown()
    assert {"serial", "recall"} <= set(completing.open_questions(job))
    job = complete(job, serial=" GP3-118 ", recall=LOOKED, version=job.version)
    assert (job.device.serial, job.recall_result, job.recall_checked_on) == ("GP3-118", "nothing found", MORNING.date())
    assert not {"serial", "recall"} & set(completing.open_questions(job))
    assert joblog.lines(job)[0].sentence == "Serial number GP3-118; looked for a recall: nothing found"
    assert (job.stage, job.danger_level) == (Stage.EXAMINE, DangerLevel.CLEAR)


def test_one_may_come_before_the_other() -> None:
    job = complete(complete(unknown(), recall=LOOKED), serial="GP3-118")
    assert [line.sentence for line in joblog.lines(job)[:2]] == [
        "Serial number GP3-118",
        "Looked for a recall: nothing found",
    ]


@pytest.mark.parametrize("given", [{"serial": "GP3-119"}, {"recall": LOOKED}])
def test_what_is_known_is_not_written_over(given: dict[str, Any]) -> None:
    job = complete(unknown(), serial="GP3-118", recall=LOOKED)
    with refused("known_already"):
        complete(job, **given)
    assert models.Device.objects.get().serial == "GP3-118"


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({}, "nothing_given"),
        ({"serial": "  "}, "nothing_given"),
        ({"recall": Recall(source="maker's page", checked_on=MORNING.date())}, "recall_incomplete"),
        (
            {"recall": Recall(source="x", checked_on=(MORNING + timedelta(days=2)).date(), result="nothing")},
            "future_date",
        ),
        ({"serial": "GP3-118", "version": 7}, "stale"),
    ],
)
def test_what_is_refused_leaves_no_trace(given: dict[str, Any], code: str) -> None:
    job = unknown()
    with refused(code):
        complete(job, **given)
    assert models.Device.objects.get().serial == ""
    assert job.log.count() == 1


def test_figures_of_the_nameplate_are_corrected_with_a_reason_until_the_pack_is_examined() -> None:
    job = complete(unknown(), rated_capacity_mah=Decimal(260))
    with refused("reason_missing", field="reason"):
        complete(job, rated_capacity_mah=Decimal(2600))
    job = complete(job, rated_capacity_mah=Decimal(2600), reason="a nought was missing")
    assert job.device.rated_capacity_mah == 2600
    told = joblog.lines(job)[0].sentence.replace("\u202f", " ")
    assert told == "Rated capacity 2600 mAh; corrected, before it was rated capacity 260 mAh: a nought was missing"
    examined = line.job_at(Stage.TARGET)
    models.Device.objects.update(rated_capacity_mah=2600)
    examined.device.refresh_from_db()
    with refused("known_already", field="rated_capacity_mah"):
        complete(examined, rated_capacity_mah=Decimal(260), reason="a nought too many")


@pytest.mark.parametrize("mah", [5, 49])
def test_no_pack_that_is_rebuilt_is_rated_so_little(mah: int) -> None:
    job = unknown()
    with refused("impossible_value", field="rated_capacity_mah"):
        complete(job, rated_capacity_mah=Decimal(mah))
    plate = intake.Nameplate(model="lamp", device_class=DeviceClass.TOOL, rated_capacity_mah=Decimal(mah))
    by, owner = line.technician(), Owner.SHOP
    with refused("impossible_value", field="rated_capacity_mah"):
        intake.take_in(nameplate=plate, customer_name="Ida Moor", signs=[], removed_owner=owner, by=by, now=MORNING)
    assert complete(job, rated_capacity_mah=Decimal(50)).device.rated_capacity_mah == 50


def test_a_pack_found_to_be_recalled_goes_outside_and_frees_its_cells() -> None:
    job = line.job_at(Stage.DISMANTLE)
    job = complete(job, recall=RECALLED)
    assert (job.danger_level, job.stage, job.items.get().place) == (DangerLevel.RED, Stage.REMOVED, Place.OUTSIDE)
    assert job.items.get().condition == Condition.INTACT
    assert not job.plans.exclude(state="abandoned").exists()
    assert joblog.lines(job)[0].sentence == "Recalled: fire hazard, lot 11"
    assert list(audit.differences()) == []


def test_the_book_follows_single_cells_once_the_pack_is_open() -> None:
    job = line.job_at(Stage.PLACE)
    job = complete(job, recall=RECALLED)
    assert (job.recalled, job.danger_level, job.stage) == (True, DangerLevel.CLEAR, Stage.PLACE)


@pytest.mark.parametrize("given", [{"signs": [DangerSign.WATER]}, {"signs": [DangerSign.SMELL]}])
def test_a_pack_that_waits_or_stays_outside_may_be_looked_up_too(given: dict[str, Any]) -> None:
    job = unknown(**given)
    stage = job.stage
    assert complete(job, serial="GP3-118", recall=LOOKED).stage == stage


def test_a_pack_built_for_stock_came_over_no_counter() -> None:
    job = line.begin(JobKind.FOR_STOCK)
    assert completing.open_questions(job) == []
    with refused("not_taken_in"):
        complete(job, serial="7")


def for_disposal() -> models.Job:
    """Return a closed job whose pack is in a container; nobody knows what its cells are."""
    job = line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
    assert "chemistry" in completing.open_questions(job)
    return line.to_the_end(job)


def test_a_pack_of_unknown_chemistry_does_not_leave_until_somebody_wrote_it_down() -> None:
    """ADR 2025, table A of chapter 3.2: UN 3480 and 3481 are lithium ion; without the chemistry there is no number."""
    job = for_disposal()
    container = line.containers()[1]
    with refused("chemistry_unknown") as caught:
        line.closed(container)
    assert job.code in caught.value.message
    assert completing.open_questions(job) == ["chemistry"]
    with refused("closed"):
        complete(job, chemistry=Chemistry.NMC, serial="GP3-118")
    complete(job, chemistry=Chemistry.NMC)
    assert joblog.lines(job)[0].sentence == "Chemistry lithium nickel manganese cobalt oxide (NMC)"
    with refused("known_already", field="chemistry"):
        complete(job, chemistry=Chemistry.LFP)
    assert line.consigned(container).containers.count() == 1


def test_a_container_closed_before_is_not_consigned_without_it_either() -> None:
    for_disposal()
    container = line.containers()[1]
    at = {"closed_at": MORNING, "closed_by": line.technician(), "gross_mass_mg": 2_000_000}
    models.Container.objects.filter(pk=container.pk).update(**at)
    with refused("chemistry_unknown"):
        line.consigned(models.Container.objects.get(pk=container.pk))


def test_a_pack_built_for_stock_has_the_chemistry_of_its_cells() -> None:
    job = intake.report_danger(job=line.job_at(Stage.INTO_STOCK), signs=[DangerSign.LEAK], by=line.technician())
    line.to_the_end(job)
    assert line.closed(line.containers()[1]).closed_at


PLATE: dict[str, Any] = {
    "maker": "Vale",
    "rated_voltage_mv": 14_400,
    "rated_capacity_mah": Decimal("2600.0"),
    "charger_voltage_mv": 16_800,
    "chemistry": Chemistry.NMC,
    "phone": "0660 555 0100",
    "email": "ida@example.org",
}


@pytest.mark.parametrize("name", sorted(PLATE))
def test_nameplate_and_customer_are_completed_once(name: str) -> None:
    job = complete(unknown(), **{name: PLATE[name]})
    row = models.Job.objects.get(pk=job.pk).device
    assert getattr(row.customer if name in completing.REACHED else row, name) == PLATE[name]
    assert name not in completing.open_questions(job)
    figure = name in completing.FIGURES
    with refused("reason_missing" if figure else "known_already", field="reason" if figure else name):
        complete(job, **{name: PLATE[name]})


def test_the_log_tells_the_nameplate_with_its_units() -> None:
    job = complete(unknown(), **PLATE)
    told = joblog.lines(job)[0].sentence.replace("\u202f", " ")
    assert told.startswith("Maker Vale; chemistry ")
    assert "rated voltage 14.40 V; rated capacity 2600 mAh; charger output 16.80 V; phone 0660 555 0100" in told


def test_what_no_device_has_is_not_completed() -> None:
    job = unknown()
    with refused("impossible_value", field="rated_voltage_mv"):
        complete(job, rated_voltage_mv=2_000_000_000)
