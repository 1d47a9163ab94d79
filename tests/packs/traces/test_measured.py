"""Figures from measured data against independently computed ones; source of every number: shared/data/README.md."""

import csv

import numpy as np
import pytest

from packs.traces import Expected, Problem, TraceRefused, Verdict, propose, read
from tests.packs.traces.measured import (
    BDF,
    LEAF_1C,
    LEAF_CYCLES,
    LEAF_HPPC,
    LFP,
    M50T,
    WITHOUT_NAMES,
    discharges,
    known,
    path,
    pulse,
    rate_test,
    step,
    trace,
)

pytestmark = pytest.mark.data


def mohm(found, number, seconds):
    (one,) = [each for each in found.pulses if (each.step, each.seconds) == (number, seconds)]
    return one.resistance.to("mΩ").magnitude


def codes(found):
    return {remark.code for remark in found.remarks}


class TestLeafCell:
    """Section 1: 33.1 Ah laminate cell."""

    @pytest.mark.parametrize(
        ("place", "ah", "tester_ah", "wh", "tester_wh"),
        [
            (0, 30.326, 30.33, 114.010, 113.84),
            (1, 30.336, 30.34, 114.024, 113.85),
            (2, 30.299, 30.30, 113.870, 113.70),
            (3, 30.289, 30.29, 113.827, 113.66),
        ],
    )
    def test_one_hour_discharges(self, place, ah, tester_ah, wh, tester_wh):
        test = known(LEAF_1C, WITHOUT_NAMES).capacity_tests[place]
        assert test.capacity.to("Ah").magnitude == pytest.approx(ah, rel=2e-4)
        assert test.capacity.to("Ah").magnitude == pytest.approx(tester_ah, rel=5e-4)
        assert test.energy.to("Wh").magnitude == pytest.approx(wh, rel=5e-4)
        assert test.energy.to("Wh").magnitude == pytest.approx(tester_wh, rel=2e-3)
        assert test.current.to("A").magnitude == pytest.approx(30.6, rel=1e-4)
        assert test.cut_off.to("V").magnitude == pytest.approx(3.0, abs=1e-3)

    def test_without_names_a_layout_is_asked_for(self):
        with pytest.raises(TraceRefused) as refused:
            propose(path(LEAF_1C))
        assert refused.value.code == "header_missing"

    def test_rate_is_told_where_the_rated_capacity_is_known(self):
        test = known(LEAF_1C, WITHOUT_NAMES, Expected(rated_ah=33.1)).capacity_tests[0]
        assert test.rate == pytest.approx(30.6 / 33.1, rel=1e-4)

    def test_slow_cycles(self):
        tests = known(LEAF_CYCLES).capacity_tests
        ours = [test.capacity.to("Ah").magnitude for test in tests]
        assert ours == pytest.approx([30.097, 30.048, 30.012, 29.860, 29.873, 29.900, 29.37], rel=2e-4)
        assert ours == pytest.approx([30.09, 30.04, 30.01, 29.86, 29.87, 29.90, 29.37], rel=5e-4)
        assert tests[0].energy.to("Wh").magnitude == pytest.approx(109.25, rel=5e-4)
        assert tests[0].energy.to("Wh").magnitude == pytest.approx(108.56, rel=1e-2)
        assert all(test.temperature is None for test in tests)

    def test_a_discharge_that_was_cut_off_is_no_capacity(self):
        last = discharges(known(LEAF_CYCLES))[-1]
        assert last.capacity_ah == pytest.approx(0.795, abs=1e-3)
        assert {each.code for each in known(LEAF_CYCLES).withheld if each.step == last.number} >= {"not_to_cut_off"}

    @pytest.mark.parametrize(("place", "slope"), [(0, -6.76), (1, -5.88)])
    def test_slope_of_the_long_rests(self, place, slope):
        found = known(LEAF_CYCLES).self_discharges[place]
        assert found.slope.to("mV/day").magnitude == pytest.approx(slope, abs=0.2)
        assert 0.1 < found.uncertainty.to("mV/day").magnitude < 1.5
        assert found.from_seconds == pytest.approx(24 * 3600, abs=120)
        assert found.to_seconds == pytest.approx(48 * 3600, abs=2)

    @pytest.mark.parametrize(
        ("place", "volts"),
        [(0, [4.165, 4.160, 4.151, 4.145, 4.142, 4.139]), (1, [4.166, 4.161, 4.154, 4.149, 4.146, 4.144])],
    )
    def test_voltage_in_the_long_rests(self, place, volts):
        number = known(LEAF_CYCLES).self_discharges[place].step
        rest, series = step(known(LEAF_CYCLES), number), trace(LEAF_CYCLES)
        since = (series.time[rest.rows] - rest.start_s) / 3600
        read_off = np.interp([0, 1, 12, 24, 36, 48], since, series.voltage[rest.rows])
        assert read_off == pytest.approx(volts, abs=1.0001e-3)

    def test_a_short_rest_says_nothing_of_self_discharge(self):
        assert not known(LEAF_HPPC).self_discharges
        assert {each.code for each in known(LEAF_HPPC).withheld if each.figure == "Self-discharge"} == {"rest_short"}

    HPPC = [
        (4.182, 1.767, 2.600, 3.333), (4.086, 1.567, 2.133, 2.633), (4.048, 1.567, 2.200, 2.867),
        (3.984, 1.533, 2.000, 2.467), (3.949, 1.567, 2.033, 2.533), (3.909, 1.567, 2.033, 2.533),
        (3.869, 1.567, 2.033, 2.533), (3.802, 1.567, 2.033, 2.533), (3.723, 1.567, 2.067, 2.567),
        (3.531, 1.667, 2.533, 3.967),
    ]  # fmt: skip

    @pytest.mark.parametrize(("place", "row"), list(enumerate(HPPC)))
    def test_pulses(self, place, row):
        found = known(LEAF_HPPC)
        number = sorted({each.step for each in found.pulses if each.seconds == 30.0})[place]
        assert [mohm(found, number, seconds) for seconds in (0.5, 10.0, 30.0)] == pytest.approx(row[1:], abs=0.05)
        (ten,) = [each for each in found.pulses if (each.step, each.seconds) == (number, 10.0)]
        assert ten.rest_voltage.to("V").magnitude == pytest.approx(row[0], abs=1e-3)
        assert ten.rest_seconds == pytest.approx(3600, abs=1)
        assert ten.current.to("A").magnitude == pytest.approx(-30.0, abs=0.01)

    def test_charge_pulses_give_one_at_mid_charge_and_none_where_voltage_held_them_back(self):
        found = known(LEAF_HPPC)
        charges = [each for each in found.pulses if each.current.magnitude > 0 and each.seconds == 10.0]
        assert charges[3].resistance.to("mΩ").magnitude == pytest.approx(2.09, abs=0.05)
        first = next(each for each in found.steps[1:] if each.flow == "charge")
        assert {each.code for each in found.withheld if each.step == first.number} >= {"current_not_steady"}


