"""What no arrangement can exceed: upper bounds on the weakest group's capacity, in exact integers."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from packs.matching.table import IntArray


def weakest_group_bound(
    capacity: IntArray, series: int, parallel: int, forced: IntArray | None = None, window: Fraction | None = None
) -> int:
    """Upper bound on the capacity of the weakest group, whatever the arrangement.

    Parameters
    ----------
    capacity : array of int, shape (n,)
        Capacities of the usable cells, in any one unit [0.1 mAh]; at least ``series * parallel`` of them.
    series, parallel : int
    forced : array of int, optional
        Positions in `capacity` of cells that must be used.
    window : Fraction, optional
        How far a cell may lie from the mean of its group, as a share of that mean.

    Returns
    -------
    int
        In the unit of `capacity`. Exact for one or two cells in parallel and no further limit.

    Notes
    -----
    The forced cells and the largest others dominate every other selection cell by cell, so it is enough to bound
    that one. Its `j` largest cells lie in at most `j` groups; the other ``series - j`` groups, all at least as large
    as the weakest, share what is left: their mean bounds the weakest, for every `j` (`j` = 0 is the plain mean, the
    last `j` with one cell in parallel the smallest cell). Two in parallel: pairing largest with smallest is the
    best bottleneck pairing, by exchange. A sum of multiples of a common step is a multiple of that step.
    Limits within a group only take arrangements away, so the bound stays valid under them. Under a capacity window
    w the smallest cell of a selection, at most as large as that of the dominating one, is at least (1 - w) times the
    mean of its group: that group holds at most `parallel` times the smallest over (1 - w).

    References
    ----------
    Derived here; the mean bound is the usual one of number partitioning, see W. Michiels, E. Aarts, J. Korst,
    J. van Leeuwen, F. Spieksma, "Computer-assisted proof of performance ratios for the differencing method",
    Discrete Optimization 9 (2012) 1-16.
    """
    best = _dominating(capacity, series * parallel, forced)
    step = int(np.gcd.reduce(capacity))
    limit = _pairing(best) if parallel == 2 else int(_shared_means(best, series, parallel).min())
    if window is not None and parallel > 1:
        limit = min(limit, int(parallel * int(best[-1]) / (1 - window)))
    return limit // step * step


def apart(capacity: IntArray, series: int, parallel: int) -> int:
    """How many of the largest cells are so large that they take a group each out of the even share.

    Beside the smallest cells each of their groups is still above the mean of the others: the weakest group is as
    strong as can be where the smallest cells stand with them. Capacities [0.1 mAh], descending.

    References
    ----------
    Derived here: the number of large cells at which the bound of ``weakest_group_bound`` is least.
    """
    return int(_shared_means(capacity, series, parallel).argmin())


def _dominating(capacity: IntArray, cells: int, forced: IntArray | None) -> IntArray:
    """Capacities, descending, of the forced cells and the largest others."""
    if forced is None or not len(forced):
        return np.sort(capacity)[::-1][:cells]
    others = np.sort(np.delete(capacity, forced))[::-1][: cells - len(forced)]
    return np.sort(np.concatenate([capacity[forced], others]))[::-1]


def _pairing(best: IntArray) -> int:
    return int((best + best[::-1]).min())


def _shared_means(best: IntArray, series: int, parallel: int) -> IntArray:
    """Mean of the other groups, rounded down, when the largest none, one, two ... cells have left, shape (series,)."""
    total = np.concatenate([[0], np.cumsum(best)])
    skipped = np.arange(series)
    shares = series - skipped
    return (total[skipped + shares * parallel] - total[skipped]) // shares
