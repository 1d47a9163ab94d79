"""Forecasts against what physics demands of any pack; cells and packs are invented."""

from math import nan
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from packs.cells import Cell
from packs.chemistry import OcvCurve, curves_of
from packs.errors import ImpossibleValue, MissingFact
from packs.forecast import (
    ConstantCurrent,
    ConstantPower,
    ConstantResistance,
    End,
    Forecast,
    Load,
    PackCells,
    ResistanceOverCharge,
    SlowTerm,
    charge,
    discharge,
    pack_cells,
    rest,
    rested,
    slow_term_of_relaxation,
)
from packs.forecast.slow import ROOTS, settled
from packs.sources import SOURCES
from packs.terms import Chemistry
from packs.units import Quantity, ureg

NMC, LFP = curves_of(Chemistry.NMC)[0], curves_of(Chemistry.LFP)[0]
LINE = OcvCurve("straight", (0.0, 1.0), (3.0, 4.0), SOURCES["practice"])
SLOW = SlowTerm(ureg.Quantity(700, "s"), ureg.Quantity(2800, "s"), ureg.Quantity(0.95, "V"))
OVER = ResistanceOverCharge((0.1, 0.3, 0.9), (1.4, 1.0, 1.05))


def q(number: float, unit: str) -> Quantity:
    return ureg.Quantity(number, unit)


def made_of(groups: list[list[tuple[float, float]]], curve: OcvCurve = NMC, **more: Any) -> PackCells:
    """A pack of cells given as (Ah, mΩ)."""
    cells = [
        [Cell(f"{group}.{place}", q(ah, "Ah"), None, q(mohm, "mΩ")) for place, (ah, mohm) in enumerate(row, 1)]
        for group, row in enumerate(groups, 1)
    ]
    return pack_cells(cells, curve, **more)


def emptied(pack: PackCells, load: Load, end: float = 2.6, **more: Any) -> Forecast:
    return discharge(pack, load, end_of_discharge=q(end, "V"), **more)


def amps(number: float) -> ConstantCurrent:
    return ConstantCurrent(q(number, "A"))


def stored(pack: PackCells, states: np.ndarray[Any, Any]) -> float:
    """Energy at rest [J]: the area under the curve, summed over fine steps."""
    energies = []
    for state, coulombs in zip(states, pack.coulombs, strict=True):
        fine = np.linspace(min(0, state), max(0, state), 20_001)
        end = pack.curve.slope(0).magnitude
        volts = np.interp(fine, pack.curve.states, pack.curve.volts) + np.minimum(fine, 0) * end
        energies.append(float(np.trapezoid(volts, fine)) * coulombs * (1 if state >= 0 else -1))
    return sum(energies)


CELLS = st.tuples(st.floats(1.8, 3.2), st.floats(15, 70))
PACKS = st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=4)
RATES = st.floats(0.5, 1.2)


@settings(max_examples=8)
@given(groups=PACKS, rate=RATES, slow=st.sampled_from([None, SLOW]), curve=st.sampled_from([NMC, LFP]))
def test_energy_balance_closes(
    groups: list[list[tuple[float, float]]], rate: float, slow: SlowTerm | None, curve: OcvCurve
) -> None:
    """What the cells held at rest is what was given and what became heat; heat is added up from currents and drops."""
    pack = made_of(groups, curve, slow=slow, over_charge=OVER, path_resistance=q(3, "mΩ"))
    smallest = min(sum(ah for ah, _ in row) for row in groups)
    done = emptied(pack, amps(rate * smallest))
    gone = (stored(pack, rested(pack).charge) - stored(pack, done.state.charge)) / 3600
    assert float((done.energy + done.heat).to("Wh").magnitude) == pytest.approx(gone, rel=2e-3)
    assert done.heat.magnitude > 0


@settings(max_examples=8)
@given(groups=PACKS, rate=RATES)
def test_charge_is_conserved(groups: list[list[tuple[float, float]]], rate: float) -> None:
    pack = made_of(groups, slow=SLOW, over_charge=OVER)
    smallest = min(sum(ah for ah, _ in row) for row in groups)
    done = emptied(pack, amps(rate * smallest))
    assert done.charge_error.to("C").magnitude < 1e-6
    hours = float(done.duration.to("hour").magnitude)
    assert done.charge.to("Ah").magnitude == pytest.approx(rate * smallest * hours, rel=1e-9)
    assert done.charge.to("Ah").magnitude <= smallest * (1 + 1e-9)