class TestM50T:
    """Section 3: micro and milli units, 32-bit floats, Parquet."""

    @pytest.mark.parametrize(
        ("number", "ah"),
        [(6, 4.71755), (11, 4.72047), (15, 4.72280), (19, 4.72187), (23, 4.72380), (27, 4.72243), (31, 4.71903)],
    )
    def test_discharges(self, number, ah):
        assert step(known(M50T), number).capacity_ah == pytest.approx(ah, rel=2e-5)
        (agreed,) = [each for each in known(M50T).agreements if (each.step, each.quantity) == (number, "Ah")]
        assert agreed.apart == pytest.approx(0, abs=2e-5)

    def test_energy(self):
        assert step(known(M50T), 6).energy_wh == pytest.approx(17.2302, rel=2e-5)
        assert all(16.90 < step(known(M50T), number).energy_wh < 16.935 for number in (11, 15, 19, 23, 27, 31))

    def test_charge(self):
        assert step(known(M50T), 9).capacity_ah == pytest.approx(4.72283, rel=5e-5)
        assert step(known(M50T), 9).capacity_ah == pytest.approx(4.72277, rel=5e-5)

    @pytest.mark.parametrize(("number", "row"), [(11, (18.90, 24.68, 30.04)), (6, (18.92, 25.12, 31.52))])
    def test_resistance_at_the_onset(self, number, row):
        ours = [mohm(known(M50T), number, seconds) for seconds in (1.0, 10.0, 30.0)]
        assert ours == pytest.approx(row, abs=0.05)

    def test_duplicate_stamps_are_counted_and_kept(self):
        (twice,) = [each for each in known(M50T).remarks if each.problem is Problem.TIME_DUPLICATE]
        assert (twice.count, twice.verdict, len(trace(M50T))) == (31, Verdict.REPAIRED, 77745)

    def test_two_rests_in_a_row_are_one_rest(self):
        (after,) = [each for each in known(M50T).pulses if (each.step, each.seconds) == (9, 10.0)]
        assert after.rest_seconds == pytest.approx(300, abs=1)

    def test_temperature_and_units(self):
        found = known(M50T)
        assert 25.0 < found.hottest.to("degC").magnitude < 32.0
        assert "unit_assumed" in codes(found)


