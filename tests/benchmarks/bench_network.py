"""Time and memory of the current paths of 14s80p, beside ngspice on the same netlist; run by hand.

``python -m pytest tests/benchmarks/bench_network.py -s`` from the root of the repository, on a machine that does
nothing else. The figures to beat: 15 ms with assembly, 200 MB, 0.5 s for the import of every room of packs.
"""

import subprocess
import sys
from pathlib import Path
from time import perf_counter

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from packs.layout import Layout, StripSection, feed_joint, geometry, holder_spacing, layout
from packs.network import CurrentPaths, PathResistances, pack_circuit, resistance_per_length, solve_pack
from packs.terms import CellFormat, Feed, Terminals
from packs.topology import Arrangement
from packs.units import ureg
from tests.packs.spice import Values, key, netlist, output

SERIES, PARALLEL, AMPS = 14, 80, 200.0
PITCH = 20.0
NICKEL_200 = 9.64e-8  # Ω·m at 20 °C: Special Metals SMC-061, Table 3
WIDTH, THICKNESS, TAB, JOINT, LEAD = 8.0, 0.15, 15.0, 0.2e-3, 1e-3

DRAW = np.random.default_rng(2026)
REST = DRAW.uniform(3.60, 3.65, SERIES * PARALLEL)
INSIDE = DRAW.uniform(0.020, 0.040, SERIES * PARALLEL)


def pack() -> Layout:
    return layout(Arrangement(SERIES, PARALLEL), CellFormat.ROUND, Terminals.OPPOSITE_ENDS)


def current_paths(of: Layout) -> CurrentPaths:
    """From cells and strips to the current of every part: links, lengths, matrix, factors, currents."""
    mm = [ureg.Quantity(length, "millimeter") for length in (PITCH, WIDTH, THICKNESS, TAB)]
    measured = geometry(of, holder_spacing(mm[0]))
    resistances = PathResistances(
        strip=resistance_per_length(ureg.Quantity(NICKEL_200, "ohm*m"), StripSection(mm[1], mm[2])),
        joint=ureg.Quantity(JOINT, "ohm"),
        lead=ureg.Quantity(LEAD, "ohm"),
        tab_length=mm[3],
    )
    circuit = pack_circuit(measured, resistances)
    response = solve_pack(circuit, ureg.Quantity(REST, "V"), ureg.Quantity(INSIDE, "ohm"))
    return response.at(ureg.Quantity(AMPS, "A"))


def spice_netlist(of: Layout) -> str:
    """The same pack for the simulator, which is asked for one voltage only."""
    cells = [(cell.group, cell.place) for cell in of.cells]
    ohm_per_mm = NICKEL_200 / (WIDTH * THICKNESS) * 1000
    ends = (key(of.joints[feed_joint(of, node, Feed.LAST_END)]) for node in (0, SERIES))
    values = Values(
        rest=dict(zip(cells, REST.tolist(), strict=True)),
        inside=dict(zip(cells, INSIDE.tolist(), strict=True)),
        joint={key(joint): JOINT for joint in of.joints},
        ohm_per_mm=ohm_per_mm,
        tab_ohm=TAB * ohm_per_mm,
        lead_ohm=LEAD,
        across=PITCH,
        down=PITCH,
        reach=0.0,
        feeds=(next(ends), next(ends)),
    )
    lines = netlist(of, values, amps=AMPS).splitlines()
    return "\n".join([*(line for line in lines if not line.startswith("print @")), ""])


def test_current_paths_beside_the_simulator(benchmark: BenchmarkFixture, ngspice: str, tmp_path: Path) -> None:
    text = spice_netlist(pack())
    seconds = []
    for _ in range(5):
        start = perf_counter()
        lines = output(ngspice, text, tmp_path)
        seconds.append(perf_counter() - start)
    # A new layout each time: nothing is remembered from the round before.
    paths = benchmark.pedantic(  # type: ignore[no-untyped-call]
        current_paths, setup=lambda: ((pack(),), {}), rounds=60, warmup_rounds=5
    )
    theirs = next(float(line.partition(" = ")[2]) for line in lines if line.startswith("v(out)"))
    assert paths.terminal_voltage.to("V").magnitude == pytest.approx(theirs, rel=1e-9)
    assert benchmark.stats is not None
    ours = benchmark.stats.stats
    benchmark.extra_info |= {"ngspice_ms": 1000 * min(seconds), "ratio": min(seconds) / ours.min}
    nodes = 2 * len(paths.joints.amps) + 4
    sys.stdout.write(
        f"\n14s80p: {nodes - 1} unknown voltages, {len(paths.links.amps)} links; "
        f"{1000 * ours.min:.1f} ms at best, {1000 * ours.median:.1f} ms median; "
        f"ngspice {1000 * min(seconds):.0f} ms with start and reading, ratio {min(seconds) / ours.min:.0f}\n"
    )
    assert ours.min < 0.015


def child(code: str) -> float:
    """What a fresh interpreter prints."""
    return float(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout)


def test_memory() -> None:
    code = (
        "import resource, tests.benchmarks.bench_network as b; b.current_paths(b.pack());"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    peak = child(code)
    sys.stdout.write(f"\npeak memory with pytest loaded: {peak:.0f} MB\n")
    assert peak < 200


def test_import() -> None:
    code = (
        "import time; start = time.perf_counter(); import importlib, pkgutil, packs;"
        "[importlib.import_module(m.name) for m in pkgutil.walk_packages(packs.__path__, 'packs.')];"
        "print(time.perf_counter() - start)"
    )
    seconds = sorted(child(code) for _ in range(5))
    libraries = "import time; start = time.perf_counter(); import numpy, pint; print(time.perf_counter() - start)"
    alone = sorted(child(libraries) for _ in range(5))
    sys.stdout.write(f"\nimport of every room of packs: {seconds[2]:.2f} s, of numpy and pint alone {alone[2]:.2f} s\n")
    assert seconds[2] < 0.5