@settings(max_examples=6)
@given(groups=PACKS, seed=st.integers(0, 1000))
def test_order_of_cells_in_a_group_does_not_matter(groups: list[list[tuple[float, float]]], seed: int) -> None:
    shuffled = [list(np.random.default_rng(seed).permutation(row)) for row in groups]
    load = amps(0.6 * min(sum(ah for ah, _ in row) for row in groups))
    one = emptied(made_of(groups, slow=SLOW), load)
    other = emptied(made_of([[(float(a), float(b)) for a, b in row] for row in shuffled], slow=SLOW), load)
    assert other.group_volts == pytest.approx(one.group_volts, abs=1e-7)
    assert (other.ended_by, other.ending_group) == (one.ended_by, one.ending_group)


@settings(max_examples=6)
@given(cell=CELLS, series=st.integers(1, 3), parallel=st.integers(1, 3), rate=RATES)
def test_twice_the_cells_at_twice_the_current_are_the_same_pack(
    cell: tuple[float, float], series: int, parallel: int, rate: float
) -> None:
    """Doubling the cells in parallel halves the resistance: same voltages, twice the charge, energy and heat."""
    current = rate * cell[0] * parallel
    one = emptied(made_of([[cell] * parallel] * series, slow=SLOW), amps(current))
    two = emptied(made_of([[cell] * (2 * parallel)] * series, slow=SLOW), amps(2 * current))
    assert two.group_volts == pytest.approx(one.group_volts, abs=1e-9)
    for part in ("charge", "energy", "heat"):
        assert getattr(two, part).magnitude == pytest.approx(2 * getattr(one, part).magnitude, rel=1e-9)


@settings(max_examples=6)
@given(cell=CELLS, rate=RATES)
def test_units_do_not_change_the_result(cell: tuple[float, float], rate: float) -> None:
    ah, mohm = cell
    plain = emptied(made_of([[cell]]), amps(rate * ah))
    only = Cell("A", q(ah * 1000, "mAh"), None, q(mohm / 1000, "ohm"))
    load = ConstantCurrent(q(rate * ah * 1000, "mA"))
    other = discharge(pack_cells([[only]], NMC), load, end_of_discharge=q(2600, "mV"), every=q(1 / 6, "min"))
    assert other.energy.magnitude == pytest.approx(plain.energy.magnitude, rel=1e-9)
    assert other.group_volts == pytest.approx(plain.group_volts, abs=1e-9)


def test_a_straight_curve_by_hand() -> None:
    """2 Ah, 3 to 4 V, 50 mΩ, 1 A to 3.2 V: rest voltage 3.25 V at the end, so 0.75 of 2 Ah in 1.5 h.

    Energy at rest 1.5 Ah × 3.625 V = 5.4375 Wh, heat 1 A² × 50 mΩ × 1.5 h = 0.075 Wh.
    """
    done = emptied(made_of([[(2.0, 50)]], LINE), amps(1), end=3.2)
    assert done.charge.to("Ah").magnitude == pytest.approx(1.5)
    assert done.duration.to("hour").magnitude == pytest.approx(1.5)
    assert done.heat.to("Wh").magnitude == pytest.approx(0.075)
    assert done.energy.to("Wh").magnitude == pytest.approx(5.4375 - 0.075)
    assert (done.ended_by, done.ending_group) == (End.END_OF_DISCHARGE, 0)


def test_the_weakest_group_ends_it() -> None:
    """Groups 5.1, 5.0, 5.1 and 5.2 Ah (4s2p of the worked examples, by hand): the second ends, after 5.0 Ah."""
    groups = [[(2.6, 40), (2.5, 44)], [(2.55, 42), (2.45, 46)], [(2.7, 38), (2.4, 50)], [(2.6, 40), (2.6, 40)]]
    done = emptied(made_of(groups, LINE), amps(0.1), end=2.0, every=q(1, "min"))
    assert (done.ended_by, done.ending_group) == (End.EMPTY, 1)
    assert done.charge.to("Ah").magnitude == pytest.approx(5.0, rel=1e-6)
    assert done.spreads[-1].to("mV").magnitude == pytest.approx(1000 * (1 - 5 / 5.2), abs=1)


