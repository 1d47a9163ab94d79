"""What charger, board, cell, strip and fuse of a target pack stand: below, at and above, not known, not asked.

Upper limit of a cell of the 4.2 V class: 4.25 V, IEC 62133-2:2017, Annex A (from memory). The target of tests/line.py is
4s2p of an invented cell: 5.2 A continuous, 3.00 V to 4.20 V.
"""

from decimal import Decimal
from typing import Any

import pytest

from packs.cells import highest_ever
from packs.terms import ChargerRead, Chemistry, JointMethod, Measure, Outcome, Stage
from packs.units import ureg
from shop import models
from shop.bridge import conductors, plan_cells, strips
from shop.bridge.rules import design
from shop.operations import planning, stock
from tests import line
from tests.factories import CellFactory, CellModelFactory
from tests.operations.calls import CELL_MODEL
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db
BOARD = {
    "board_groups": 4,
    "board_chemistry": Chemistry.NMC,
    "board_overcharge_mv": 4225,
    "board_tolerance_mv": 25,
    "board_undervoltage_mv": 3000,
}
# Times of a blade fuse of 10 A at 2, 3.5 and 6 times its rating: ISO 8820-3 (from memory).
FUSE = {
    "fuse_current_ma": 10_000,
    "fuse_voltage_mv": 32_000,
    "fuse_breaking_ma": 1_000_000,
    "fuse_melting": [[20_000, 150_000], [35_000, 40_000], [60_000, 20_000]],
    "fuse_clearing": [[20_000, 5_000_000], [35_000, 500_000], [60_000, 100_000]],
}

TRIP = {"board_trip_ma": 20_000, "board_trip_us": 10_000}


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


def state(job: models.Job, **changed: Any) -> models.Plan:
    return planning.state_target(job=job, target=line.target(**changed), by=line.technician())


def plan(**changed: Any) -> models.Plan:
    job = models.Job(device=models.Device(device_class="tool"))
    return models.Plan(job=job, **vars(line.target(**changed)))


def asked(findings: list[Any], rule: str) -> list[str]:
    return [one.outcome for one in findings if one.rule_id == rule]


class TestCharger:
    def test_one_that_gives_nothing_until_connected_is_not_known_until_its_label_is_read(self, job: models.Job) -> None:
        with held_by("target.charger_voltage"):
            state(job, charger_read=ChargerRead.SILENT)
        assert state(job, charger_read=ChargerRead.LABEL)

    # 4 × 4.20 V = 16.80 V; with 0.2 V of tolerance 17.00 V, which at its worst is 17.20 V: above 4 × 4.25 V = 17.00 V.
    @pytest.mark.parametrize(
        ("mv", "tolerance", "stops"),
        [
            (16800, None, []),
            (16801, None, ["target.charger_voltage"]),
            (16800, 200, []),
            (16800, 201, ["target.charger_highest"]),
            (16900, 100, []),
            (16901, 100, ["target.charger_voltage", "target.charger_highest"]),
        ],
    )
    def test_the_tolerance_counts_both_ways(
        self, job: models.Job, mv: int, tolerance: int | None, stops: list[str]
    ) -> None:
        given = {"charger_voltage_mv": mv, "charger_tolerance_mv": tolerance}
        if not stops:
            assert state(job, **given)
            return
        with held_by(*stops):
            state(job, **given)


