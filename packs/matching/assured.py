"""Groups whose 5th percentile under the tests' repeatability is as high as can be."""

from __future__ import annotations

from collections.abc import Sequence
from math import comb, log
from random import Random

import numpy as np

from packs.matching.deal import FREE
from packs.matching.exhaustive import Chosen, Deals, TooMany, all_ways, groups_of
from packs.matching.mixed import Mixed
from packs.matching.moves import choices
from packs.matching.parts import Part
from packs.matching.sure import ONE_IN_TWENTY, fifth_percentile
from packs.matching.table import FloatArray, IntArray

_ENOUGH = log(1 - ONE_IN_TWENTY)
_BETTER = 1e-9
_REDEALT = 1000
_PAIRS = 24_000
_LOOKED_AT = 64


def assured(
    part: Part, starts: Sequence[IntArray], repeatability: float, rnd: Random, moves: int
) -> tuple[IntArray, float | None]:
    """Raise the 5th percentile of a pack by changes of cells; small packs by trying every deal.

    Capacities [steps].

    Returns
    -------
    groups : array of int, shape (groups, parallel)
    bound : float or None
        The highest 5th percentile there is, where every deal was tried.

    Notes
    -----
    At the 5th percentile `x` of a deal the logarithms of ``P(group > x)`` add up to log 0.95. A change that raises
    their sum at the same `x` raises the percentile, so that changes are judged at a fixed `x`, group by group.

    References
    ----------
    Derived here; Order Statistics for the product.
    """
    found = [_climbed(part, groups, repeatability, rnd, moves) for groups in starts]
    best = max(found, key=lambda groups: _percentile(part, groups, repeatability))
    tried = _tried(part, best, repeatability)
    return (best, None) if tried is None else (tried, _percentile(part, tried, repeatability))


def _percentile(part: Part, groups: IntArray, repeatability: float) -> float:
    return fifth_percentile(part.cells.capacity[groups].astype(np.float64), repeatability)


def _held(mean: FloatArray | IntArray, squares: FloatArray | IntArray, at: float, repeatability: float) -> FloatArray:
    """Logarithm of the probability that a group holds a capacity [steps], from its sum and its sum of squares."""
    from scipy.special import log_ndtr

    result: FloatArray = log_ndtr((mean - at) / (repeatability * np.sqrt(squares)))
    return result


def _climbed(part: Part, groups: IntArray, repeatability: float, rnd: Random, moves: int) -> IntArray:
    """Best change of two cells, again and again; where none helps, two groups dealt anew; until nothing helps."""
    deal = Mixed([part], [groups])
    for _ in range(moves):
        at = _percentile(part, deal.by_part()[0], repeatability)
        if not (_swapped(deal, at, repeatability, rnd) or _redealt(deal, at, repeatability)):
            break
    return deal.by_part()[0]


def _swapped(deal: Mixed, at: float, repeatability: float, rnd: Random) -> bool:
    """Make the change of two cells that raises the sum of logarithms most; False where none does."""
    capacity = deal.capacity.astype(np.float64)
    squares = np.array([(capacity[group] ** 2).sum() for group in deal.groups])
    before = _held(deal.sums, squares, at, repeatability)
    gains: list[tuple[float, int, int]] = []
    for group, places in enumerate(deal.groups):
        others = _sampled(deal, group, rnd)
        gain = capacity[others][None, :] - capacity[places][:, None]
        square = capacity[others][None, :] ** 2 - capacity[places][:, None] ** 2
        better = _held(deal.sums[group] + gain, squares[group] + square, at, repeatability) - before[group]
        homes = deal.home[others]
        dealt = homes != FREE
        there = homes[dealt]
        better[:, dealt] += _held(
            deal.sums[there] - gain[:, dealt], squares[there] - square[:, dealt], at, repeatability
        )
        better[:, dealt] -= before[there]
        better[np.ix_(deal.parts[0].cells.forced[places], ~dealt)] = -np.inf
        flat = better.ravel()
        for best in np.argsort(-flat, kind="stable")[:_LOOKED_AT].tolist():
            if flat[best] <= _BETTER:
                break
            gains.append((-float(flat[best]), int(places[best // len(others)]), int(others[best % len(others)])))
    for _, out, into in sorted(gains):
        if _keeps(deal, out, into):
            deal.swap(out, into)
            return True
    return False


def _sampled(deal: Mixed, group: int, rnd: Random) -> IntArray:
    """Cells that may come into a group: free ones and those of later groups, so that each pair is looked at once."""
    others = np.flatnonzero(((deal.home == FREE) | (deal.home > group)) & deal.parts[0].allowed)
    most = max(1, _PAIRS // len(deal.groups[group]))
    if len(others) <= most:
        return others
    return others[np.array(sorted(rnd.sample(range(len(others)), most)))]


def _keeps(deal: Mixed, out: int, into: int) -> bool:
    here, there = int(deal.home[out]), int(deal.home[into])
    own = np.where(deal.groups[here] == out, into, deal.groups[here])
    if not deal.keeps(here, own[None, :])[0]:
        return False
    if there == FREE:
        return True
    return bool(deal.keeps(there, np.where(deal.groups[there] == into, out, deal.groups[there])[None, :])[0])


def _redealt(deal: Mixed, at: float, repeatability: float) -> bool:
    """Deal the least sure group anew with another one where that raises the sum of logarithms; False where none does."""
    size = deal.parts[0].parallel
    if comb(2 * size, size) > _REDEALT:
        return False
    capacity = deal.capacity.astype(np.float64)
    squares = np.array([(capacity[group] ** 2).sum() for group in deal.groups])
    one = int(_held(deal.sums, squares, at, repeatability).argmin())
    taken, left, member = choices(2 * size, size)
    for other in range(len(deal.groups)):
        if other == one:
            continue
        pool = np.concatenate([deal.groups[one], deal.groups[other]])
        sums, square = capacity[pool] @ member, capacity[pool] ** 2 @ member
        rest, rest_square = capacity[pool].sum() - sums, (capacity[pool] ** 2).sum() - square
        held = _held(sums, square, at, repeatability) + _held(rest, rest_square, at, repeatability)
        now = _held(deal.sums[[one, other]], squares[[one, other]], at, repeatability).sum()
        for way in np.argsort(-held, kind="stable")[:_LOOKED_AT].tolist():
            if held[way] <= now + _BETTER:
                break
            if deal.keeps(one, pool[taken[way]][None, :])[0] and deal.keeps(other, pool[left[way]][None, :])[0]:
                deal.put(one, pool[taken[way]])
                deal.put(other, pool[left[way]])
                return True
    return False


def _tried(part: Part, best: IntArray, repeatability: float) -> IntArray | None:
    """The deal of the highest percentile by trying all; None where there are too many."""
    ways = all_ways([part])
    if ways is None:
        return None
    squares = (part.cells.capacity[ways[0].members].astype(np.float64) ** 2).sum(1)
    sums = np.array(ways[0].sums, dtype=np.float64)
    kept = best
    held: FloatArray = np.zeros(0)

    def judge(groups: IntArray) -> None:
        nonlocal kept, held
        kept = groups
        held = _held(sums, squares, _percentile(part, groups, repeatability), repeatability)

    def follow(deal: Chosen) -> bool:
        return sum(float(held[way]) for _, way in deal) > _ENOUGH + _BETTER

    def keep(deal: Chosen) -> None:
        judge(groups_of([part], ways, deal)[0])

    judge(best)
    try:
        Deals([part], ways, follow, keep).walk()
    except TooMany:
        return None
    return kept
