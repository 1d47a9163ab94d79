"""Weakest group, spread and time of the matching on the stored stocks, beside the best known; run by hand.

Each goal is compared at the end with what was reached. HiGHS is asked without limits only ("-" elsewhere): the limits
within a group are not linear, and written out for it they are too many.

``SHARED_DATA=../shared/data python tests/benchmarks/bench_matching.py --solvers 60`` from the root of the repository.
"""

import argparse
import csv
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from packs.matching import CellTable, Proposal, Question, advise, answers, verify
from tests.benchmarks.solvers import cp_sat, highs

ROOT = Path(__file__).resolve().parents[2]
EARLY = 0.05
"""Seconds after which the first answer is judged."""
SHOP_SIZE = 1000
"""Cells up to which the general solvers are asked: written out for more, their models alone take minutes."""
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


def random_stock(seed: int) -> tuple[CellTable, Question]:
    """A seeded stock of shop size: 8s5p to 20s7p out of at least 1.2 times as many cells, one lot or reclaimed."""
    rng = np.random.default_rng(seed)
    series, parallel = int(rng.integers(8, 21)), int(rng.integers(5, 8))
    count = int(rng.integers(-(-12 * series * parallel // 10), 1001))
    mean, share = (2900, 0.007) if seed % 2 else (2300, 0.12)
    capacity = np.rint(rng.normal(mean, share * mean, count).clip(1000))
    ohm = np.rint(60_000 - 12 * capacity + rng.normal(0, 2000, count)).clip(10_000)
    codes = [f"R{number:05}" for number in range(count)]
    table = CellTable.of(codes, capacity, dcir_uohm=ohm, model="A", chemistry="nmc", resistance_method="dc")
    return table, Question(series, parallel, capacity_window=None)


def say(line: str) -> None:
    """Write one line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


@dataclass(frozen=True)
class Reached:
    """What one question came to: its weakest group after 50 ms below the last bound, and the last answer."""

    question: Question
    cells: int
    early_percent: float
    answer: Proposal
    seconds: float

    @property
    def limited(self) -> bool:
        """Whether a ratio or a voltage window was asked."""
        return self.question.max_resistance_ratio is not None or self.question.ocv_window_mv is not None

    @property
    def resistances_percent(self) -> float:
        """How far the group resistances lie apart."""
        return 100 * self.answer.resistance_spread_uohm / min(self.answer.group_resistance_uohm)


def report(name: str, question: Question, known: tuple[int, int | None], seconds: float, beside: float) -> Reached:
    """One line: pack, limits, first answer, last answer within the seconds given, distance from the best known."""
    table, start = stock(name), perf_counter()
    found = []
    for answer in answers(table, question, clock=perf_counter, deadline=start + seconds):
        found.append((perf_counter() - start, answer))
    last = found[-1][1]
    verify(table, question, last)
    first = f"{1000 * found[0][0]:.0f} ms {100 * (1 - found[0][1].weakest_mah / last.bound_mah):.2f} % below the bound"
    limits = f"{question.max_resistance_ratio or '-'}/{question.ocv_window_mv or '-'}"
    short = max(0.0, known[0] - last.weakest_mah)
    wide = 0.0 if known[1] is None else max(0.0, last.spread_mah - known[1])
    say(
        f"{name:16} {question.series}s{question.parallel}p {limits:8} first {first}; then {last.weakest_mah:g} / "
        f"{last.spread_mah:g} of {last.bound_mah:g}, gap {last.gap_percent:.3f} %, {1000 * found[-1][0]:.0f} ms; "
        f"short of the best known by {short:g} mAh, spread wider by {wide:g} mAh, "
        f"resistances {100 * last.resistance_spread_uohm / min(last.group_resistance_uohm):.2f} % apart"
    )
    if beside and len(table) <= SHOP_SIZE:
        limited = question.max_resistance_ratio is not None or question.ocv_window_mv is not None
        say(f"    CP-SAT {cp_sat(table, question, beside)}; HiGHS {'-' if limited else highs(table, question, beside)}")
    early = max((answer.weakest_mah for at, answer in found if at <= EARLY), default=0.0)
    return Reached(question, len(table), 100 * (1 - early / last.bound_mah), last, seconds)


def goals(reached: Sequence[Reached]) -> None:
    """Each goal beside what was reached; sizes of a shop are packs up to 20s7p from up to 1,000 cells."""
    shop = [one for one in reached if one.cells <= SHOP_SIZE and one.question.parallel <= 7]
    limited = [one for one in shop if one.limited]
    gaps = [one.answer.gap_percent for one in limited]
    narrow = [one.answer.gap_mah for one in reached if one.question.parallel in (3, 4) and not one.limited]
    wide = [one.resistances_percent for one in reached if one.question.parallel >= 6 and not one.limited]
    early = [one.early_percent for one in limited]
    _goal("under limits, after 50 ms below the final bound, worst", max(early), 1.0, "%")
    _goal(f"under limits, certified gap after {limited[0].seconds:g} s, median", float(np.median(gaps)), 0.05, "%")
    _goal(f"under limits, certified gap after {limited[0].seconds:g} s, worst", max(gaps), 0.5, "%")
    _goal("parallel 3 and 4 without limits, below the bound, worst", max(narrow), 2.0, "mAh")
    _goal("parallel 6 and more without limits, group resistances apart, worst", max(wide), 0.5, "%")


def _goal(name: str, reached: float, goal: float, unit: str) -> None:
    met = "met" if reached <= goal else f"missed by {reached - goal:.3g} {unit}"
    say(f"{name}: {reached:.3g} {unit} (goal {goal:g} {unit}): {met}")


def random_goal(many: int) -> None:
    """Goal: on every random stock the weakest group at least bound - 1 mAh, and the time until the first such answer."""
    gaps, times = [], []
    for seed in range(many):
        table, question = random_stock(seed)
        start = perf_counter()
        for answer in answers(table, question):
            if answer.gap_mah <= 1:
                break
        gaps.append(answer.gap_mah)
        times.append(1000 * (perf_counter() - start))
    say(
        f"{many} random stocks: {sum(gap > 1 for gap in gaps)} above 1 mAh, largest gap {max(gaps):g} mAh (goal 1); "
        f"median {np.median(times):.0f} ms (goal 20), 95th percentile {np.percentile(times, 95):.0f} ms (goal 50)"
    )


# Stock, series, parallel, resistance ratio, voltage window [mV]: without an answer, shared/data/matching/README.md.
WITHOUT_ANSWER = [
    ("reclaimed_40", 10, 4, 1.1, None), ("reclaimed_40", 10, 4, None, 40), ("reclaimed_40", 10, 4, 1.25, 50),
    ("reclaimed_65", 13, 5, 1.25, 50), ("reclaimed_65", 13, 5, 1.5, 50), ("reclaimed_84", 14, 6, 1.25, 50),
    ("reclaimed_84", 14, 6, 1.4, 50),
]  # fmt: skip


def advice_goal() -> None:
    """Goal: what would do where nothing fits is told within 100 ms under one limit, within 1 s under two."""
    for name, series, parallel, ratio, volts in WITHOUT_ANSWER:
        question = Question(
            series, parallel, capacity_window=None, max_drift_mv=None, max_resistance_ratio=ratio, ocv_window_mv=volts
        )
        table, start = stock(name), perf_counter()
        advice = advise(table, question)
        goal = 1000 if ratio and volts else 100
        say(
            f"{name:16} {series}s{parallel}p {ratio or '-'}/{volts or '-'}: at most {advice.most} groups, "
            f"{', '.join(f'{one.asked} {one.does}' for one in advice.relaxations)}; {len(advice.levelling)} to level, "
            f"{advice.to_buy} to buy; {1000 * (perf_counter() - start):.0f} ms (goal {goal})"
        )


def main() -> None:
    """Run every stored question, then the random ones."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--seconds", type=float, default=1.0, help="deadline of each answer")
    words.add_argument("--solvers", type=float, default=0.0, help="seconds for each general solver; 0 leaves them out")
    words.add_argument("--random", type=int, default=1000, help="random stocks")
    asked = words.parse_args()
    reached = []
    for name, series, parallel, ratio, volts, weakest in WITH_LIMITS:
        question = Question(series, parallel, capacity_window=None, max_resistance_ratio=ratio, ocv_window_mv=volts)
        reached.append(report(name, question, (weakest, None), asked.seconds, asked.solvers))
    for name, series, parallel, weakest, spread in WITHOUT_LIMIT:
        question = Question(series, parallel, capacity_window=None)
        reached.append(report(name, question, (weakest, spread), asked.seconds, asked.solvers))
    goals(reached)
    random_goal(asked.random)
    advice_goal()


if __name__ == "__main__":
    main()
