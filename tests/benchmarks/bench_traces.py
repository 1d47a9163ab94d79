"""Time and memory of reading tester files, beside a bare ``polars.read_csv`` and sum; run by hand.

``python tests/benchmarks/bench_traces.py`` from the root of the repository, on a machine that does nothing else.
The figures to beat: 10 million rows of four columns read, checked, hashed and reduced in twice the time of the bare
reader, under 2.5 GB; 500 files of 10,000 rows in 60 s; an exponent of about 1 from 10^4 to 10^7 rows.
"""

import argparse
import gc
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
import polars as pl

from packs.traces import figures, read

GIGABYTE = 1024**2  # ru_maxrss counts kilobytes
COLUMNS = ("Test Time / s", "Current / A", "Voltage / V", "Surface Temperature / degC")


def write(rows: int, path: Path, seed: int = 0) -> None:
    """A made-up test: charge, rest, discharge and rest of an hour each, a row every 0.1 s, with noise."""
    draw = np.random.default_rng(seed)
    place = np.arange(rows)
    state = np.array([1.0, 0.0, -1.0, 0.0])[(place // 36_000) % 4]
    within = (place % 36_000) / 36_000
    current = np.where(state != 0, 2.5 * state + draw.normal(0, 1e-3, rows), 0.0)
    level = np.choose((place // 36_000) % 4, [within, np.ones(rows), 1 - within, np.zeros(rows)])
    voltage = 3.3 + 0.8 * level + 0.02 * current + draw.normal(0, 2e-4, rows)
    table = [place * 0.1, current, voltage, 25 + 3 * np.abs(state) * within]
    rounded = (np.round(each, digits) for each, digits in zip(table, (1, 4, 4, 2), strict=True))
    pl.DataFrame(dict(zip(COLUMNS, rounded, strict=True))).write_csv(path)


def say(line: str) -> None:
    """Print a line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def bare(path: Path) -> float:
    """Seconds of an eager read and sum."""
    begin = perf_counter()
    pl.read_csv(path).sum()
    return perf_counter() - begin


def whole(path: Path) -> float:
    """Seconds from the path to the figures."""
    begin = perf_counter()
    found = figures(read(path))
    assert found.steps
    return perf_counter() - begin


def peak(path: Path) -> float:
    """Most memory of a process that reads one file and nothing else [GB]."""
    script = (
        "import resource, sys; from pathlib import Path; from packs.traces import figures, read; "
        "figures(read(Path(sys.argv[1]))); print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=True, cwd=root
    )
    return int(done.stdout) / GIGABYTE


def best(measure, path: Path, times: int) -> float:
    """The least of several."""
    found = []
    for _ in range(times):
        gc.collect()
        found.append(measure(path))
    return min(found)


def large(folder: Path, times: int) -> None:
    """From 10^4 to 10^7 rows, and the largest beside the bare reader."""
    sizes, seconds = [10**4, 10**5, 10**6, 10**7], []
    for rows in sizes:
        path = folder / f"{rows}.csv"
        write(rows, path)
        bare(path)
        plain, ours = best(bare, path, times), best(whole, path, times)
        seconds.append(ours)
        say(f"{rows:>10} rows: {ours:.3f} s, bare reader {plain:.3f} s, ratio {ours / plain:.2f}")
    exponent = np.polyfit(np.log(sizes), np.log(seconds), 1)[0]
    last = np.log(seconds[-1] / seconds[-2]) / np.log(10)
    say(f"exponent from 10^4 to 10^7: {exponent:.3f}; from 10^6 to 10^7: {last:.3f}")
    say(f"most memory at 10^7 rows: {peak(folder / f'{10**7}.csv'):.2f} GB")


def many(folder: Path) -> None:
    """500 files of 10,000 rows."""
    paths = [folder / f"cell-{number}.csv" for number in range(500)]
    for number, path in enumerate(paths):
        write(10_000, path, number)
    begin = perf_counter()
    for path in paths:
        whole(path)
    say(f"500 files of 10,000 rows: {perf_counter() - begin:.1f} s")


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=3)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        many(Path(folder))
        large(Path(folder), options.times)
    say(f"most memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / GIGABYTE:.2f} GB")


if __name__ == "__main__":
    main()
