"""Weakest group, spread and time of the matching on the stored stocks, beside the best known; run by hand.

``SHARED_DATA=../shared/data python tests/benchmarks/bench_matching.py [ITERATIONS]`` from the root of the repository.
"""

import csv
import os
import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from packs.matching import DEFAULT_ITERATIONS, CellTable, Question, propose, verify

ROOT = Path(__file__).resolve().parents[2]
STOCKS = Path(os.environ.get("SHARED_DATA", ROOT.parent / "shared" / "data")) / "matching"

# Stock, series, parallel, best known weakest and spread [mAh]: shared/data/matching/README.md.
WITHOUT_LIMIT = [
    ("new_lot_12", 2, 2, 5831, 0), ("reclaimed_12", 2, 2, 4641, 10), ("new_lot_20", 3, 1, 2919, 3),
    ("reclaimed_20", 3, 1, 2472, 326), ("new_lot_40", 4, 2, 5831, 1), ("reclaimed_40", 4, 2, 5235, 73),
    ("new_lot_80", 10, 4, 11659, 0), ("reclaimed_80", 10, 4, 9552, 1), ("new_lot_120", 13, 5, 14573, 0),
    ("reclaimed_120", 13, 5, 11607, 1), ("new_lot_500", 14, 6, 17581, 0), ("reclaimed_500", 14, 6, 15693, 1),
    ("new_lot_1000", 20, 7, 20544, 1), ("reclaimed_1000", 20, 7, 18448, 1), ("new_lot_2000", 14, 80, 233135, 1),
    ("reclaimed_2000", 14, 80, 187056, 1), ("new_lot_20000", 14, 80, 235249, 1),
    ("reclaimed_20000", 14, 80, 221192, 1), ("new_lot_40", 10, 4, 11569, 1), ("reclaimed_40", 10, 4, 8414, 3),
    ("new_lot_65", 13, 5, 14491, 0), ("reclaimed_65", 13, 5, 10501, 1), ("new_lot_84", 14, 6, 17393, 1),
    ("reclaimed_84", 14, 6, 12532, 1), ("new_lot_140", 20, 7, 20307, 1), ("reclaimed_140", 20, 7, 14986, 1),
    ("new_lot_1120", 14, 80, 231942, 1), ("reclaimed_1120", 14, 80, 168265, 1),
]  # fmt: skip
# Stock, series, parallel, resistance ratio, voltage window [mV], best known weakest [mAh]: the same.
WITH_LIMITS = [
    ("reclaimed_40", 4, 2, 1.1, 50, 4962), ("reclaimed_80", 10, 4, 1.1, None, 8586),
    ("reclaimed_80", 10, 4, 1.25, None, 9307), ("reclaimed_80", 10, 4, 1.25, 50, 8916),
    ("reclaimed_120", 13, 5, 1.1, None, 10467), ("reclaimed_120", 13, 5, 1.25, None, 11341),
    ("reclaimed_120", 13, 5, 1.25, 50, 11030), ("reclaimed_500", 14, 6, 1.25, None, 15693),
    ("reclaimed_500", 14, 6, 1.25, 50, 15686), ("reclaimed_500", 14, 6, 1.1, None, 15611),
    ("reclaimed_1000", 20, 7, 1.25, 50, 18401), ("reclaimed_20000", 14, 80, 1.25, None, 221162),
    ("reclaimed_20000", 14, 80, 1.25, 50, 220451), ("reclaimed_2000", 14, 80, 1.25, None, 182051),
]  # fmt: skip


def stock(name: str) -> CellTable:
    """One stored stock as a table of one model."""
    with (STOCKS / f"{name}.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return CellTable.of(
        [row["cell"] for row in rows],
        [float(row["capacity_mah"]) for row in rows],
        dcir_uohm=[float(row["dcir_mohm"]) * 1000 for row in rows],
        ocv_mv=[float(row["ocv_mv"]) for row in rows],
        lot=[row["lot"] for row in rows],
        model="A",
        chemistry="nmc",
        resistance_method="dc",
    )


def report(name: str, question: Question, known: str, iterations: int) -> None:
    """One line: pack, limits, bound, best known, reached, time of a first and of a second run."""
    table, times = stock(name), []
    for _ in range(2):
        start = perf_counter()
        answer = propose(table, question, iterations=iterations)
        times.append(f"{1000 * (perf_counter() - start):.0f}")
    verify(table, question, answer)
    limits = f"{question.max_resistance_ratio or '-'}/{question.ocv_window_mv or '-'}"
    sys.stdout.write(
        f"{name:16} {question.series}s{question.parallel}p {limits:8} B {answer.bound_mah:g}  known {known:12} "
        f"reached {answer.weakest_mah:g} / {answer.spread_mah:g}  {' then '.join(times)} ms\n"
    )


def main() -> None:
    """Run every stored question."""
    iterations = int(sys.argv[1]) if len(sys.argv) > 1 else DEFAULT_ITERATIONS
    for name, series, parallel, weakest, spread in WITHOUT_LIMIT:
        report(name, Question(series, parallel, capacity_window=None), f"{weakest} / {spread}", iterations)
    for name, series, parallel, ratio, volts, weakest in WITH_LIMITS:
        question = Question(series, parallel, capacity_window=None, max_resistance_ratio=ratio, ocv_window_mv=volts)
        report(name, question, str(weakest), iterations)


if __name__ == "__main__":
    main()
