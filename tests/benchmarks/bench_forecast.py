"""Time and memory of a full discharge of 14s80p, beside a general solver on the same pack; run by hand.

``python -m pytest tests/benchmarks/bench_forecast.py -s`` from the root of the repository, on a machine that does
nothing else. The figures to beat: 1 s in steps of 10 s, resistance over charge and slow term included; 200 MB.
"""

import subprocess
import sys
from time import perf_counter
from typing import Any

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.integrate import solve_ivp

from packs.cells import Cell
from packs.chemistry import curves_of
from packs.forecast import ConstantCurrent, Forecast, PackCells, ResistanceOverCharge, SlowTerm, discharge, pack_cells
from packs.terms import Chemistry
from packs.units import ureg

SERIES, PARALLEL, AMPS, END = 14, 80, 400.0, 2.6
DRAW = np.random.default_rng(2026)
AH = DRAW.normal(5.0, 0.05, (SERIES, PARALLEL))
OHM = DRAW.uniform(0.030, 0.040, (SERIES, PARALLEL))
OVER = ResistanceOverCharge((0.1, 0.2, 0.5, 0.9), (1.33, 1.06, 1.0, 1.02))
SLOW = SlowTerm(ureg.Quantity(730, "s"), ureg.Quantity(2780, "s"), ureg.Quantity(0.95, "V"))


def pack(slow: SlowTerm | None = SLOW) -> PackCells:
    cells = [
        [
            Cell(
                f"{group}.{place}", ureg.Quantity(AH[group, place], "Ah"), None, ureg.Quantity(OHM[group, place], "ohm")
            )
            for place in range(PARALLEL)
        ]
        for group in range(SERIES)
    ]
    return pack_cells(cells, curves_of(Chemistry.NMC)[0], over_charge=OVER, slow=slow)


def forecast(slow: SlowTerm | None = SLOW) -> Forecast:
    load = ConstantCurrent(ureg.Quantity(AMPS, "A"))
    return discharge(pack(slow), load, end_of_discharge=ureg.Quantity(END, "V"))


def general_solver() -> float:
    """Charge until the first group ends [Ah], without a slow term, by a solver of stiff equations on all cells."""
    curve = curves_of(Chemistry.NMC)[0]

    def groups(states: Any) -> tuple[Any, Any, Any]:
        volts = np.interp(states, *curve.points[:2])
        ohm = OHM.ravel() * np.interp(states, OVER.states, OVER.factors)
        siemens = (1 / ohm).reshape(SERIES, PARALLEL)
        bus = ((volts / ohm).reshape(SERIES, PARALLEL).sum(axis=1) - AMPS) / siemens.sum(axis=1)
        return volts, ohm, bus

    def change(_: float, states: Any) -> Any:
        volts, ohm, bus = groups(states)
        return (np.repeat(bus, PARALLEL) - volts) / ohm / (3600 * AH.ravel())

    def ended(_: float, states: Any) -> float:
        return float(groups(states)[2].min()) - END

    ended.terminal = True  # type: ignore[attr-defined]
    full = np.ones(SERIES * PARALLEL)
    found = solve_ivp(change, (0, 4000), full, "RK23", events=ended, rtol=1e-6, atol=1e-8)
    return float(found.t[-1]) * AMPS / 3600


def test_a_full_discharge_beside_a_general_solver(benchmark: BenchmarkFixture) -> None:
    start = perf_counter()
    theirs = general_solver()
    seconds = perf_counter() - start
    assert forecast(None).charge.to("Ah").magnitude == pytest.approx(theirs, rel=1e-3)
    done = benchmark.pedantic(forecast, rounds=10, warmup_rounds=1)  # type: ignore[no-untyped-call]
    assert benchmark.stats is not None
    ours = benchmark.stats.stats
    sys.stdout.write(
        f"\n14s80p at 1C in {len(done.seconds)} steps: {ours.min:.2f} s at best, {ours.median:.2f} s median; general "
        f"solver without the slow term {seconds:.2f} s, ratio {seconds / ours.min:.1f}\n"
    )
    assert ours.median < 1.0


def test_memory() -> None:
    code = (
        "import resource, tests.benchmarks.bench_forecast as b; b.forecast();"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    peak = float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)
    sys.stdout.write(f"\npeak memory with pytest and scipy loaded: {peak:.0f} MB\n")
    assert peak < 200
