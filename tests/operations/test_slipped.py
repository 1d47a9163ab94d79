"""What cannot be, or is hardly meant: a group that gives too much, a cell that halves, a nameplate of two devices, a number
nobody answers. Where the lines lie is common practice, no source; the values are invented.
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import DeviceClass, JobKind, Measure, Owner, Stage
from shop import models
from shop.operations import completing, intake, stock, workshop
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def test_a_group_cannot_give_more_than_half_again_what_it_is_rated_at() -> None:
    """Two cells of 2600 mAh: 7800 mAh is just believed, 48 Ah was typed with the mark one place off."""
    job = line.job_at(Stage.TARGET, kind=JobKind.GROUP_REPAIR)
    for mah in (7801, 48_000):
        with refused("impossible_value", field="capacity_3"):
            line.state_target(job, group_capacities_mah={3: Decimal(mah)})
    line.state_target(job, group_capacities_mah={3: Decimal(7800)})


@pytest.mark.parametrize(("mah", "asked"), [(1280, False), (1279, True), (255, True), (2600, False)])
def test_a_capacity_far_from_the_last_one_is_asked_back(mah: int, asked: bool) -> None:
    cell = CellFactory(code="K1", readings={Measure.CAPACITY: 2560})
    reading: dict[str, Any] = {
        "cell": cell,
        "measure": Measure.CAPACITY,
        "value": Decimal(mah),
        "by": line.technician(),
    }
    if asked:
        with refused("unlikely_value", field="value") as why:
            stock.record_reading(**reading)
        assert "2560 mAh that this cell gave last" in why.value.message
    assert stock.record_reading(**reading, sure=asked).value == mah


def test_a_digit_that_was_left_out_is_suggested() -> None:
    cell = CellFactory(code="K1", readings={Measure.CAPACITY: 2560})
    with refused("unlikely_value") as why:
        stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=Decimal(255), by=line.technician())
    assert "Did you mean 2550 mAh" in why.value.message


@pytest.mark.parametrize(
    ("rated", "charger", "goes"), [(36_000, 42_000, True), (36_000, 5_000, True), (360_000, 42_000, False)]
)
def test_rated_voltage_and_charger_belong_to_one_device(rated: int, charger: int, goes: bool) -> None:
    SettingsFactory()
    plate = {"model": "Hexa-drive 36", "device_class": DeviceClass.TOOL}
    counter: dict[str, Any] = {
        "customer_name": "Ida Moor",
        "signs": [],
        "removed_owner": Owner.SHOP,
        "by": line.technician(),
    }
    both = {"rated_voltage_mv": rated, "charger_voltage_mv": charger}
    if goes:
        assert intake.take_in(nameplate=intake.Nameplate(**plate, **both), **counter)
        return
    with refused("impossible_value", field="rated_voltage_mv"):
        intake.take_in(nameplate=intake.Nameplate(**plate, **both), **counter)
    job = intake.take_in(nameplate=intake.Nameplate(**plate, charger_voltage_mv=charger), **counter)
    with refused("impossible_value", field="rated_voltage_mv"):
        completing.complete_intake(job=job, rated_voltage_mv=rated, by=line.technician())


@pytest.mark.parametrize(("number", "goes"), [("112", True), ("+44 20 7946 0018", True), ("moon", False), ("1", False)])
def test_an_emergency_number_can_be_called(number: str, goes: bool) -> None:
    SettingsFactory()
    by = models.User.objects.get(username="owner")
    settings = {"name": "Shop", "emergency_number": number, "jurisdiction": "eu", "number_locale": "en", "by": by}
    if goes:
        assert workshop.change_settings(**settings).emergency_number == number
        return
    with refused("invalid", field="emergency_number"):
        workshop.change_settings(**settings)
