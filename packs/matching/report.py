"""The figures of an answer: capacities, resistances, shares of current, what to level, what was limiting."""

from __future__ import annotations

from collections import Counter
from math import erfc, sqrt

import numpy as np

from packs.matching.answer import CurrentShare, Exclusion, Proposal
from packs.matching.levelling import levelling
from packs.matching.question import Question
from packs.matching.table import CAPACITY_STEPS_PER_MAH, CellTable, FloatArray, IntArray

_ONE_IN_TWENTY = 0.05
_BISECTIONS = 60


def proposal(
    table: CellTable,
    question: Question,
    groups: IntArray,
    bound: int,
    least_used: int,
    limiting: tuple[str, ...],
    excluded: tuple[Exclusion, ...],
) -> Proposal:
    """Write down groups of table rows with all figures; `bound` and `least_used` in steps of 0.1 mAh.

    Figures in [mAh], [mV], [µΩ].

    References
    ----------
    Kirchhoff's laws for sums in a group; arithmetic.
    """
    ordered = _in_order(table, groups)
    members = np.array(ordered)
    tenths = table.capacity_tenths[members].sum(1)
    with np.errstate(invalid="ignore"):
        resistance = 1.0 / (1.0 / table.dcir_uohm[members]).sum(1)
    return Proposal(
        groups=ordered,
        group_capacity_mah=tuple(_mah(value) for value in tenths.tolist()),
        group_resistance_uohm=tuple(resistance.tolist()),
        weakest_mah=_mah(int(tenths.min())),
        spread_mah=_mah(int(np.ptp(tenths))),
        resistance_spread_uohm=float(np.ptp(resistance)),
        bound_mah=_mah(bound),
        used_mah=_mah(int(tenths.sum())),
        least_used_mah=_mah(least_used),
        pack_capacity_p5_mah=fifth_percentile(table.capacity_mah[members], question.repeatability),
        worst_share=_worst_share(table, members),
        levelling=levelling(table, question, ordered),
        limiting=limiting,
        excluded=excluded,
    )


def _in_order(table: CellTable, groups: IntArray) -> tuple[tuple[int, ...], ...]:
    """Cells of a group by code, groups by their first cell: a deal has one way to be written down."""
    sorted_groups = [tuple(sorted(group, key=lambda row: table.codes[row])) for group in groups.tolist()]
    return tuple(sorted(sorted_groups, key=lambda group: table.codes[group[0]]))


def _mah(tenths: int) -> float:
    return tenths / CAPACITY_STEPS_PER_MAH


def fifth_percentile(capacity_mah: FloatArray, repeatability: float) -> float:
    """Capacity of the pack [mAh] that it falls short of in one case of twenty.

    Parameters
    ----------
    capacity_mah : array of float, shape (series, parallel)
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
    mean = capacity_mah.sum(1)
    deviation = repeatability * np.sqrt((capacity_mah**2).sum(1))
    if repeatability == 0:
        return float(mean.min())
    low, high = float((mean - 10 * deviation).min()), float(mean.min())
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        above = np.prod([erfc(z / sqrt(2)) / 2 for z in ((middle - mean) / deviation).tolist()])
        low, high = (middle, high) if above > 1 - _ONE_IN_TWENTY else (low, middle)
    return low


def _worst_share(table: CellTable, members: IntArray) -> CurrentShare | None:
    """Current divides as the conductances do (Kirchhoff), rest voltages being level."""
    conductance = 1.0 / table.dcir_uohm[members]
    if np.isnan(conductance).any():
        return None
    share = conductance / conductance.sum(1, keepdims=True)
    worst = int(share.argmax())
    return CurrentShare(table.codes[members.ravel()[worst]], float(share.ravel()[worst]), 1.0 / members.shape[1])


def limiting(blocked: Counter[str], plain: int, weakest: int) -> tuple[str, ...]:
    """What kept the weakest group from being stronger: limits by how many better cells they kept out of it.

    ``plain`` and ``weakest`` [steps of 0.1 mAh].

    References
    ----------
    Derived here: a count of what was barred.
    """
    if weakest >= plain or not blocked:
        return ("capacity of the cells",)
    return tuple(name for name, _ in sorted(blocked.items(), key=lambda item: (-item[1], item[0])))