def test_resistances_share_the_current() -> None:
    """20 and 24 mΩ, 10 A: 5.4545 and 4.5455 A at the first moment, bus 109.091 mV down (worked example, by hand)."""
    pack = made_of([[(3, 20), (3, 24)]], LINE)
    done = emptied(pack, amps(10), longest=q(0.01, "s"))
    assert done.group_volts[0, 0] == pytest.approx(4.0 - 0.1090909, abs=1e-7)
    taken = (1 - done.state.charge) * pack.coulombs / 0.01
    assert taken == pytest.approx([5.4545, 4.5455], abs=5e-4)


def test_two_joined_cells_settle_as_their_time_constant_says() -> None:
    """2 × 3 Ah, 0.70 V over the charge, 50 mV, 60 mΩ: τ = 462.86 s, 0.10714 Ah, 9.643 J (worked example, by hand)."""
    slope = OcvCurve("0.70 V", (0.0, 1.0), (3.3, 4.0), SOURCES["practice"])
    pack = made_of([[(3, 30), (3, 30)]], slope)
    apart = 0.05 / 0.70
    start = rested(pack, [0.5 + apart, 0.5])
    one = rest(pack, q(462.857, "s"), start=start, every=q(1, "s"))
    left = float((one.state.charge[0] - one.state.charge[1]) * 0.70)
    assert left == pytest.approx(0.05 * np.exp(-1), rel=1e-4)
    done = rest(pack, q(3, "hour"), start=start)
    assert (start.charge[0] - done.state.charge[0]) * 3 == pytest.approx(0.10714, abs=5e-6)
    assert done.heat.to("J").magnitude == pytest.approx(9.643, abs=5e-3)


def test_power_and_resistance_as_loads() -> None:
    """P = V·I at every moment, and V = R·I."""
    pack = made_of([[(2.5, 30)] * 2] * 3, slow=SLOW, path_resistance=q(10, "mΩ"))
    drawn = emptied(pack, ConstantPower(q(40, "W")))
    assert drawn.terminal_voltages.magnitude * drawn.amps == pytest.approx(np.full(len(drawn.amps), 40.0))
    assert drawn.amps[-1] > drawn.amps[0]
    assert drawn.energy.to("Wh").magnitude == pytest.approx(40 * drawn.duration.to("hour").magnitude, rel=1e-3)
    through = emptied(pack, ConstantResistance(q(4, "ohm")))
    assert through.terminal_voltages.magnitude / through.amps == pytest.approx(np.full(len(through.amps), 4.0))


def test_more_power_than_a_pack_has() -> None:
    """A source of 4 V behind 50 mΩ gives V²/4R = 80 W at most; from a falling one, 70 W ends on the way."""
    pack = made_of([[(2.0, 50)]], LINE)
    with pytest.raises(ImpossibleValue, match="power"):
        emptied(pack, ConstantPower(q(81, "W")), end=1.0)
    assert emptied(pack, ConstantPower(q(70, "W")), end=1.0).ended_by is End.POWER


def test_a_charge_holds_the_highest_group_and_ends_by_its_current() -> None:
    pack = made_of([[(2.5, 30)] * 2, [(2.4, 35)] * 2], slow=SLOW)
    low = emptied(pack, amps(2.5)).state
    done = charge(pack, q(2.5, "A"), charge_limit=q(4.19, "V"), ends_below=q(0.25, "A"), start=low)
    assert done.ended_by is End.CHARGED
    assert done.ending_group == 1
    assert done.group_volts.max() <= 4.19 + 1e-9
    assert done.amps[0] == pytest.approx(-2.5)
    assert done.amps[-1] == pytest.approx(-0.25, abs=0.005)
    assert (np.diff(-done.amps) <= 1e-9).all()
    assert done.charge_error.magnitude < 1e-6
    assert done.heat.magnitude > 0
    gained = (stored(pack, done.state.charge) - stored(pack, low.charge)) / 3600
    assert -float(done.energy.to("Wh").magnitude) - float(done.heat.to("Wh").magnitude) == pytest.approx(
        gained, rel=1e-3
    )


