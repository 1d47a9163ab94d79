"""The line as a whole, and what holds along it."""

from decimal import Decimal

import pytest

from packs.terms import Place, Stage
from shop import models
from shop.bridge import rules
from shop.selectors import audit
from tests import line

pytestmark = pytest.mark.django_db


def test_a_job_goes_from_counter_to_hand_over_and_the_books_balance() -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.hand_over(job)
    job.refresh_from_db()
    assert job.closed_at is not None
    assert set(models.Cell.objects.filter(positions__plan__job=job).values_list("place", flat=True)) == {
        Place.CUSTOMER.value
    }
    assert job.items.get().place == Place.CUSTOMER
    assert list(audit.differences()) == []


def test_a_welded_4s2p_has_five_strips_and_sixteen_joints() -> None:
    """Two terminals to each of eight cells; common practice, no source."""
    job = line.job_at(Stage.LADDER)
    joints = models.Joint.objects.filter(position__plan__job=job)
    assert joints.count() == 16
    assert len(set(joints.values_list("strip", flat=True))) == 5


def test_the_forecast_is_the_weakest_group_of_the_cells_placed() -> None:
    job = line.job_at(Stage.FINAL_TEST)
    assert rules.forecast_mah(job.plans.get()) == Decimal(5130)
