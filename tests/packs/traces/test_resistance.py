"""DC resistance by two currents, by pulses, and what is refused."""

import numpy as np
import pytest

from packs.traces import Expected, figures, read
from packs.traces.resistance import NoResistance, two_step


def test_worked_example():
    # Engineering reference 4.1: 2.6 Ah cell, 0.52 A and 2.6 A, 3.652 V and 3.560 V give 44.231 mΩ.
    assert 1000 * two_step(0.52, 3.652, 2.6, 3.560) == pytest.approx(44.231, abs=5e-4)


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ((2.6, 3.652, 0.52, 3.560), "second_not_larger"),
        ((2.6, 3.652, 2.6, 3.560), "second_not_larger"),
        ((0.52, 3.652, 2.6, 3.652), "voltage_not_lower"),
        ((0.52, 3.560, 2.6, 3.652), "voltage_not_lower"),
        ((0.52, float("nan"), 2.6, 3.652), "voltage_not_lower"),
        ((float("nan"), 3.652, 2.6, 3.560), "second_not_larger"),
    ],
)
def test_refused(values, code):
    # Engineering reference 4.1, "must be rejected".
    with pytest.raises(NoResistance) as refused:
        two_step(*values)
    assert refused.value.reason.value == code


def made(parts, every=0.1):
    """A test of parts of (seconds, current, voltage), a row every ``every`` seconds from each part's start."""
    text, begin = ["test_time_second,current_ampere,voltage_volt,step_count,step_time_second"], 0.0
    for number, (seconds, current, voltage) in enumerate(parts, start=1):
        for within in np.arange(every, seconds + every / 2, every):
            text.append(f"{begin + within:.3f},{current},{voltage},{number},{within:.3f}")
        begin += seconds
    return ("\n".join(text) + "\n").encode()


# Engineering reference 4.1: U1 = 3.652 V after 10 s at 0.52 A, U2 = 3.560 V after 1 s at 2.6 A.
TWO = [(60, 0.0, 3.70), (10, -0.52, 3.652), (1, -2.6, 3.560), (60, 0.0, 3.69)]


class TestTwoCurrents:
    def test_found_in_a_series(self):
        (found,) = figures(read(made(TWO)), Expected(rated_ah=2.6)).two_steps
        assert found.resistance.to("mΩ").magnitude == pytest.approx(44.231, abs=1e-3)
        assert (found.first_seconds, found.second_seconds) == (pytest.approx(10, abs=0.01), 1.0)
        assert found.first_current.to("A").magnitude == pytest.approx(0.52)
        assert found.second_current.to("A").magnitude == pytest.approx(2.6)

    @pytest.mark.parametrize(
        ("change", "code"),
        [
            ({2: (0.5, -2.6, 3.560)}, "pulse_short"),
            ({2: (1, -2.6, 3.660)}, "voltage_not_lower"),
        ],
    )
    def test_refused_in_a_series(self, change, code):
        parts = [change.get(place, part) for place, part in enumerate(TWO)]
        found = figures(read(made(parts)))
        assert not found.two_steps
        assert code in {each.code for each in found.withheld if each.figure == "DC resistance by two currents"}

    def test_another_ratio_is_not_the_method(self):
        found = figures(read(made([*TWO[:2], (1, -1.04, 3.62), TWO[3]])))
        assert not found.two_steps


class TestPulses:
    # Engineering reference 4.2: 3.700 V to 3.580 V at 4 A are 30.0 mΩ.
    PULSE = [(60, 0.0, 3.700), (12, -4.0, 3.580), (60, 0.0, 3.69)]

    def test_worked_example_with_what_belongs_to_it(self):
        found = figures(read(made(self.PULSE)))
        assert {each.seconds for each in found.pulses} == {0.5, 1.0, 10.0}
        for each in found.pulses:
            assert each.resistance.to("mΩ").magnitude == pytest.approx(30.0, abs=1e-6)
            assert each.current.to("A").magnitude == pytest.approx(-4.0)
            assert each.rest_seconds == pytest.approx(60, abs=0.2)
            assert each.soc is None
            assert each.temperature is None

    @pytest.mark.parametrize(
        ("parts", "every", "seconds", "code"),
        [
            (PULSE, 0.1, 30.0, "pulse_short"),
            ([PULSE[0], (0.9, -4.0, 3.58), PULSE[2]], 0.1, 1.0, "pulse_short"),
            (PULSE, 1.0, 0.5, "rows_apart"),
            ([PULSE[0], (5, -4.0, 3.58), (7, -2.0, 3.6), PULSE[2]], 0.1, 10.0, "pulse_short"),
            ([PULSE[0], (12, -4.0, 3.72), PULSE[2]], 0.1, 10.0, "wrong_way"),
        ],
    )
    def test_refused_not_extrapolated(self, parts, every, seconds, code):
        layout_free = made(parts, every)
        if code == "wrong_way":
            from packs.traces import TraceRefused

            with pytest.raises(TraceRefused, match="wrong way"):
                figures(read(layout_free))
            return
        found = figures(read(layout_free))
        assert not [each for each in found.pulses if each.seconds == seconds]
        assert code in {each.code for each in found.withheld if f"at {seconds:g} s" in each.figure}

    def test_a_pulse_whose_start_is_not_recorded_is_refused(self):
        # Rows a second apart and no time within the step: the pulse may have begun anywhere in the second before.
        text = made(self.PULSE, 1.0).decode().split("\n")
        plain = "\n".join(",".join(line.split(",")[:3]) for line in text)
        found = figures(read(plain.encode()))
        assert {each.seconds for each in found.pulses} == {10.0}
        assert "start_unknown" in {each.code for each in found.withheld if "at 1 s" in each.figure}

    def test_one_kilohertz_stands_apart(self):
        text = made(self.PULSE).decode().split("\n")
        text = [f"{text[0]},ac_internal_resistance_ohm", *(f"{line},0.0182" for line in text[1:-1]), ""]
        found = figures(read("\n".join(text).encode()))
        (reported,) = found.tester_resistances
        assert reported.one_kilohertz
        assert reported.resistance.to("mΩ").magnitude == pytest.approx(18.2)
        assert all(each.resistance.to("mΩ").magnitude == pytest.approx(30.0) for each in found.pulses)
