"""From a solution of the program, in fractions of cells, to groups of whole cells."""

from __future__ import annotations

import numpy as np

from packs.matching.construct import differencing
from packs.matching.deal import Candidates, Limits
from packs.matching.program import Dealt
from packs.matching.table import BoolArray, FloatArray, IntArray
from packs.matching.windows import axes


def rounded(cells: Candidates, limits: Limits, dealt: Dealt) -> IntArray | None:
    """Groups in the windows of the solution, each of the cells with the largest shares there; None if some fail.

    The shares decide which cells a window gets; cells left over, strongest first, fill what is missing. The cells of
    one window are dealt evenly into its groups. Capacities [steps of 0.1 mAh].

    References
    ----------
    Derived here: shares of a linear program, rounded.
    """
    inside = _exact_windows(cells, limits, dealt)
    wanted = dealt.groups * limits.parallel
    home = _assigned(np.where(inside, dealt.share, 0.0), wanted)
    if not _filled(home, inside, wanted):
        return None
    groups = [
        differencing(cells, np.flatnonzero(home == window), int(many)) for window, many in enumerate(dealt.groups)
    ]
    found = np.concatenate(groups)
    used = np.zeros(len(cells.rows), dtype=np.bool_)
    used[found] = True
    return found if bool(limits.keep(cells, found).all()) and bool(used[cells.forced].all()) else None


def _exact_windows(cells: Candidates, limits: Limits, dealt: Dealt) -> BoolArray:
    """Where windows were joined to wider ones: the part of each that keeps the limits and holds the most shares."""
    inside = dealt.member.copy()
    for values, ends in axes(cells, limits):
        order = np.argsort(values, kind="stable")
        end = np.searchsorted(values[order], ends[order], side="right")
        for window in range(len(inside)):
            member = inside[window]
            if values[member].max() <= ends[member].min():
                continue
            weight = np.concatenate([[0.0], np.cumsum(np.where(member, dealt.share[window], 0.0)[order])])
            start = int((weight[end] - weight[: len(order)]).argmax())
            low, high = values[order[start]], ends[order[start]]
            inside[window] &= (values >= low) & (values <= high)
    return inside


def _assigned(share: FloatArray, wanted: IntArray) -> IntArray:
    """The window of each cell, -1 for none: largest shares first, no window above what it wants."""
    home = np.full(share.shape[1], -1, dtype=np.int64)
    left = wanted.copy()
    window, cell = np.nonzero(share > 1e-6)
    order = np.argsort(-share[window, cell], kind="stable")
    for here, one in zip(window[order].tolist(), cell[order].tolist(), strict=True):
        if left[here] and home[one] < 0:
            home[one] = here
            left[here] -= 1
    return home


def _filled(home: IntArray, inside: BoolArray, wanted: IntArray) -> bool:
    """Give the windows that lack cells the strongest free ones; False where there are not enough."""
    for window in np.argsort(inside.sum(1), kind="stable").tolist():
        lacking = int(wanted[window] - (home == window).sum())
        free = np.flatnonzero((home < 0) & inside[window])
        if len(free) < lacking:
            return False
        home[free[:lacking]] = window
    return True
