"""A cell of a plan is not fit: the least change, what it may touch, and the job that walks on. Invented cells."""

from decimal import Decimal
from typing import Any

import pytest

from packs import matching
from packs.errors import Infeasible
from packs.terms import Condition, Measure, Owner, Place, Stage
from shop import models
from shop.bridge import replacing as bridge
from shop.bridge.matching import Limits
from shop.operations import rebuild, replacing
from shop.selectors import audit, joblog
from tests import line
from tests.factories import CellFactory, LotFactory
from tests.operations.stopped import joined, rests
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db
WINDOW = Limits(capacity_window=Decimal("0.05"))


def free(code: str, mah: int) -> models.Cell:
    return CellFactory(
        code=code, readings={Measure.CAPACITY: mah, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620}
    )


def at(stage: Stage) -> models.Job:
    """A 4s2p pack of which every group holds 5130 mAh: S001 (2600) beside S008 (2530) in the first."""
    job = line.job_at(stage)
    free("X1", 2480)
    free("X2", 2590)
    job.refresh_from_db()
    return job


def change(job: models.Job, **more: Any) -> models.Plan:
    standard = {"code": "S001", "goes_in": {"1.1": "X2"}, "reason": "dented"}
    return replacing.replace_cell(job=job, by=line.technician(), **standard | more)


def test_the_least_change_is_one_cell_and_the_strongest_that_is_free() -> None:
    """By hand: 2590 + 2530 = 5120 mAh is the most that the first group can have with one free cell."""
    job = at(Stage.PLACE)
    found = bridge.least_change(job.plans.get(), "S001", WINDOW, stay=frozenset())
    assert [(one.position, one.out, one.into) for one in found.changes] == [("1.1", "S001", "X2")]
    assert found.weakest_before is not None
    assert (found.weakest_before.magnitude, found.weakest.magnitude, found.proven, found.weaker) == (
        5130, 5120, True, True,
    )  # fmt: skip


def test_where_nothing_fits_the_reason_is_said() -> None:
    job = line.job_at(Stage.PLACE)
    with pytest.raises(Infeasible, match="No free cell in stock"):
        bridge.least_change(job.plans.get(), "S001", WINDOW, stay=frozenset())
    free("X1", 2100)
    others = {f"S{number:03d}" for number in range(2, 9)}
    with pytest.raises(Infeasible, match="Every exchange of cells was tried"):
        bridge.least_change(job.plans.get(), "S001", WINDOW, stay=others)


def test_a_free_cell_that_the_customer_brought_goes_into_his_own_pack() -> None:
    """What he brought is proposed, and placed: as matching does (`CellQuerySet.in_stock`)."""
    job = line.job_at(Stage.PLACE)
    own = LotFactory(code="L-OWN", owner=Owner.CUSTOMER.value, customer=job.device.customer)
    models.Cell.objects.filter(pk=free("X1", 2590).pk).update(lot=own)
    found = bridge.least_change(job.plans.get(), "S001", WINDOW, stay=frozenset())
    assert [(one.position, one.out, one.into) for one in found.changes] == [("1.1", "S001", "X1")]
    job.refresh_from_db()
    assert change(job, goes_in={"1.1": "X1"}).positions.filter(cell__code="X1", open=True).exists()


def test_a_cell_that_was_only_reserved_stays_where_it_is_and_is_free() -> None:
    job = at(Stage.DISMANTLE)
    change(job)
    job.refresh_from_db()
    old = models.Cell.objects.get(code="S001")
    assert (job.stage, old.place, models.Cell.objects.free().filter(code="S001").exists()) == (
        Stage.DISMANTLE, Place.STOCK, True,
    )  # fmt: skip
    assert "S001 replaced, dented: X2 for S001 at 1.1" in joblog.lines(job)[0].sentence


def test_found_bad_before_joining_it_goes_out_and_the_job_walks_to_its_end() -> None:
    job = at(Stage.MEASURE)
    change(job, condition=Condition.DAMAGED)
    job.refresh_from_db()
    old = models.Cell.objects.get(code="S001")
    assert (job.stage, old.place, old.condition) == (Stage.PLACE, Place.BENCH, Condition.DAMAGED)
    rebuild.place_cell(job=job, code="X2", by=line.technician())
    job.refresh_from_db()
    assert rests(job, dict.fromkeys(line.names(), 3620)).done
    job.refresh_from_db()
    assert joined(job, range(1, 6)).done
    line.on(job, Stage.HAND_OVER)
    assert list(audit.differences()) == []


def test_two_cells_of_the_plan_may_change_places_on_the_way() -> None:
    job = at(Stage.MEASURE)
    plan = change(job, goes_in={"1.1": "S002", "2.1": "X2"})
    cells = {spot.name: (spot.cell.code, spot.placed_at) for spot in plan.positions.all()}
    assert (cells["1.1"], cells["2.1"]) == (("S002", None), ("X2", None))
    assert cells["3.1"][1] is not None


def test_joints_that_are_made_stay() -> None:
    """Strip 1 is on the first group alone."""
    job = at(Stage.JOIN)
    joined(job, range(1, 2))
    job.refresh_from_db()
    assert bridge.joined_cells(job.plans.get()) == {"S001", "S008"}
    with refused("joined", field="code"):
        change(job)
    found = bridge.least_change(job.plans.get(), "S003", WINDOW, stay={"S001", "S008"})
    assert [(one.position, one.out, one.into) for one in found.changes] == [("3.1", "S003", "X2")]
    change(job, code="S003", goes_in={"3.1": "X2"})
    job.refresh_from_db()
    assert job.stage == Stage.PLACE
    assert models.Joint.objects.filter(state="made").count() == 2


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"reason": " "}, "reason_missing"),
        ({"code": "X1"}, "wrong_cell"),
        ({"goes_in": {"1.1": "S001"}}, "wrong_cell"),
        ({"goes_in": {"9.9": "X1"}}, "no_such_position"),
        ({"goes_in": {"1.1": "S002"}}, "cells_gone"),
        ({"goes_in": {"1.1": "X1", "2.1": "X1"}}, "cells_gone"),
    ],
)
def test_what_is_refused(changed: dict[str, Any], code: str) -> None:
    job = at(Stage.PLACE)
    with refused(code):
        change(job, **changed)


def test_what_goes_in_is_tested() -> None:
    job = at(Stage.PLACE)
    CellFactory(code="X3", readings={})
    with held_by("cell.tested"):
        change(job, goes_in={"1.1": "X3"})


def test_the_change_shown_is_one_the_engine_checks_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the bridge asks keeps what the independent check of replacements asks."""
    job = at(Stage.PLACE)
    seen: list[Any] = []

    def checked(table: Any, question: Any, groups: Any, code: str, *, joined: Any, tries: int) -> Any:
        answer = replace(table, question, groups, code, joined=joined, tries=tries)
        matching.verify_replacement(table, question, groups, code, answer, joined=joined)
        seen.append(answer)
        return answer

    replace = matching.replace_cell
    monkeypatch.setattr(matching, "replace_cell", checked)
    bridge.least_change(job.plans.get(), "S005", WINDOW, stay={"S001"})
    assert seen