@pytest.mark.parametrize(("constant", "seconds"), [(700, 10), (2800, 60), (2800, 600), (6800, 3600)])
def test_the_modes_are_diffusion_in_a_sphere(constant: float, seconds: float) -> None:
    """Fick's law in 400 shells of a sphere that is filled at a steady rate, in 2000 implicit steps."""
    shells, steps = 400, 2000
    edge = np.linspace(0, 1, shells + 1)
    volume, flow = np.diff(edge**3) / 3, edge[1:-1] ** 2 * shells / constant * seconds / steps
    matrix = np.zeros((3, shells))
    matrix[0, 1:], matrix[2, :-1] = -flow / volume[:-1], -flow / volume[1:]
    matrix[1] = 1 + (np.append(flow, 0) + np.append(0, flow)) / volume
    inside, source = np.zeros(shells), np.zeros(shells)
    source[-1] = seconds / steps / 3 / volume[-1]
    for _ in range(steps):
        inside = solve_banded((1, 1), matrix, inside + source)
    ahead = inside[-1] + (inside[-1] - inside[-2]) / 2 - seconds
    assert settled(seconds, constant) * constant / 15 == pytest.approx(ahead, rel=0.02)


def test_the_roots_are_those_of_the_sphere() -> None:
    """tan λ = λ, one root between each n·π and (n + ½)·π; Σ 10/λ² over all of them is 1 (Crank, from memory)."""
    assert np.tan(ROOTS) == pytest.approx(ROOTS, rel=1e-6)
    assert (np.floor(ROOTS / np.pi) == np.arange(1, 9)).all()


@given(bent=st.floats(200, 4000), straight=st.floats(500, 9000))
def test_the_slow_term_is_found_again(bent: float, straight: float) -> None:
    """Pulses of a made-up cell, by the law of the square root of time."""
    slopes = np.repeat([0.5, 0.9, 2.0], 3)
    delays = np.tile([2.0, 5.0, 10.0], 3)
    root = np.sqrt(10 + delays) - np.sqrt(delays)
    drops = 7.5 / 18_000 * 2 / (3 * np.sqrt(np.pi)) * root * (np.sqrt(bent) * slopes + np.sqrt(straight) * 0.95)
    found = slow_term_of_relaxation(
        ureg.Quantity(drops, "V"), ureg.Quantity(delays, "s"), ureg.Quantity(slopes, "V"), current=q(7.5, "A"),
        pulse=q(10, "s"), capacity=q(5, "Ah"), mean_slope=q(0.95, "V"),
    )  # fmt: skip
    assert found.seconds == (pytest.approx(bent), pytest.approx(straight))
    assert found.resistance(q(5, "Ah")).to("ohm").magnitude == pytest.approx(straight / 15 * 0.95 / 18_000)


def test_a_pulse_gives_back_the_resistance_it_was_made_of() -> None:
    """After 10 s the drop, less that of the charge taken, is the current times the 10 s resistance."""
    pack = made_of([[(5.0, 35)]], LINE, slow=SLOW)
    done = emptied(pack, amps(5), start=rested(pack, 0.6), longest=q(10, "s"), every=q(1, "s"))
    assert 3.6 - 50 / 18_000 - done.group_volts[-1, 0] == pytest.approx(5 * 0.035, rel=1e-3)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        (Cell("A1", q(2.5, "Ah"), q(3.6, "V")), "DC resistance not measured"),
        (Cell("A1", None, None, q(30, "mΩ")), "Capacity not measured"),
    ],
)
def test_what_was_not_measured_gives_no_forecast(cell: Cell, words: str) -> None:
    """A resistance at 1 kHz is smaller than a DC resistance (common practice, no source), so none stands for it."""
    with pytest.raises(MissingFact, match=words):
        pack_cells([[cell]], NMC)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: pack_cells([], NMC),
        lambda: pack_cells([[]], NMC),
        lambda: made_of([[(0, 30)]]),
        lambda: made_of([[(2.5, nan)]]),
        lambda: made_of([[(2.5, 30)]], path_resistance=q(-1, "mΩ")),
        lambda: amps(-1),
        lambda: amps(nan),
        lambda: ResistanceOverCharge((0.5, 0.4), (1, 1)),
        lambda: ResistanceOverCharge((0.5,), (0.0,)),
        lambda: rested(made_of([[(2.5, 30)]]), 1.1),
        lambda: rested(made_of([[(2.5, 30)]]), [0.5, 0.5]),
        lambda: emptied(made_of([[(2.5, 30)]]), amps(1), every=q(0, "s")),
        lambda: emptied(made_of([[(2.5, 30)]]), amps(1), end=nan),
        lambda: charge(
            made_of([[(2.5, 30)]]), q(1, "A"), charge_limit=q(4.2, "V"), ends_below=q(2, "A"),
            start=rested(made_of([[(2.5, 30)]]), 0.5),
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(wrong: Any) -> None:
    with pytest.raises(ImpossibleValue):
        wrong()
