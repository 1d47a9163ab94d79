"""What the tests leave open: the capacity that a pack falls short of in one case of twenty, and its upper bound."""

from __future__ import annotations

from collections.abc import Sequence
from math import erfc, sqrt
from statistics import NormalDist

import numpy as np

from packs.matching.table import FloatArray, IntArray

ONE_IN_TWENTY = 0.05
_BISECTIONS = 60


def fifth_percentile(capacity_mah: FloatArray | Sequence[FloatArray], repeatability: float) -> float:
    """Capacity of the pack [mAh] that it falls short of in one case of twenty.

    Parameters
    ----------
    capacity_mah : array of float, shape (series, parallel), or one array per group
        Measured capacities, each with an independent normal error.
    repeatability : float
        Standard deviation of a test as a share of the capacity.

    Notes
    -----
    The smallest of independent sums: ``P(pack > x) = prod_g P(group g > x)``, solved for 0.95 by bisection.

    References
    ----------
    Distribution of the smallest of independent variables: H. A. David, H. N. Nagaraja, "Order Statistics", 3rd ed.,
    Wiley 2003, section 2.1, from memory.

    Examples
    --------
    One group has the 5th percentile of the normal distribution, 1.645 standard deviations below:

    >>> round(fifth_percentile(np.array([[2000.0]]), 0.005), 2)
    1983.55
    """
    mean = np.array([group.sum() for group in capacity_mah])
    deviation = repeatability * np.sqrt([(group**2).sum() for group in capacity_mah])
    if repeatability == 0:
        return float(mean.min())
    low, high = float((mean - 10 * deviation).min()), float(mean.min())
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        above = np.prod([erfc(z / sqrt(2)) / 2 for z in ((middle - mean) / deviation).tolist()])
        low, high = (middle, high) if above > 1 - ONE_IN_TWENTY else (low, middle)
    return low


def fifth_percentile_bound(
    capacity: IntArray, sizes: Sequence[int], repeatability: float, forced: IntArray | None = None
) -> float:
    """Upper bound on the 5th percentile of the pack, whatever the arrangement, in the unit of `capacity` [0.1 mAh].

    Parameters
    ----------
    capacity : array of int, shape (n,)
        Capacities of the usable cells, at least as many as places.
    sizes : sequence of int, length series
        Cells per group.
    repeatability : float
        As for ``fifth_percentile``.
    forced : array of int, optional
        Positions in `capacity` of cells that must be used.

    Notes
    -----
    At the 5th percentile `x` every group's mean `m` lies above `x`. Of p cells its deviation is at least
    ``r m / sqrt(p)``, by the mean of squares, so that it holds `x` with a probability of at most
    ``F((1 - x / m) sqrt(p) / r)``, F the normal distribution. The logarithm of that is concave in `m`: for a given sum
    of the means the product over the groups is greatest where they are equal. The `j` largest cells lie in at most
    `j` groups; the others share the largest that follow, for every `j`, and hold at least as surely as all.

    References
    ----------
    Derived here; Order Statistics for the product, Jensen's inequality for the equal means.
    """
    places = sum(sizes)
    best = np.sort(capacity)[::-1][:places]
    if forced is not None and len(forced):
        others = np.sort(np.delete(capacity, forced))[::-1][: places - len(forced)]
        best = np.sort(np.concatenate([capacity[forced], others]))[::-1]
    total = np.concatenate([[0], np.cumsum(best)])
    largest = np.concatenate([[0], np.cumsum(sorted(sizes, reverse=True))])
    bounds = [
        _equal_groups(
            float(total[min(skipped + largest[left], places)] - total[skipped]) / left, left, sizes, repeatability
        )
        for skipped, left in ((len(sizes) - left, left) for left in range(1, len(sizes) + 1))
    ]
    return min(bounds)


def _equal_groups(mean: float, groups: int, sizes: Sequence[int], repeatability: float) -> float:
    """5th percentile of equal groups whose errors are as small as they can be."""
    away = NormalDist().inv_cdf((1 - ONE_IN_TWENTY) ** (1 / groups))
    return mean * max(0.0, 1 - away * repeatability / sqrt(max(sizes)))


def held_bound(weakest: float, sizes: Sequence[int], repeatability: float) -> float:
    """Upper bound on the 5th percentile where no weakest group lies above `weakest`, in its unit [0.1 mAh].

    References
    ----------
    Derived here, as ``fifth_percentile_bound`` for the weakest group alone.
    """
    return _equal_groups(weakest, 1, sizes, repeatability)
