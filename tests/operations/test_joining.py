"""Currents and voltages of cells that are joined: what is measured before, and what the taps show after."""

from collections import Counter
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from packs.terms import Chemistry, JointMethod, Outcome, Stage
from shop import models
from shop.bridge import layouts, levelling
from shop.operations import rebuild, stock
from tests import line
from tests.operations.stopped import joined, rests, stopped_by
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def only_the_current(db: None) -> None:
    """A shop that welds full cells still holds them to their current."""
    line.set_limit("measure.charge_for_welding", 115)
    line.set_limit("measure.groups_apart", 500)
    line.set_limit("measure.rest_spread", 500)


class TestMeasure:
    """The invented data sheet allows 2.6 A of charge; every cell has 40 mΩ."""

    @pytest.mark.usefixtures("only_the_current")
    def test_the_charged_cell_and_three_at_3_60_v(self) -> None:
        """4.10 V onto three cells of 3.60 V, 40 mΩ each: (4.10 - 3.60) V / (40 + 40/3) mΩ = 9.375 A, by Kirchhoff."""
        job = line.built_of(1, 4)
        result = rests(job, {"1.1": 3600, "1.2": 4100, "1.3": 3600, "1.4": 3600})
        assert stopped_by(result, "measure.joining_current").where == "group 1"

    @pytest.mark.parametrize(("allowed_ma", "goes"), [(9375, True), (9374, False)])
    @pytest.mark.usefixtures("only_the_current")
    def test_that_current_is_9_375_a_and_not_a_milliampere_less(self, allowed_ma: int, goes: bool) -> None:
        job = line.built_of(1, 4)
        models.CellModel.objects.update(max_charge_current_ma=allowed_ma)
        assert rests(job, {"1.1": 4100, "1.2": 3600, "1.3": 3600, "1.4": 3600}).done is goes

    # 0.1387 V / (40 + 40/3) mΩ = 2.600 625 A; 0.1386 V: 2.598 75 A. Kirchhoff's laws.
    @pytest.mark.parametrize(("top_mv", "goes"), [("3758.6", True), ("3758.7", False)])
    @pytest.mark.usefixtures("only_the_current")
    def test_just_within_and_beyond_the_data_sheet(self, top_mv: str, goes: bool) -> None:
        result = rests(line.built_of(1, 4), {"1.1": top_mv, "1.2": 3620, "1.3": 3620, "1.4": 3620})
        assert result.done is goes

    @pytest.mark.usefixtures("only_the_current")
    def test_exactly_the_current_of_the_data_sheet_goes(self) -> None:
        """Two cells of 40 mΩ, 208 mV apart: 0.208 V / 80 mΩ = 2.600 A, by Kirchhoff."""
        assert rests(line.built_of(2, 2), {"1.1": 3800, "1.2": 3592, "2.1": 3600, "2.2": 3600}).done

    @pytest.mark.usefixtures("only_the_current")
    def test_a_current_between_groups_is_no_joining_current(self) -> None:
        assert rests(line.built_of(2, 2), {"1.1": 3800, "1.2": 3800, "2.1": 3400, "2.2": 3400}).done

    @pytest.mark.usefixtures("only_the_current")
    def test_a_cell_alone_in_its_group_drives_none(self) -> None:
        assert rests(line.built_of(2, 1, continuous_current_ma=3000), {"1.1": 3800, "2.1": 3400}).done

    def test_every_cell_is_measured(self) -> None:
        job = line.built_of(2, 2)
        stopped_by(
            rests(job, {"1.1": 3620, "1.2": 3620, "2.1": 3620}),
            "measure.all_measured",
            "cell.recovery_voltage",
            "cell.overcharged",
            "measure.charge_for_welding",
            "measure.joining_current",
            "measure.rest_spread",
            "measure.groups_apart",
        )
        assert job.readings.filter(stage=Stage.MEASURE.value).count() == 3

    @pytest.mark.parametrize(("mv", "done"), [(4250, True), (4251, False)])
    @pytest.mark.usefixtures("only_the_current")
    def test_overcharged_cells_are_not_joined_even_where_none_drives_a_current(self, mv: int, done: bool) -> None:
        """4.20 V and 0.05 V of tolerance: IEC 62133-2:2017, Annex A, as recalled."""
        result = rests(line.built_of(2, 1, continuous_current_ma=3000), {"1.1": mv, "2.1": mv})
        assert result.done is done
        assert done or {found.rule_id for found in result.findings if found.stops} == {"cell.overcharged"}

    def test_no_limit_on_the_data_sheet_is_no_permission(self) -> None:
        job = line.built_of(2, 2)
        models.CellModel.objects.update(max_charge_current_ma=None)
        result = rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620))
        stopped_by(result, "measure.joining_current", "measure.joining_current")

    # Common practice, no source: 50 mV in a group and between groups; 107 % of 3.74 V, 4.0018 V, to be welded.
    @pytest.mark.parametrize(
        ("rest", "fails", "goes"),
        [
            ((3650, 3600, 3650, 3600), set(), True),
            ((3651, 3600, 3650, 3600), {"measure.rest_spread"}, False),
            ((3650, 3650, 3600, 3600), set(), True),
            ((3651, 3650, 3600, 3600), {"measure.groups_apart"}, False),
            ((4001, 4001, 4001, 4001), set(), True),
            ((4001, 4002, 4001, 4001), {"measure.charge_for_welding"}, False),
        ],
    )
    def test_cells_are_level_and_not_nearly_full_before_they_are_welded(
        self, rest: Any, fails: set[str], goes: bool
    ) -> None:
        result = rests(line.built_of(2, 2), dict(zip(("1.1", "1.2", "2.1", "2.2"), rest, strict=True)))
        assert {found.rule_id for found in result.findings if found.outcome is Outcome.FAIL} == fails
        assert result.done is goes

    @pytest.mark.parametrize(
        ("rest", "fails"),
        [
            ((3300, 3290, 3300, 3290), set()),
            ((3301, 3290, 3300, 3291), {"measure.rest_spread_flat"}),
            ((3300, 3300, 3290, 3290), set()),
            ((3301, 3300, 3290, 3290), {"measure.groups_apart_flat"}),
        ],
    )
    def test_of_lfp_the_voltage_says_little_and_is_held_closer(self, rest: Any, fails: set[str]) -> None:
        """10 mV: common practice, no source."""
        job = line.built_of(2, 2, joint_method=JointMethod.BOLTED)
        models.CellModel.objects.update(chemistry=Chemistry.LFP.value, charge_limit_mv=3650, nominal_voltage_mv=3200)
        models.CellModel.objects.update(end_of_discharge_mv=2500)
        result = rests(job, dict(zip(("1.1", "1.2", "2.1", "2.2"), rest, strict=True)))
        assert {found.rule_id for found in result.findings if found.outcome is Outcome.FAIL} == fails

    # Published curves of LFP: 3.290 and 3.298 V lie on the plateau, where almost any charge fits; at 3.46 V it is full.
    @pytest.mark.parametrize(
        ("rest", "confirmed", "goes"),
        [
            ((3290, 3290, 3290, 3290), None, False),
            ((3290, 3298, 3290, 3298), False, False),
            ((3290, 3298, 3290, 3298), True, True),
            ((3460, 3465, 3460, 3465), None, True),
            ((3000, 3298, 3000, 3298), True, False),
        ],
    )
    def test_of_lfp_equal_charge_is_asked_and_not_voltage(self, rest: Any, confirmed: bool | None, goes: bool) -> None:
        job = line.built_of(2, 2, joint_method=JointMethod.BOLTED)
        models.CellModel.objects.update(chemistry=Chemistry.LFP.value, charge_limit_mv=3650, nominal_voltage_mv=3200)
        models.CellModel.objects.update(end_of_discharge_mv=2500, max_charge_current_ma=5000)
        result = rests(job, dict(zip(("1.1", "1.2", "2.1", "2.2"), rest, strict=True)), equal_charge=confirmed)
        assert result.done is goes
        assert goes or {found.rule_id for found in result.findings if found.stops} == {"measure.equal_charge"}

    def test_other_chemistries_are_not_asked_for_it(self) -> None:
        result = rests(line.built_of(2, 2), dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620))
        assert "measure.equal_charge" not in {found.rule_id for found in result.findings}

    def test_a_placed_cell_that_was_too_low_is_not_joined_once_it_was_charged_up(self) -> None:
        """Below 2.0 V the chemistry rejects: common practice, no source."""
        job, good = line.built_of(2, 2), dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)
        assert not rests(job, good | {"2.1": 1900}).done
        assert stopped_by(rests(job, good), "cell.undamaged").where.startswith("cell T003")
        typed = job.readings.get(point="2.1", value=1900)
        stock.correct_reading(reading=typed, value=Decimal(3619), reason="read 1.9 for 3.619", by=line.technician())
        assert rests(job, good).done

    def test_what_is_bolted_may_be_full(self) -> None:
        assert rests(
            line.built_of(2, 2, joint_method=JointMethod.BOLTED), dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 4100)
        ).done

    # Common practice, no source: within the last twelve hours.
    @pytest.mark.parametrize(("minutes", "goes"), [(719, True), (720, True), (721, False)])
    def test_cells_that_were_measured_long_ago_are_measured_again(self, minutes: int, goes: bool) -> None:
        job, measured = line.job_at(Stage.MEASURE), timezone.now()
        line.peel(job)
        line.measured_again(job, measured)
        job.refresh_from_db()
        later = measured + timedelta(minutes=minutes)
        line.peel(job, now=later)
        if goes:
            assert joined(job, range(1, 6), now=later).done
            return
        with held_by("join.measured_lately"):
            joined(job, range(1, 6), now=later)
        line.measured_again(job, later)
        assert list(job.steps.filter(stage=Stage.MEASURE.value).values_list("outcome", flat=True)) == [
            "stopped",
            "done",
        ]
        assert joined(job, range(1, 6), now=later).done

    def test_what_was_joined_before_it_was_measured_was_joined_unmeasured(self) -> None:
        """Written down from paper, with a moment before the readings."""
        job = line.job_at(Stage.JOIN)
        measured = job.readings.filter(stage=Stage.MEASURE.value).last().measured_at
        with held_by("join.measured_lately"):
            joined(job, range(1, 6), measured_at=measured - timedelta(minutes=1))

    def test_what_hangs_together_is_not_measured_again(self) -> None:
        job = line.job_at(Stage.JOIN)
        assert not joined(job, range(1, 3)).done
        with refused("out_of_order"):
            line.measured_again(job, timezone.now())
        tomorrow = timezone.now() + timedelta(days=1)
        line.peel(job, now=tomorrow)
        assert joined(job, range(1, 6), now=tomorrow).done

    def test_a_position_that_is_not_there(self) -> None:
        job = line.built_of(2, 2)
        with refused("no_such_position"):
            rests(job, {"3.1": 3620})

    def test_measured_again_the_new_readings_count_and_the_old_stay(self) -> None:
        job = line.built_of(1, 2)
        assert not rests(job, {"1.1": 4100, "1.2": 3600}).done
        assert rests(job, {"1.1": 3610, "1.2": 3600}).done
        assert [int(reading.value) for reading in job.readings.filter(point="1.1")] == [4100, 3610]


