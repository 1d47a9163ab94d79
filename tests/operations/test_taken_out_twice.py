"""Two at one pack do not enter a cell twice, and a cell at nothing out of a group with a voltage is asked back."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from packs.terms import Condition, Stage
from shop import models
from shop.errors import ShopError
from shop.operations import disposal, rebuild
from shop.selectors import bench
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


def test_a_cell_of_another_job_says_of_which_and_what_is_due() -> None:
    job, other = line.job_at(Stage.PLACE), line.job_at(Stage.PLACE)
    assert job.pk != other.pk
    due, theirs = (one.plans.get(state="accepted").positions.first() for one in (job, other))
    with pytest.raises(ShopError) as refusal:
        rebuild.place_cell(job=job, code=theirs.cell.code, by=line.technician())
    assert refusal.value.message == (
        f"Cell {theirs.cell} is not part of this plan. It is reserved for job {other.code}, position {theirs.name}. "
        f"Due is cell {due.cell} at {due.name}."
    )
    with pytest.raises(ShopError) as unknown:
        rebuild.place_cell(job=job, code="Z999", by=line.technician())
    assert "No cell in the book has this code." in unknown.value.message


def test_damaged_cells_are_reminded_of_at_every_step_until_they_are_in_a_container(client: Client) -> None:
    """The pack of tests/line.py leaves one damaged cell."""
    job, said = line.job_at(Stage.MEASURE), "1 damaged cell of the old pack is still on the bench"
    client.force_login(line.technician())
    assert said in client.get(f"/jobs/{job.number}/steps/measure/").content.decode()
    assert bench.not_whole(job) == 1
    damaged = models.Cell.objects.on_bench_of(job).filter(condition="damaged")
    disposal.to_container(
        job=job,
        container=line.containers()[1],
        cells=list(damaged),
        insulated=True,
        packed_alone=True,
        by=line.technician(),
    )
    assert said not in client.get(f"/jobs/{job.number}/steps/measure/").content.decode()
