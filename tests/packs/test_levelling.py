"""Two cells levelled through a resistor: hand-worked figures, and the equations followed step by step."""

from math import nan
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from packs.errors import ImpossibleValue
from packs.network import Discharging, Levelling, discharge_over, levelling, levelling_resistor, preferred
from packs.units import Quantity, ureg


def volts(number: float) -> Quantity:
    return ureg.Quantity(number, "V")


def ohms(number: float) -> Quantity:
    return ureg.Quantity(number, "ohm")


def hours_of(number: float) -> Quantity:
    return ureg.Quantity(number, "Ah")


def levelled(
    high: float, low: float, *, capacities: tuple[float, float] = (3, 3), slope: float = 0.70, ohm: float = 1.0,
    inside: tuple[float, ...] = (), left: float = 0.005,
) -> Levelling:  # fmt: skip
    cells, sizes = (volts(high), volts(low)), (hours_of(capacities[0]), hours_of(capacities[1]))
    others = [ohms(part) for part in inside]
    return levelling(cells, sizes, volts(slope), ohms(ohm), resistances=others, left_over=volts(left))


def test_two_cells_of_3_ah_through_one_ohm() -> None:
    """By hand, 0.70 V over the charge: K = 2 × 0.70/3 V/Ah, τ = 1/K = 2.1429 h, t = τ·ln(200/5) = 7.9047 h.

    0.2 A at first, 40 mW; charge 0.2/K × 39/40 = 0.41786 Ah at 3.9 − 0.04875 V and 3.7 + 0.04875 V on average.
    """
    done = levelled(3.9, 3.7)
    assert done.peak_current.to("A").magnitude == pytest.approx(0.2)
    assert done.peak_power.to("mW").magnitude == pytest.approx(40)
    assert done.time_constant.to("hour").magnitude == pytest.approx(2.142857, abs=5e-7)
    assert done.duration.to("hour").magnitude == pytest.approx(7.9047, abs=5e-5)
    assert done.charge.to("Ah").magnitude == pytest.approx(0.417857, abs=5e-7)
    assert done.energy_given.to("Wh").magnitude == pytest.approx(0.417857 * 3.85125, abs=5e-6)
    assert done.energy_taken.to("Wh").magnitude == pytest.approx(0.417857 * 3.74875, abs=5e-6)


def test_without_a_resistor_it_is_the_settling_of_two_cells() -> None:
    """2 × 3 Ah, 0.70 V, 50 mV over a loop of 60 mΩ, by hand: τ = 462.86 s, 0.10714 Ah, 9.643 J."""
    done = levelled(3.75, 3.70, ohm=0, inside=(0.030, 0.030), left=1e-9)
    assert done.time_constant.to("s").magnitude == pytest.approx(462.86, abs=0.005)
    assert done.charge.to("Ah").magnitude == pytest.approx(0.10714, abs=5e-6)
    assert done.heat.to("J").magnitude == pytest.approx(9.643, abs=5e-4)
    assert done.peak_current.to("A").magnitude == pytest.approx(0.83333, abs=5e-6)
    assert done.peak_power.magnitude == 0


def test_order_of_the_cells_does_not_matter() -> None:
    one, other = levelled(3.9, 3.7, capacities=(2, 3)), levelled(3.7, 3.9, capacities=(3, 2))
    assert one == other


def test_cells_that_are_level_need_nothing() -> None:
    done = levelled(3.703, 3.700)
    for part in (done.peak_current, done.peak_power, done.duration, done.charge, done.energy_given, done.heat):
        assert part.magnitude == 0


PAIRS = st.fixed_dictionaries(
    {
        "high": st.floats(3.6, 4.2),
        "low": st.floats(3.0, 3.55),
        "capacities": st.tuples(st.floats(0.5, 60), st.floats(0.5, 60)),
        "slope": st.floats(0.2, 1.2),
        "ohm": st.floats(0.1, 20),
        "inside": st.tuples(st.floats(0, 0.1), st.floats(0, 0.1)),
        "left": st.floats(0.001, 0.04),
    }
)


@settings(max_examples=30)
@given(pair=PAIRS)
def test_against_the_equations_followed_step_by_step(pair: dict[str, Any]) -> None:
    """dV₁/dt = −k₁I, dV₂/dt = k₂I, I = (V₁ − V₂)/R, integrated numerically; no closed form is used."""
    done = levelled(**pair)
    loop = pair["ohm"] + sum(pair["inside"])
    stiff = [pair["slope"] / (3600 * capacity) for capacity in pair["capacities"]]

    def change(_: float, state: Any) -> list[float]:
        high, low = state[:2]
        amps = (high - low) / loop
        return [-stiff[0] * amps, stiff[1] * amps, amps, amps * high, amps * low]

    seconds = done.duration.to("s").magnitude
    end = solve_ivp(change, (0, seconds), [pair["high"], pair["low"], 0, 0, 0], rtol=1e-9, atol=1e-9).y[:, -1]
    assert end[0] - end[1] == pytest.approx(pair["left"], abs=1e-6)
    assert end[2] == pytest.approx(done.charge.to("C").magnitude, rel=1e-5)
    assert end[3] == pytest.approx(done.energy_given.to("J").magnitude, rel=1e-5)
    assert end[4] == pytest.approx(done.energy_taken.to("J").magnitude, rel=1e-5)
    assert done.heat.to("J").magnitude == pytest.approx(end[3] - end[4], rel=1e-3, abs=1e-3)