class TestOpenFormat:
    """Section 4: the open format's own file, which breaks three of its rules."""

    def test_charge_and_discharge(self):
        found = known(BDF)
        cc, cv = step(found, 2), step(found, 3)
        assert cc.capacity_ah + cv.capacity_ah == pytest.approx(3.8388, rel=5e-4)
        assert cc.capacity_ah == pytest.approx(3.8022, rel=5e-4)
        assert cv.capacity_ah == pytest.approx(0.0366, abs=1e-4)
        assert cc.energy_wh + cv.energy_wh == pytest.approx(14.942, rel=5e-4)
        (test,) = found.capacity_tests
        assert test.capacity.to("Ah").magnitude == pytest.approx(3.8552, rel=5e-4)
        assert test.energy.to("Wh").magnitude == pytest.approx(14.800, rel=5e-4)

    def test_six_steps(self):
        kinds = [(each.flow.value, each.control.value) for each in known(BDF).steps]
        current, voltage = "constant current", "constant voltage"
        assert kinds == [
            ("rest", "rest"), ("charge", current), ("charge", voltage), ("rest", "rest"), ("discharge", current),
            ("rest", "rest"),
        ]  # fmt: skip

    def test_what_is_wrong_is_reported(self):
        found = known(BDF)
        assert {"cycle_count", "counter_resets", "old_column_name", "time_duplicate"} <= codes(found)
        (cycle,) = [each for each in found.remarks if each.problem is Problem.CYCLE_COUNT]
        assert "6.28319" in cycle.message
        (twice,) = [each for each in found.remarks if each.problem is Problem.TIME_DUPLICATE]
        assert twice.count == 10

    def test_a_counter_that_restarted_is_not_compared(self):
        (agreed,) = [each for each in known(BDF).agreements if (each.step, each.quantity) == (5, "Ah")]
        assert np.isnan(agreed.tester)


class TestLateFirstSamples:
    """Section 6: samples every 30 s, the first of a step 30 s into it."""

    @pytest.mark.parametrize(("place", "ah", "naive"), [(0, 2.0677, 2.0460), (1, 2.0679, 2.0462), (2, 2.0661, 2.0444)])
    def test_counted_from_the_start_of_the_step(self, place, ah, naive):
        found = known(LFP)
        test = found.capacity_tests[place]
        assert test.capacity.to("Ah").magnitude == pytest.approx(ah, rel=5e-4)
        one = step(found, test.step)
        assert one.from_start
        assert one.capacity_ah - one.late_ah == pytest.approx(naive, rel=1e-4)
        assert "step_start_used" in codes(found)

    def test_without_the_time_in_the_step_the_loss_is_stated(self):
        from packs.traces import Role, figures
        from packs.traces.columns import ColumnLayout

        layout = propose(path(LFP)).layout
        kept = tuple(column for column in layout.columns if column.role is not Role.STEP_TIME)
        plain = ColumnLayout(**{**layout.__dict__, "columns": kept})
        found = figures(read(path(LFP), plain))
        first = found.capacity_tests[0]
        assert first.capacity.to("Ah").magnitude == pytest.approx(2.0460, rel=1e-4)
        stated = [each for each in found.remarks if each.problem is Problem.STEP_START_UNKNOWN]
        assert any(f"step {first.step} may be missing" in each.message and "1.05%" in each.message for each in stated)

    @pytest.mark.parametrize(("day", "ah", "wh"), [(17, 1.1617, 4.3473), (18, 1.1604, None), (19, 1.1593, None)])
    def test_lco_cell(self, day, ah, wh):
        (test,) = known(f"calce/CS2_33_8_{day}_10.csv").capacity_tests
        assert test.capacity.to("Ah").magnitude == pytest.approx(ah, rel=5e-4)
        if wh:
            assert test.energy.to("Wh").magnitude == pytest.approx(wh, rel=5e-4)

    @pytest.mark.parametrize(
        ("name", "milliohm"),
        [(LFP, 24.6), *((f"calce/CS2_33_8_{day}_10.csv", r) for day, r in ((17, 98.1), (18, 94.9), (19, 95.8)))],
    )
    def test_resistance_by_the_tester_stands_apart(self, name, milliohm):
        first = known(name).tester_resistances[0]
        assert first.resistance.to("mΩ").magnitude == pytest.approx(milliohm, abs=0.06)
        assert not first.one_kilohertz
        assert all(each.seconds >= 10 for each in known(name).pulses)

    def test_above_the_limit_of_its_chemistry_is_said(self):
        found = known(LFP, None, Expected(2.6, 3.65, 2.0))
        assert "voltage_above" in codes(found)


