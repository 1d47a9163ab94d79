"""Passes over long columns in pieces that stay in the cache: no copy of a column is made to look at it."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from packs.traces.series import Floats

PIECE = 1 << 16
Test = Callable[..., NDArray[np.bool_]]


def rows_where(test: Test, *columns: NDArray[np.generic]) -> NDArray[np.intp]:
    """Return the rows k, from 0, at which a test of rows k and k + 1 holds.

    Columns of [any] unit.

    Parameters
    ----------
    test : callable
        Takes one piece of each column, n + 1 long, and returns n truth values.

    References
    ----------
    Arithmetic.
    """
    found = []
    last = len(columns[0]) - 1
    for start in range(0, last, PIECE):
        stop = min(start + PIECE, last) + 1
        rows = np.flatnonzero(test(*(column[start:stop] for column in columns)))
        if len(rows):
            found.append(rows + start)
    return np.concatenate(found) if found else np.empty(0, dtype=np.intp)


def integrals(time: Floats, current: Floats, voltage: Floats) -> tuple[float, float]:
    """Return ∫ I dt [A·s] and ∫ V I dt [W·s] by the trapezoid rule.

    References
    ----------
    Arithmetic: the trapezoid rule.
    """
    charge = energy = 0.0
    for start in range(0, len(time) - 1, PIECE):
        piece = slice(start, min(start + PIECE, len(time) - 1) + 1)
        interval, amps = np.diff(time[piece]), current[piece]
        power = amps * voltage[piece]
        charge += float((interval * (amps[1:] + amps[:-1])).sum())
        energy += float((interval * (power[1:] + power[:-1])).sum())
    return charge / 2, energy / 2
