"""A meter whose calibration is overdue: nothing it measured is graded, and it ends no final test. Invented."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from packs.terms import Grade, Measure, Stage
from shop import models
from shop.bridge import grading as bridge
from shop.operations import proving, stock
from tests import line
from tests.factories import MORNING
from tests.operations.test_grading import a_cell, state_new
from tests.refusal import refused

pytestmark = pytest.mark.django_db

TODAY = date(2026, 11, 24)


def meter(days_ago: int | None, every: int | None) -> models.Instrument:
    calibrated = None if days_ago is None else TODAY - timedelta(days=days_ago)
    return models.Instrument.objects.create(name="T1", calibrated_on=calibrated, calibrated_every_d=every)


@pytest.mark.parametrize(
    ("days_ago", "every", "overdue"),
    [
        (364, 365, False),
        (365, 365, False),
        (366, 365, True),
        (None, 365, True),
        (9000, None, False),
        (None, None, False),
    ],
)
def test_a_calibration_holds_to_its_last_day(days_ago: int | None, every: int | None, overdue: bool) -> None:
    assert meter(days_ago, every).overdue(TODAY) is overdue


@pytest.mark.parametrize(("days_ago", "grade"), [(365, Grade.FIRST), (366, Grade.RETEST)])
def test_a_capacity_by_an_overdue_meter_is_not_graded(days_ago: int, grade: Grade) -> None:
    state_new()
    cell = a_cell("M1")
    stock.record_reading(
        cell=cell,
        measure=Measure.CAPACITY,
        value=Decimal(2400),
        conditions="0.2 C, 23 °C",
        instrument=meter(days_ago, 365),
        by=line.technician(),
        now=MORNING,
    )
    assert bridge.of_cells([cell], at=MORNING)[cell.pk].grade is grade


def test_an_overdue_meter_ends_no_final_test() -> None:
    job, overdue = line.job_at(Stage.FINAL_TEST), meter(None, 365)
    technician = line.technician()
    with refused("calibration_overdue", field="instrument"):
        proving.final_test(
            job=job,
            capacity_mah=Decimal(5000),
            pack_rest_mv=Decimal(14_400),
            groups_mv=[Decimal(3600)] * 4,
            instrument=overdue,
            by=technician,
        )