def tabled():
    with path("lgm50/lgm50_pulse_dcir.csv").open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


class TestPulsesOf24Cells:
    """Section 2: first rows of a pulse show the sagged voltage and no current."""

    @pytest.mark.parametrize(("cell", "milliohm"), list(enumerate([36.16, 33.94, 31.63, 37.38, 32.34, 33.18], start=1)))
    def test_at_25_degrees_and_half_charge(self, cell, milliohm):
        found = pulse(25, 5, cell)
        (ten,) = [each for each in found.pulses if each.seconds == 10.0 and each.current.magnitude < 0]
        assert ten.resistance.to("mΩ").magnitude == pytest.approx(milliohm, abs=0.1)
        assert ten.current.to("A").magnitude == pytest.approx(-7.5, rel=0.01)

    def test_all_216_as_tabled_and_the_six_short_ones_refused(self):
        refused = 0
        for row in tabled():
            temperature, cell = int(row["temp_c"]), int(row["cell"].removeprefix("Cell"))
            found = pulse(temperature, round(float(row["soc_pct"]) / 10), cell)
            ten = [each for each in found.pulses if each.seconds == 10.0 and each.current.magnitude < 0]
            if row["r10s_mohm"]:
                assert ten, row
                assert ten[0].resistance.to("mΩ").magnitude == pytest.approx(float(row["r10s_mohm"]), abs=0.1), row
            else:
                refused += 1
                assert not ten
                assert "pulse_short" in {each.code for each in found.withheld if "10 s" in each.figure}
        assert refused == 6


# Section 2: temperature, rate, first discharge [Ah], [Wh].
RATES = [
    (25, "0p1C", 4.9446, 18.084), (25, "0p5C", 4.8421, 17.299), (25, "1C", 4.7825, 16.602), (25, "2C", 4.8598, 16.063),
    (0, "0p1C", 4.4281, None), (0, "0p5C", 4.2897, None), (0, "1C", 4.2849, None), (0, "2C", 4.5607, None),
    (10, "0p1C", 4.6901, None), (10, "0p5C", 4.5213, None), (10, "1C", 4.5162, None), (10, "2C", 4.7214, None),
    (45, "0p1C", 4.9516, None), (45, "0p5C", 4.9725, None), (45, "1C", 4.9120, None), (45, "1p5C", 4.8750, None),
]  # fmt: skip


@pytest.mark.parametrize(("temperature", "rate", "ah", "wh"), RATES)
def test_rate_tests(temperature, rate, ah, wh):
    first = discharges(rate_test(temperature, rate))[0]
    assert first.capacity_ah == pytest.approx(ah, rel=5e-4)
    if wh:
        assert first.energy_wh == pytest.approx(wh, rel=5e-4)


def test_highest_temperature_of_a_fast_discharge():
    # Section 2, first trap: 33.6 °C at 1C, 57.6 °C at 2C; 2C gives more charge than 1C.
    fast, slow = (discharges(rate_test(25, rate))[0].hottest_degc for rate in ("2C", "1C"))
    assert (fast, slow) == (pytest.approx(57.6, abs=0.05), pytest.approx(33.6, abs=0.05))
