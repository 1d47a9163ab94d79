"""Groups dealt by hand: the same figures, and which limit they do not keep."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from packs.errors import ImpossibleValue, Infeasible
from packs.matching import filters
from packs.matching.answer import Exclusion, Proposal
from packs.matching.levelling import to_level
from packs.matching.question import Question
from packs.matching.report import proposal
from packs.matching.table import CAPACITY_STEPS_PER_MAH, CellTable, IntArray
from packs.matching.verify import verify


def by_hand(
    table: CellTable,
    question: Question,
    groups: Sequence[Sequence[int]],
    bound_mah: float,
    *,
    level_mv: float | None = None,
) -> tuple[Proposal, str]:
    """Figures of groups that somebody dealt, and what of the question they do not keep ("" where they keep all).

    Parameters
    ----------
    table : CellTable
        Capacities [mAh], resistances [µΩ], voltages [mV].
    question : Question
    groups : sequence of sequence of int
        Rows of the table, series x parallel.
    bound_mah : float
        What no groups that keep the limits exceed; groups that break one may.
    level_mv : float, optional
        Where the groups rest that these come beside [mV].

    References
    ----------
    As ``report.proposal``: Kirchhoff's laws; checked by ``verify``.
    """
    dealt = np.array(groups, dtype=np.int64)
    weakest = int(table.capacity_tenths[dealt].sum(1).min())
    bound = max(round(bound_mah * CAPACITY_STEPS_PER_MAH), weakest)
    answer = proposal(
        table, question, dealt, bound, float(bound), 0, ("dealt by hand",), _left_out(table, question, dealt)
    )
    answer = replace(answer, levelling=to_level(table, question, list(dealt), level_mv))
    try:
        verify(table, question, answer, level_mv=level_mv)
    except ImpossibleValue as error:
        return answer, str(error)
    return answer, ""


def _left_out(table: CellTable, question: Question, dealt: IntArray) -> tuple[Exclusion, ...]:
    """Who could not take part beside the cells that were dealt."""
    try:
        mask, excluded = filters.usable(table, question)
    except Infeasible:
        return ()
    used = set(dealt.ravel().tolist())
    kinds = (kind for kind in filters.kinds(table, question, mask) if used <= set(kind.rows.tolist()))
    kind = next(kinds, None)
    return excluded if kind is None else excluded + filters.others(table, mask, kind)
