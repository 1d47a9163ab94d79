"""A can is pierced: incident, block apart, one cell replaced, as little as possible undone. Common practice, no source."""

from collections import Counter
from typing import Any

import pytest

from packs.terms import Condition, Measure, Place, Stage
from shop import models
from shop.operations import breached, rebuild
from shop.selectors import audit, joblog
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory
from tests.operations.stopped import joined, rests
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    """Two of five strips are on: strips 1 and 2 touch groups 1 and 2."""
    job = line.job_at(Stage.JOIN)
    joined(job, range(1, 3))
    CellFactory(code="X1", readings={Measure.CAPACITY: 2600, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620})
    job.refresh_from_db()
    return job


def pierce(job: models.Job, **changed: Any) -> models.PlanPosition:
    cell = job.plans.get().positions.get(group=1, place=1).cell
    standard = {"code": cell.code, "instead": "X1", "happened": "electrode slipped", "isolated": True}
    return breached.replace_breached(job=job, by=line.technician(), **standard | changed)


def test_only_the_cell_and_the_strips_on_it_come_off_and_the_job_walks_to_its_end(job: models.Job) -> None:
    old = job.plans.get().positions.get(group=1, place=1).cell
    assert joined(job, range(1, 5)).step.outcome == "stopped"
    position = pierce(job)
    old.refresh_from_db()
    job.refresh_from_db()
    assert (old.condition, old.place, job.stage) == (Condition.DAMAGED, Place.BENCH, Stage.PLACE)
    assert (position.cell.code, position.placed_at) == ("X1", None)
    states = Counter(models.Joint.objects.values_list("strip", "state"))
    assert states == {(1, "undone"): 2, (2, "undone"): 4, (3, "made"): 4, (4, "made"): 4}
    assert "breached at 1.1: electrode slipped; X1 goes in instead, strip 1, 2 off" in joblog.lines(job)[0].sentence
    with refused("frozen"):
        rebuild.place_cell(job=job, code="X1", by=line.technician())
    line.release(job)
    rebuild.place_cell(job=job, code="X1", by=line.technician())
    job.refresh_from_db()
    assert job.stage == Stage.MEASURE
    assert rests(job, dict.fromkeys(line.names(), 3620)).done
    job.refresh_from_db()
    assert joined(job, range(1, 6)).done
    job.refresh_from_db()
    line.to_the_end(job)
    old.refresh_from_db()
    assert (bool(job.closed_at), old.place) == (True, Place.CONTAINER)
    assert list(audit.differences()) == []


def test_the_block_lies_apart_first(job: models.Job) -> None:
    line.technician()
    with held_by("join.breached_isolated"):
        pierce(job, isolated=False)


def test_a_cell_that_reacts_is_liable_to_react(job: models.Job) -> None:
    old = job.plans.get().positions.get(group=1, place=1).cell
    pierce(job, reacting=True)
    old.refresh_from_db()
    assert old.condition == Condition.REACTIVE


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"happened": " "}, "reason_missing", "happened"),
        ({"code": "nobody"}, "wrong_cell", "code"),
        ({"instead": "nobody"}, "cells_gone", "instead"),
        ({"instead": "S002"}, "cells_gone", "instead"),
    ],
)
def test_what_is_refused(job: models.Job, changed: dict[str, Any], code: str, field: str) -> None:
    with refused(code, field=field):
        pierce(job, **changed)


def test_the_new_cell_is_of_the_same_model_and_tested(job: models.Job) -> None:
    CellFactory(code="X2", lot=LotFactory(code="L7", cell_model=CellModelFactory(name="Other")))
    with refused("cells_gone"):
        pierce(job, instead="X2")
    CellFactory(code="X3", readings={})
    with held_by("cell.tested"):
        pierce(job, instead="X3")


def test_before_anything_is_joined_no_can_is_pierced() -> None:
    job = line.job_at(Stage.MEASURE)
    with refused("out_of_order"):
        pierce(job)
