"""Groups dealt by hand: the same figures, and which limit they do not keep."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from packs.errors import ImpossibleValue
from packs.matching.answer import Proposal
from packs.matching.question import Question
from packs.matching.report import proposal
from packs.matching.table import CAPACITY_STEPS_PER_MAH, CellTable
from packs.matching.verify import verify


def by_hand(
    table: CellTable, question: Question, groups: Sequence[Sequence[int]], bound_mah: float
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

    References
    ----------
    As ``report.proposal``: Kirchhoff's laws; checked by ``verify``.
    """
    dealt = np.array(groups, dtype=np.int64)
    weakest = int(table.capacity_tenths[dealt].sum(1).min())
    bound = max(round(bound_mah * CAPACITY_STEPS_PER_MAH), weakest)
    answer = proposal(table, question, dealt, bound, float(bound), 0, ("dealt by hand",), ())
    try:
        verify(table, question, answer)
    except ImpossibleValue as error:
        return answer, str(error)
    return answer, ""