class TestBoard:
    def test_nothing_is_asked_of_a_board_that_is_not_stated(self) -> None:
        assert design.board(plan()) == []

    def test_one_that_suits_the_cells_goes(self, job: models.Job) -> None:
        assert state(job, **BOARD)

    @pytest.mark.parametrize(
        ("changed", "rule"),
        [
            ({"board_groups": 3}, "target.board_groups"),
            ({"board_groups": 5}, "target.board_groups"),
            ({"board_groups": None}, "target.board_groups"),
            ({"board_chemistry": Chemistry.LFP}, "target.board_chemistry"),
            ({"board_chemistry": ""}, "target.board_chemistry"),
            ({"board_overcharge_mv": 4226}, "target.board_overcharge"),
            ({"board_tolerance_mv": 26}, "target.board_overcharge"),
            ({"board_tolerance_mv": None}, "target.board_overcharge"),
            ({"board_overcharge_mv": None}, "target.board_overcharge"),
            ({"board_undervoltage_mv": 2999}, "target.board_undervoltage"),
            ({"board_undervoltage_mv": None}, "target.board_undervoltage"),
        ],
    )
    def test_what_does_not_suit_or_is_not_said_stops(self, job: models.Job, changed: dict[str, Any], rule: str) -> None:
        with held_by(rule):
            state(job, **BOARD | changed)

    @pytest.mark.parametrize(("most", "outcome"), [(4249, "fail"), (4250, "pass"), (4251, "pass")])
    def test_the_absolute_maximum_of_the_data_sheet_goes_first(self, most: int, outcome: str) -> None:
        model = CellModelFactory(name=f"Round to {most}", absolute_max_mv=most)
        assert asked(design.board(plan(cell_model=model, **BOARD)), "target.board_overcharge") == [outcome]

    def test_a_board_for_lithium_ion_is_not_asked_of_nickel(self) -> None:
        model = models.CellModel(
            chemistry="nimh", cell_format="round", terminals="opposite_ends", rated_capacity_mah=Decimal(3000),
            nominal_voltage_mv=1200, charge_limit_mv=1600, end_of_discharge_mv=1000,
        )  # fmt: skip
        outcomes = {one.outcome for one in design.board(plan(cell_model=model, **BOARD))}
        assert outcomes == {Outcome.NOT_APPLICABLE}


class TestPeak:
    # Two cells in parallel: 10.4 A is 5.2 A each, what the sheet allows without end; 24 A is 12 A each, for 5 s.
    @pytest.mark.parametrize(
        ("peak", "ms", "goes"),
        [
            (10_400, 60_000, True),
            (10_401, 60_000, False),
            (24_000, 5_000, True),
            (24_001, 5_000, False),
            (24_000, 5_001, False),
        ],
    )
    def test_a_cell_stands_the_peak_for_as_long_as_its_sheet_says(self, peak: int, ms: int, goes: bool) -> None:
        model = CellModelFactory(name="Round with pulse", pulse_current_ma=12_000, pulse_time_ms=5_000)
        found = design.cell_peak(plan(cell_model=model, peak_current_ma=peak, peak_time_ms=ms))
        assert asked(found, "target.cell_peak") == ["pass" if goes else "fail"]

    def test_without_a_peak_nothing_is_asked_and_without_a_limit_nothing_is_known(self) -> None:
        assert design.cell_peak(plan()) == []
        model = CellModelFactory(name="Round of no current", max_discharge_current_ma=None)
        found = design.cell_peak(plan(cell_model=model, peak_current_ma=8_000, peak_time_ms=1_000))
        assert asked(found, "target.cell_peak") == ["unknown"]


class TestWay:
    def test_a_strip_far_too_thin_stops(self, job: models.Job) -> None:
        """5 × 0.1 mm of nickel at 10 A: by ends kept cool alone it stands several times that, by its surface not."""
        thick = design.way_of_the_current(plan())
        assert set(asked(thick, "target.part_current")) == {"pass"}
        thin = design.way_of_the_current(
            plan(strip_width_um=1000, strip_thickness_um=50, continuous_current_ma=10_000, parallel=2)
        )
        assert "fail" in asked(thin, "target.part_current")

    def test_a_lead_that_is_stated_is_asked_and_one_that_is_not_is_not(self) -> None:
        """AWG 30 of 1 m at 6 A glows: Preece lets it melt at 10.3 A in free air."""
        where = [one.where for one in design.way_of_the_current(plan()) if one.rule_id == "target.part_current"]
        assert "lead" not in where
        thin = design.way_of_the_current(plan(lead_area_um2=50_900, lead_length_um=1_000_000))
        assert [one.outcome for one in thin if one.where.startswith("lead, for which ")] == [Outcome.FAIL]

    def test_what_the_page_calls_too_much_is_a_warning_and_what_fails_both_ways_stops(self, job: models.Job) -> None:
        """8 × 0.15 mm of nickel covered on one side stands 3.67 A by its surface (worked table of the reference):
        the whole 6 A run through its tab, 15 mm long, which the cell keeps cool.
        """
        stated = state(job)
        path = conductors.current_path(stated, plan_cells.of_plan(stated))
        found = [one for one in stated.findings if one["rule_id"] == "target.part_surface"]
        assert [(one["outcome"], one["where"]) for one in found] == [("fail", "solder tab")]
        shown = f"{path.weakest.share_by_surface.m_as('percent'):.0f}"
        assert path.weakest.name == "solder tab"
        assert shown == f"{6 / 3.67 * 100:.0f}"
        assert f"is {shown}\N{NARROW NO-BREAK SPACE}%" in found[0]["message"]
        assert {one["outcome"] for one in stated.findings if one["rule_id"] == "target.part_current"} == {"pass"}

    def test_a_way_that_cannot_be_worked_out_is_not_known_and_holds_nothing(self) -> None:
        flat = CellModelFactory(name="Flat without sizes", cell_format="prismatic", terminals="same_face")
        found = design.way_of_the_current(plan(cell_model=flat, joint_method=JointMethod.BOLTED))
        assert [(one.rule_id, one.outcome, one.where) for one in found] == [
            ("target.part_surface", Outcome.UNKNOWN, "bars")
        ]


