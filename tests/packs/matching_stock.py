"""Small invented stocks for matching, and every deal of one written out from the definition."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

import numpy as np

from packs.matching import CellTable, Question

Columns = tuple[list[int], list[int], list[int]]
Group = tuple[int, ...]


def stock_of(seed: int, count: int) -> Columns:
    """Reclaimed cells, invented: capacity falls as resistance rises; mAh, µΩ and mV."""
    rng = np.random.default_rng(seed)
    capacity = rng.integers(1500, 2600, count)
    ohm = np.rint(90_000 - 25 * capacity + rng.normal(0, 3000, count)).clip(10_000).astype(int)
    return capacity.tolist(), ohm.tolist(), rng.integers(3550, 3650, count).tolist()


def table_of(columns: Columns, **others: Any) -> CellTable:
    """The stock as a table, cells C000, C001 and so on."""
    capacity, ohm, volt = columns
    names = {"model": "A", "chemistry": "nmc", "resistance_method": "dc"} | others
    codes = names.pop("codes", [f"C{number:03}" for number in range(len(capacity))])
    return CellTable.of(codes, capacity, dcir_uohm=ohm, ocv_mv=volt, **names)


def keeps(group: Sequence[int], columns: Columns, question: Question) -> bool:
    """Limits of a group, written out in floats from their definitions."""
    capacity, ohm, volt = ([column[cell] for cell in group] for column in columns)
    mean = sum(capacity) / len(group)
    ratio, window, band = question.max_resistance_ratio, question.capacity_window, question.ocv_window_mv
    return len(group) == 1 or (
        (ratio is None or max(ohm) <= ratio * min(ohm) * (1 + 1e-12))
        and (band is None or max(volt) - min(volt) <= band)
        and (window is None or all(abs(value - mean) <= window * mean * (1 + 1e-12) for value in capacity))
    )


def deals(cells: Sequence[int], sizes: Sequence[int]) -> Iterator[tuple[Group, ...]]:
    """Every way to take groups of these sizes; groups of one size that follow each other in order of their first cell."""
    if not sizes:
        yield ()
        return
    for group in combinations(cells, sizes[0]):
        left = [cell for cell in cells if cell not in group]
        for rest in deals(left, sizes[1:]):
            if not rest or len(rest[0]) != len(group) or rest[0][0] > group[0]:
                yield (group, *rest)


LIMITS: list[dict[str, float | None]] = [
    {"capacity_window": None},
    {"capacity_window": None, "max_resistance_ratio": 1.3},
    {"capacity_window": None, "ocv_window_mv": 55.0},
    {"capacity_window": 0.12},
    {"capacity_window": 0.2, "max_resistance_ratio": 1.5, "ocv_window_mv": 70.0},
]
NAMES = ["none", "ratio", "voltage", "window", "all"]