class TestToLevel:
    """Cells of 2600 mAh and 40 mΩ that take 2.6 A: within 50 mV, and within 2.6 A × 40 mΩ = 104 mV; half of the less counts."""

    def told(self, rest: dict[str, int], **changed: Any) -> list[Any]:
        job = line.built_of(2, 2, **changed)
        rests(job, dict(zip(("1.1", "1.2", "2.1", "2.2"), rest.values(), strict=True)))
        return list(levelling.to_level(job.plans.get()))

    @pytest.mark.parametrize(("mv", "positions"), [(3645, []), (3646, ["2.1"]), (3595, []), (3594, ["2.1"])])
    def test_which_cells(self, mv: int, positions: list[str]) -> None:
        told = self.told({"1.1": 3620, "1.2": 3620, "2.1": mv, "2.2": 3620})
        assert [one.position for one in told] == positions

    def test_a_high_one_comes_down_over_a_resistor_and_a_low_one_is_charged(self) -> None:
        """A tenth of 2600 mAh an hour is 0.26 A: 3.90 V / 0.26 A = 15 Ω, 3.90² / 15 = 1.014 W (Ohm)."""
        high, low = self.told({"1.1": 3900, "1.2": 3620, "2.1": 3620, "2.2": 3500})
        assert (high.position, high.up, low.position, low.up) == ("1.1", False, "2.2", True)
        assert [one.to.m_as("mV") for one in (high, low)] == [3620, 3620]
        assert high.resistor.m_as("ohm") == pytest.approx(15)
        assert (high.over.peak_power.m_as("W"), high.over.peak_current.m_as("A")) == pytest.approx((1.014, 0.26))
        assert low.current.m_as("A") == pytest.approx(0.26)
        assert low.resistor is None

    def test_what_rests_too_low_is_not_charged(self) -> None:
        assert self.told({"1.1": 3620, "1.2": 3620, "2.1": 1900, "2.2": 3620}) == []

    def test_iron_phosphate_is_brought_to_equal_charge(self) -> None:
        """Of the plateau a rest voltage says little: published curve of LFP."""
        job = line.built_of(2, 2)
        models.CellModel.objects.update(chemistry="lfp", charge_limit_mv=3650, nominal_voltage_mv=3200)
        rests(job, {"1.1": 3290, "1.2": 3290, "2.1": 3200, "2.2": 3290})
        told = levelling.to_level(job.plans.get())
        assert [(one.position, one.to) for one in told] == [(name, None) for name in ("1.1", "1.2", "2.1", "2.2")]