class TestBars:
    """Flat cells 174 mm wide and 54 mm thick (invented data sheet), bolted with copper of 20 × 2 mm."""

    @staticmethod
    def flat(**changed: Any) -> models.Plan:
        model = CellModelFactory(
            name="Flat of known size", chemistry="lfp", cell_format="prismatic", terminals="same_face",
            width_um=174_000, diameter_um=54_000,
        )  # fmt: skip
        bar = {"strip_material": "copper", "strip_width_um": 20_000, "strip_thickness_um": 2_000}
        return plan(cell_model=model, joint_method=JointMethod.BOLTED, **bar, **changed)

    def test_their_lengths_follow_from_the_sizes_of_the_cells(self) -> None:
        """Along a group a thickness and 1 mm; from group to group a width and 1 mm less the 0.7 of it between terminals."""
        stated = self.flat(parallel=2)
        path = conductors.current_path(stated, plan_cells.of_plan(stated))
        lengths = {line.name: round(line.length.m_as("mm"), 3) for line in path.parts if line.length is not None}
        assert lengths == {
            "bar along a group": 55.0,
            "bar from group to group": pytest.approx(175 - 0.7 * 174),
            "lead": 200.0,
        }
        assert strips.cutting(stated).tab.magnitude == 0

    def test_a_bar_too_thin_and_a_lead_too_thin_are_found_as_on_a_round_pack(self) -> None:
        found = design.way_of_the_current(self.flat(continuous_current_ma=150_000, lead_area_um2=35_000_000))
        assert [(one.outcome, one.where.split(",")[0]) for one in found if one.rule_id == "target.part_current"] == [
            ("pass", "bar along a group"), ("pass", "bar from group to group"), ("fail", "lead"),
        ]  # fmt: skip
        # 70 mm² of bare copper in open air (h = 10 W/m²K) stands 180 A for 30 K, 50 mm² stands 139 A: Newton's law.
        assert "70.00\N{NARROW NO-BREAK SPACE}mm² would do" in next(one.where for one in found if one.outcome == "fail")

    def test_a_fuse_is_asked_for_the_short_circuit_of_its_pack(self) -> None:
        """16.8 V over four groups of two cells of 400 µΩ each, 0.8 mΩ without joints and bars: less than 21 kA."""
        stated = self.flat(**FUSE)
        CellFactory(code="F1", lot__cell_model=stated.cell_model, readings={Measure.DC_RESISTANCE: 400})
        for breaks, outcome in ((1_000_000, "fail"), (21_000_000, "pass")):
            stated.fuse_breaking_ma = breaks
            assert asked(design.way_of_the_current(stated), "target.fuse_breaking") == [outcome]


