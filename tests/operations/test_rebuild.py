"""The steps of the old pack's cells and the new one's strips: dismantle, place, join."""

from collections import Counter
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Condition, JointMethod, Measure, Owner, Place, Stage
from shop import models
from shop.operations import rebuild
from tests import line
from tests.operations.stopped import joined, rests, stopped_by
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


class TestDismantle:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.DISMANTLE)

    def remove(self, job: models.Job, **given: Any) -> list[models.Cell]:
        return rebuild.record_removed(**{"job": job, "condition": Condition.INTACT, "by": line.technician()} | given)

    def test_a_cell_goes_into_the_book_with_a_code_of_its_own(self, job: models.Job) -> None:
        first, second = self.remove(job, count=2, rest_voltage_mv=Decimal("3312.5"))
        third = self.remove(job, condition=Condition.DAMAGED)[0]
        assert [cell.code for cell in (first, second, third)] == ["J0001-R01", "J0001-R02", "J0001-R03"]
        assert {cell.place for cell in (first, second, third)} == {Place.BENCH}
        assert [reading.value for reading in first.readings.all()] == [Decimal("3312.5")]
        assert third.readings.count() == 0
        assert [movement.to_place for movement in third.movements.all()] == ["bench"]

    @pytest.mark.parametrize(("owner", "named"), [(Owner.SHOP, False), (Owner.CUSTOMER, True)])
    def test_the_lot_says_whose_they_are(self, owner: Owner, named: bool) -> None:
        job = line.job_at(Stage.DISMANTLE, removed_owner=owner)
        lot = self.remove(job)[0].lot
        assert (lot.owner, lot.customer is not None, lot.donor_job, lot.origin) == (owner, named, job, "donor")

    @pytest.mark.parametrize("count", [0, -1, 9])
    def test_no_more_cells_than_were_counted(self, job: models.Job, count: int) -> None:
        with refused("too_many_cells", field="count") as caught:
            self.remove(job, count=count)
        assert caught.value.facts["left"] == 8

    def test_the_last_one_is_the_last_one(self, job: models.Job) -> None:
        self.remove(job, count=8)
        with refused("too_many_cells"):
            self.remove(job)

    @pytest.mark.parametrize("missing", [1, 8])
    def test_the_step_waits_until_all_are_in_the_book(self, job: models.Job, missing: int) -> None:
        if missing < 8:
            self.remove(job, count=8 - missing)
        result = rebuild.finish_dismantling(job=job, by=line.technician())
        stopped_by(result, "dismantle.all_recorded")
        self.remove(job, count=missing)
        assert rebuild.finish_dismantling(job=job, by=line.technician()).done


class TestPlace:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.PLACE)

    def place(self, job: models.Job, code: str) -> models.PlanPosition:
        return rebuild.place_cell(job=job, code=code, by=line.technician())

    def test_a_cell_finds_its_position_by_its_code(self, job: models.Job) -> None:
        position = self.place(job, " S008 ")
        assert (position.name, position.cell.code, position.placed_by) == ("1.2", "S008", line.technician())
        assert (position.cell.place, position.cell.job) == (Place.PACK, job)

    def test_the_step_is_done_with_the_last_cell(self, job: models.Job) -> None:
        codes = [f"S{n:03d}" for n in range(1, 9)]
        for code in codes[:-1]:
            self.place(job, code)
        assert models.Job.objects.get().stage == Stage.PLACE
        self.place(job, codes[-1])
        assert models.Job.objects.get().stage == Stage.MEASURE

    @pytest.mark.parametrize("code", ["X999", "", "J0001-R01"])
    def test_any_other_cell_is_refused(self, job: models.Job, code: str) -> None:
        with refused("wrong_cell", field="code"):
            self.place(job, code)

    def test_a_cell_of_a_plan_given_up_is_another_cell(self, job: models.Job) -> None:
        models.PlanPosition.objects.filter(cell__code="S001").delete()
        with refused("wrong_cell", field="code"):
            self.place(job, "S001")

    def test_a_cell_is_placed_once(self, job: models.Job) -> None:
        self.place(job, "S001")
        with refused("placed_already", field="code"):
            self.place(job, "S001")

    # A cell specification of an 18650 cell (8-1): below 2.0 V it is not charged again; the margin is practice.
    @pytest.mark.parametrize(("rest_mv", "goes"), [(2000, True), ("1999.999", False), (0, False)])
    def test_a_cell_below_its_recovery_voltage_goes_into_no_pack(
        self, job: models.Job, rest_mv: Any, goes: bool
    ) -> None:
        measured("S001", rest_mv)
        if goes:
            self.place(job, "S001")
        else:
            with held_by("cell.recovery_voltage"):
                self.place(job, "S001")


def measured(code: str, rest_mv: Any) -> None:
    models.Reading.objects.create(
        cell=models.Cell.objects.get(code=code),
        measure=Measure.REST_VOLTAGE.value,
        value=Decimal(rest_mv),
        measured_at=models.Movement.objects.latest("at").at,
        by=line.technician(),
    )