@pytest.mark.parametrize(
    ("difference", "current", "inside", "expected"),
    [(0.5, 0.5, (), 1.0), (-0.5, 0.5, (), 1.0), (0.5, 0.5, (0.03, 0.03), 0.94), (0.05, 1.0, (0.03, 0.03), 0.0)],
)
def test_resistor_for_a_current(difference: float, current: float, inside: tuple[float, ...], expected: float) -> None:
    """Ohm's law by hand."""
    found = levelling_resistor(volts(difference), ureg.Quantity(current, "A"), [ohms(part) for part in inside])
    assert found.to("ohm").magnitude == pytest.approx(expected)


@pytest.mark.parametrize(("current", "inside"), [(0, ()), (-1, ()), (nan, ()), (1, (-0.1,)), (1, (nan,))])
def test_resistor_for_what_cannot_be_is_refused(current: float, inside: tuple[float, ...]) -> None:
    with pytest.raises(ImpossibleValue):
        levelling_resistor(volts(0.5), ureg.Quantity(current, "A"), [ohms(part) for part in inside])


@pytest.mark.parametrize(
    "wrong",
    [
        {"ohm": 0}, {"ohm": nan}, {"left": 0}, {"left": -0.001}, {"slope": 0}, {"slope": nan}, {"capacities": (0, 3)},
        {"inside": (-0.1,)}, {"inside": (nan,)}, {"high": nan},
    ],
)  # fmt: skip
def test_levelling_that_cannot_be_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ImpossibleValue):
        levelled(**{"high": 3.9, "low": 3.7} | wrong)


def discharged(ohm: float, high: float, low: float, ampere_hours: float) -> Discharging:
    return discharge_over(ohms(ohm), (volts(high), volts(low)), hours_of(ampere_hours))


def test_one_cell_over_a_resistor() -> None:
    """By hand: 4.0 V over 10 Ω are 0.4 A and 1.6 W; 1 Ah down to 3.6 V lasts 10 × 1/0.4 × ln(4.0/3.6) = 2.6340 h."""
    done = discharged(10, 4.0, 3.6, 1)
    assert done.peak_current.to("A").magnitude == pytest.approx(0.4)
    assert done.peak_power.to("W").magnitude == pytest.approx(1.6)
    assert done.duration.to("hour").magnitude == pytest.approx(2.6340, abs=5e-5)


def test_one_cell_followed_step_by_step() -> None:
    """dq/dt = V/R with V falling evenly over the charge, solved numerically."""
    high, low, ohm, charge = 3.95, 3.62, 14.0, 0.9
    falls = solve_ivp(
        lambda _, q: [(high - (high - low) * q[0] / charge) / ohm],
        (0, 10), [0.0], events=lambda _, q: q[0] - charge, rtol=1e-9, atol=1e-12,
    )  # fmt: skip
    assert discharged(ohm, high, low, charge).duration.to("hour").magnitude == pytest.approx(
        falls.t_events[0][0], rel=1e-6
    )


@pytest.mark.parametrize(
    "wrong",
    [(0, 4, 3, 1), (-1, 4, 3, 1), (nan, 4, 3, 1), (1, 3, 3, 1), (1, 3, 4, 1), (1, 3, 0, 1), (1, nan, 3, 1), (1, 4, 3, 0), (1, 4, 3, nan)],
)  # fmt: skip
def test_a_discharge_that_cannot_be_is_refused(wrong: tuple[float, float, float, float]) -> None:
    with pytest.raises(ImpossibleValue):
        discharged(*wrong)


@pytest.mark.parametrize(
    ("least", "value"),
    [(13.892, 15), (15, 15), (15.1, 18), (0.83, 1.0), (8.2, 8.2), (99, 100), (100, 100), (470.5, 560)],
)
def test_a_resistor_is_one_that_can_be_bought(least: float, value: float) -> None:
    """E12 of IEC 60063, recalled from memory: never below what keeps the current down."""
    assert preferred(ohms(least)).m_as("ohm") == pytest.approx(value)
    with pytest.raises(ImpossibleValue):
        preferred(ohms(0))