class TestFuseOfARepair:
    def test_the_cells_that_stay_are_taken_to_be_like_those_in_stock(self, job: models.Job) -> None:
        """Four groups of two cells of 40 mΩ: 16.8 V over somewhat more than 80 mΩ, below 210 A."""
        repair = models.Plan(job=job, **vars(line.target(replaced=[2], **FUSE)))
        assert asked(design.way_of_the_current(repair), "target.fuse_breaking") == ["unknown"]
        CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40_000})
        for breaks, outcome in ((50_000, "fail"), (210_000, "pass")):
            repair.fuse_breaking_ma = breaks
            assert asked(design.way_of_the_current(repair), "target.fuse_breaking") == [outcome]

    @pytest.mark.parametrize(
        ("changed", "stops"),
        [
            ({}, []),
            ({"fuse_current_ma": 6_000}, []),
            ({"fuse_current_ma": 5_999}, ["target.fuse_carries"]),
            ({"fuse_voltage_mv": 16_800}, []),
            ({"fuse_voltage_mv": 16_799}, ["target.fuse_voltage"]),
            ({"fuse_voltage_mv": None}, ["target.fuse_voltage"]),
            ({"fuse_breaking_ma": 50_000}, ["target.fuse_breaking"]),
            ({"fuse_breaking_ma": None}, ["target.fuse_breaking"]),
            ({"fuse_clearing": []}, ["target.fuse_clears"]),
            # IEC 60949: 1.2 mm² of nickel 200 (K 98.9, β 212.6) stand 20 A from 20 to 100 °C for 10.4 s.
            ({"fuse_clearing": [[20_000, 10_400_000], [60_000, 100_000]]}, []),
            ({"fuse_clearing": [[20_000, 10_500_000], [60_000, 100_000]]}, ["target.fuse_clears"]),
            (BOARD | TRIP, []),
            (BOARD | TRIP | {"board_trip_us": 150_000}, []),
            (BOARD | TRIP | {"board_trip_us": 151_000}, ["target.board_first"]),
            (BOARD | TRIP | {"board_trip_ma": 19_999}, ["target.board_first"]),
            (BOARD | TRIP | {"board_trip_ma": 10_000, "board_trip_us": 1_000_000}, []),
            (BOARD | TRIP | {"fuse_melting": []}, ["target.board_first"]),
            (BOARD, ["target.board_first"]),
            (TRIP, []),
        ],
    )
    def test_a_fuse_carries_the_current_and_breaks_voltage_and_short_circuit(
        self, job: models.Job, changed: dict[str, Any], stops: list[str]
    ) -> None:
        """Two cells of 40 mΩ beside each other, four in series: 16.8 V over somewhat more than 80 mΩ, below 210 A."""
        CellFactory(code="T1", readings={Measure.DC_RESISTANCE: 40_000})
        if not stops:
            assert state(job, **FUSE | changed)
            return
        with held_by(*stops):
            state(job, **FUSE | changed)

    def test_without_a_resistance_the_short_circuit_is_not_known(self, job: models.Job) -> None:
        with held_by("target.fuse_breaking", "target.fuse_clears"):
            state(job, **FUSE)
        line.accept_in_writing(job, "target.fuse_clears", "the sheet prints no curve; the lead is short and sleeved")
        with held_by("target.fuse_breaking"):
            state(job, **FUSE)

    @pytest.mark.parametrize(
        ("changed", "code", "field"),
        [
            ({"fuse_clearing": [[20_000, 5_000_000], [60_000, 6_000_000]]}, "impossible_value", "fuse_clearing"),
            ({"fuse_melting": [[60_000, 1], [20_000, 2]]}, "impossible_value", "fuse_melting"),
            ({"fuse_melting": [[0, 1]]}, "impossible_value", "fuse_melting"),
            (
                {"fuse_current_ma": None, "fuse_voltage_mv": None, "fuse_breaking_ma": None},
                "fuse_incomplete",
                "fuse_current_ma",
            ),
            ({"board_trip_ma": 20_000}, "trip_incomplete", "board_trip_us"),
            ({"board_trip_us": 60_000_001, "board_trip_ma": 1}, "impossible_value", "board_trip_us"),
        ],
    )
    def test_what_no_fuse_and_no_board_has_is_refused(
        self, job: models.Job, changed: dict[str, Any], code: str, field: str
    ) -> None:
        with refused(code, field=field):
            state(job, **FUSE | changed)

    def test_nothing_is_asked_of_a_fuse_that_is_not_stated(self) -> None:
        assert asked(design.way_of_the_current(plan()), "target.fuse_voltage") == []


# IEC 62133-2:2017, Annex A (from memory); iron phosphate and titanate: common practice, no source.
@pytest.mark.parametrize(
    ("chemistry", "limit", "most"),
    [("nmc", 4.2, 4.25), ("lco", 4.35, 4.4), ("lfp", 3.65, 3.8), ("lto", 2.7, 2.8), ("nimh", 1.6, None)],
)
def test_the_most_that_a_cell_may_ever_have(chemistry: str, limit: float, most: float | None) -> None:
    found = highest_ever(Chemistry(chemistry), ureg.Quantity(limit, "V"))
    assert (None if found is None else found.m_as("V")) == most


def test_an_absolute_maximum_is_not_below_the_charge_limit() -> None:
    by = line.technician()
    for wrong in ({"absolute_max_mv": 4199}, {"pulse_current_ma": 9000}):
        with refused("invalid"):
            stock.add_cell_model(**CELL_MODEL | wrong, by=by)
    assert stock.add_cell_model(**CELL_MODEL | {"absolute_max_mv": 4200}, by=by)
