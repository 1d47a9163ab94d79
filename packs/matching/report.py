"""The figures of an answer: capacities, resistances, shares of current, what to level, what was limiting."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from packs.matching.answer import CurrentShare, Exclusion, Proposal
from packs.matching.levelling import to_level
from packs.matching.question import Question
from packs.matching.sure import fifth_percentile
from packs.matching.table import CAPACITY_STEPS_PER_MAH, BoolArray, CellTable, IntArray
from packs.network.parallel import in_parallel


def proposal(
    table: CellTable,
    question: Question,
    groups: IntArray | Sequence[IntArray],
    bound: int,
    sure_bound: float,
    least_used: int,
    limiting: tuple[str, ...],
    excluded: tuple[Exclusion, ...],
) -> Proposal:
    """Write down groups of table rows with all figures; bounds and `least_used` in steps of 0.1 mAh.

    Groups of unlike size come as a list of arrays and keep their places; others are put in order of their cells.

    Figures in [mAh], [mV], [µΩ].

    References
    ----------
    Kirchhoff's laws for sums in a group; arithmetic.
    """
    ordered = _in_order(table, groups)
    members = [np.array(group) for group in ordered]
    tenths = np.array([table.capacity_tenths[group].sum() for group in members])
    resistance = np.array([in_parallel(table.dcir_uohm[group]) for group in members])
    weakest = members[int(tenths.argmin())]
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
        pack_capacity_p5_mah=fifth_percentile([table.capacity_mah[group] for group in members], question.repeatability),
        weakest_repeats_mah=question.repeatability * float(np.sqrt((table.capacity_mah[weakest] ** 2).sum())),
        pack_capacity_p5_bound_mah=sure_bound / CAPACITY_STEPS_PER_MAH,
        worst_share=_worst_share(table, members),
        levelling=to_level(table, question, members),
        limiting=limiting,
        excluded=excluded,
    )


def _in_order(table: CellTable, groups: IntArray | Sequence[IntArray]) -> tuple[tuple[int, ...], ...]:
    """Cells of a group by code, groups by their first cell among those of their size: one way to write a deal down."""
    sorted_groups = [tuple(sorted(group.tolist(), key=lambda row: table.codes[row])) for group in groups]
    by_size: dict[int, list[tuple[int, ...]]] = {}
    for group in sorted(sorted_groups, key=lambda group: table.codes[group[0]], reverse=True):
        by_size.setdefault(len(group), []).append(group)
    return tuple(by_size[len(group)].pop() for group in sorted_groups)


def _mah(tenths: int) -> float:
    return tenths / CAPACITY_STEPS_PER_MAH


def _worst_share(table: CellTable, members: Sequence[IntArray]) -> CurrentShare | None:
    """Current divides as the conductances do (Kirchhoff), rest voltages being level; loaded most beside an even share."""
    conductance = [1.0 / table.dcir_uohm[group] for group in members]
    if any(np.isnan(group).any() for group in conductance):
        return None
    shares = [group / group.sum() for group in conductance]
    beside = [float(share.max()) * len(share) for share in shares]
    group = beside.index(max(beside))
    worst = int(shares[group].argmax())
    return CurrentShare(table.codes[members[group][worst]], float(shares[group][worst]), 1.0 / len(shares[group]))


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


def least_used(table: CellTable, question: Question, mask: BoolArray) -> int:
    """Capacity [steps of 0.1 mAh] that no pack as asked stays below: its places with the poorest cells, or what is required.

    References
    ----------
    Arithmetic.
    """
    poorest = sorted(table.capacity_tenths[mask].tolist())[: question.cells]
    return max(sum(poorest), question.series * question.required_tenths)
