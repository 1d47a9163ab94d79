"""Two at one pack do not enter a cell twice, and a cell at nothing out of a group with a voltage is asked back."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Condition, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import rebuild
from tests import line

pytestmark = pytest.mark.django_db


def take_out(job: models.Job, mv: int = 3300, **given: Any) -> list[models.Cell]:
    return rebuild.record_removed(
        job=job, condition=Condition.INTACT, rest_voltage_mv=Decimal(mv), by=line.technician(), **given
    )


def test_a_page_from_before_is_told_how_many_came_in() -> None:
    job = line.job_at(Stage.DISMANTLE)
    take_out(job, recorded=0, count=3)
    with pytest.raises(ShopError) as refusal:
        take_out(job, recorded=0)
    assert refusal.value.code == "recorded_since"
    assert "3 cells came into the book since this page was opened" in refusal.value.message
    assert len(take_out(job, recorded=3)) == 1
    assert models.Cell.objects.removed_from_pack_of(job).count() == 4


def test_nothing_at_a_cell_of_a_live_group_is_asked_back() -> None:
    """The pack of tests/line.py was found with groups of 3.29 V to 3.31 V."""
    job = line.job_at(Stage.DISMANTLE)
    with pytest.raises(ShopError) as refusal:
        take_out(job, 0)
    assert (refusal.value.code, refusal.value.field) == ("unlikely_value", "rest_voltage")
    assert "3.29" in refusal.value.message
    assert not models.Cell.objects.removed_from_pack_of(job).exists()
    assert take_out(job, 0, sure=True)[0].condition == Condition.DAMAGED


def test_nothing_at_a_cell_of_a_pack_with_a_dead_group_is_a_finding() -> None:
    job = line.to_be_cut(groups=[20, 3300, 3300, 3300])
    assert take_out(job, 0)
