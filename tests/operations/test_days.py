"""A day that lies ahead is one that has not begun where the shop stands, whatever day it is in Greenwich."""

from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.utils import timezone

from packs.terms import Condition, LotOrigin, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import containers, intake, rebuild, stock
from tests import line
from tests.factories import CellModelFactory

pytestmark = pytest.mark.django_db

# At this moment it is the 25th in Auckland (UTC+13 in November) and the 24th in Chicago (UTC−6).
NOW = datetime(2026, 11, 24, 20, 0, tzinfo=UTC)
ON_THE_25TH = date(2026, 11, 25)


def container() -> Any:
    return containers.open_container(
        code="W1", condition=Condition.INTACT, started_on=ON_THE_25TH, by=line.technician(), now=NOW
    )


def lot() -> Any:
    return stock.add_lot(
        code="L1",
        cell_model=CellModelFactory(),
        origin=LotOrigin.BOUGHT,
        received_on=ON_THE_25TH,
        by=line.technician(),
        now=NOW,
    )


def recall() -> Any:
    return line.take_in(recall=intake.Recall(source="list", checked_on=ON_THE_25TH, result="none"), now=NOW)


@pytest.mark.parametrize("do", [container, lot, recall])
def test_today_is_the_day_of_the_shop(do: Callable[[], Any]) -> None:
    with timezone.override("America/Chicago"), pytest.raises(ShopError) as refused:
        do()
    assert refused.value.code == "future_date"
    with timezone.override("Pacific/Auckland"):
        assert do().pk


@pytest.mark.parametrize(("zone", "day"), [("America/Chicago", 24), ("Pacific/Auckland", 25)])
def test_removed_cells_come_in_on_the_day_of_the_shop(zone: str, day: int) -> None:
    job = line.job_at(Stage.DISMANTLE)
    with timezone.override(zone):
        rebuild.record_removed(job=job, condition=Condition.INTACT, by=line.technician(), now=NOW)
    assert models.Lot.objects.get(donor_job=job).received_on == date(2026, 11, day)