STRIPS = [rebuild.StripJoined(strip=number, spots=4) for number in range(1, 6)]


def failed_on_3(count: int) -> list[rebuild.StripJoined]:
    """Five strips, of which so many joints of the third had to be made again."""
    return [rebuild.StripJoined(strip=n, spots=4, failed=count if n == 3 else 0) for n in range(1, 6)]


class TestJoin:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.JOIN)

    def test_what_stops(self, job: models.Job) -> None:
        stopped_by(joined(job, range(0), strips=[one for one in STRIPS if one.strip != 4]), "join.joints")

    def test_nothing_is_joined_before_the_second_look(self, job: models.Job) -> None:
        line.technician()
        with held_by("join.polarity_second_look"):
            joined(job, range(1, 6), second_look=False)
        assert not models.Joint.objects.exists()

    def test_strips_that_stand_as_they_are_stated_are_not_made_twice(self, job: models.Job) -> None:
        assert not joined(job, range(1, 3)).done
        assert joined(job, range(1, 6)).done
        assert models.Joint.objects.count() == 16
        assert not job.log.filter(verb="strips undone").exists()

    def test_a_strip_that_is_no_longer_named_is_off(self, job: models.Job) -> None:
        """Ticked by mistake, or taken off again after the try was stopped: four joints of strip 2, two of strip 5."""
        assert not joined(job, (1, 2, 4, 5)).done
        stopped_by(joined(job, range(1, 5), strips=[one for one in STRIPS if one.strip not in (2, 5)]), "join.joints")
        assert Counter(models.Joint.objects.values_list("strip", "state")) == {
            (1, "made"): 2,
            (2, "undone"): 4,
            (3, "made"): 4,
            (4, "made"): 4,
            (5, "undone"): 2,
        }
        assert job.log.get(verb="strips undone").facts["strips"] == [2, 5]
        assert joined(job, range(1, 6)).done
        assert models.Joint.objects.filter(state="made").count() == 16

    # Four joints on strip 3: made again once each at most, common practice, no source.
    @pytest.mark.parametrize(("first", "then"), [(0, 2), (2, 4)])
    def test_a_count_that_is_stated_anew_counts(self, job: models.Job, first: int, then: int) -> None:
        assert not joined(job, range(0), strips=failed_on_3(first)[:4]).done
        assert joined(job, range(0), strips=failed_on_3(then)).done
        standing = models.Joint.objects.filter(strip=3).exclude(state="undone")
        assert Counter(standing.values_list("state", flat=True)) == Counter({"made": 4} | {"failed": then})

    def test_other_spots_are_stated_anew(self, job: models.Job) -> None:
        assert not joined(job, range(1, 5)).done
        six = [rebuild.StripJoined(strip=n, spots=6) for n in range(1, 6)]
        assert joined(job, range(0), strips=six).done
        assert set(models.Joint.objects.filter(state="made").values_list("spots", flat=True)) == {6}

    def test_more_made_again_than_there_are_joints_is_refused_and_loses_nothing(self, job: models.Job) -> None:
        assert not joined(job, range(0), strips=failed_on_3(2)[:4]).done
        with refused("impossible_value", field="failed_3") as caught:
            joined(job, range(0), strips=failed_on_3(5))
        assert "Strip 3 has 4 joints, 5 cannot have been made again" in caught.value.message
        assert models.Joint.objects.filter(strip=3, state="failed").count() == 2
        assert joined(job, range(0), strips=failed_on_3(4)).done

    def test_a_joint_that_had_to_be_made_again_is_kept(self, job: models.Job) -> None:
        strips = [rebuild.StripJoined(strip=n, spots=4, failed=2 if n == 3 else 0) for n in range(1, 6)]
        assert joined(job, range(0), strips=strips).done
        assert Counter(models.Joint.objects.values_list("strip", "state")) == {
            (1, "made"): 2,
            (2, "made"): 4,
            (3, "made"): 4,
            (3, "failed"): 2,
            (4, "made"): 4,
            (5, "made"): 2,
        }

    def test_a_weld_has_spots(self, job: models.Job) -> None:
        with refused("invalid"):
            joined(job, range(0), strips=[rebuild.StripJoined(strip=1, spots=0)])

    def test_a_cell_end_is_joined_once(self, job: models.Job) -> None:
        """The database itself refuses a second made joint at one cell end."""
        joined(job, range(1, 6))
        joint = models.Joint.objects.filter(state="made")[0]
        joint.pk, joint._state.adding = None, True
        with pytest.raises(IntegrityError), transaction.atomic():
            joint.save()

    def test_a_soldered_tab_needs_no_peel_sample(self) -> None:
        job = line.built_of(2, 2, joint_method=JointMethod.SOLDERED_TAB)
        assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
        strips = [rebuild.StripJoined(strip=n, spots=0) for n in (1, 2, 3)]
        assert joined(job, range(0), strips=strips, weld=None).done