class TestFourCellsAs2s2p:
    """Four cells at 3.62 V: 7.24 V, three strips, eight joints, four on each face; common practice, no source."""

    @pytest.fixture
    def job(self) -> models.Job:
        job = line.built_of(2, 2)
        assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
        job.refresh_from_db()
        return job

    def test_strips_and_joints(self, job: models.Job) -> None:
        assert joined(job, range(1, 4)).done
        joints = models.Joint.objects.filter(position__plan__job=job, state="made")
        assert joints.count() == 8
        assert len(set(joints.values_list("strip", flat=True))) == 3
        face_of = {strip.number: strip.face for strip in layouts.of_plan(job.plans.get()).strips}
        assert sorted(Counter(face_of[joint.strip] for joint in joints).values()) == [4, 4]
        assert Counter(joints.values_list("end", flat=True)) == {"positive": 4, "negative": 4}

    # 3620 and 7240 mV are due; the meters may be 0.1 V apart (common practice, no source).
    @pytest.mark.parametrize(
        ("taps", "stops"),
        [
            ((3620, 7240), []),
            ((3720, 7340), []),
            ((3520, 7140), []),
            ((3721, 7240), ["ladder.tap"]),
            ((3620, 7341), ["ladder.rest_agreement"]),
            ((3620, "7340.001"), ["ladder.rest_agreement"]),
            ((3519, 7139), ["ladder.tap", "ladder.rest_agreement"]),
            ((7240, 3620), ["ladder.tap", "ladder.rest_agreement"]),
            ((3620,), ["ladder.rest_agreement"]),
            ((None, 7240), ["ladder.tap"]),
            ((), ["ladder.tap", "ladder.rest_agreement"]),
        ],
    )
    def test_the_taps_add_up(self, job: models.Job, taps: tuple[Any, ...], stops: list[str]) -> None:
        assert joined(job, range(1, 4)).done
        values = [None if mv is None else Decimal(mv) for mv in taps]
        result = rebuild.check_taps(job=job, taps_mv=values, board=line.BOARD_TRIED, by=line.technician())
        assert result.done is (not stops)
        if stops:
            stopped_by(result, *stops)

    def test_a_coarse_meter_is_given_its_error(self, job: models.Job) -> None:
        """1 % and 10 mV at 7.24 V, twice: 2 × 82.4 mV = 164.8 mV, added plainly."""
        assert joined(job, range(1, 4)).done
        meter = models.Instrument.objects.create(name="hand meter", error_ppm=10_000, error_uv=10_000)
        for top, done in (("7404.801", False), ("7404.8", True)):
            values = [Decimal(3620), Decimal(top)]
            given = {"taps_mv": values, "board": line.BOARD_TRIED, "instrument": meter, "since": "read again"}
            assert rebuild.check_taps(job=job, by=line.technician(), **given).done is done
