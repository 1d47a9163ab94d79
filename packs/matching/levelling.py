"""What is brought where before anything is joined: every cell has one target."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from packs.matching.answer import Levelling, LevelTo

if TYPE_CHECKING:
    from packs.matching.question import Question
    from packs.matching.table import CellTable, FloatArray, IntArray

# Rest voltage of these says too little about the charge; they are levelled by charge.
_FLAT = ("lfp",)


def level_by(table: CellTable, members: Sequence[IntArray]) -> LevelTo:
    """Whether cells are levelled to a voltage [mV], or to equal charge because theirs says too little about it.

    References
    ----------
    Common practice, no source: lithium iron phosphate has a flat curve.
    """
    flat = any(table.chemistry[row] in _FLAT for group in members for row in group.tolist())
    return LevelTo.CHARGE if flat else LevelTo.VOLTAGE


def to_level(
    table: CellTable, question: Question, members: Sequence[IntArray], level_mv: float | None = None
) -> tuple[Levelling, ...]:
    """Return which cells, or whole groups, are brought to which rest voltage before they are joined [mV].

    A group that rests too far from the others goes to the middle of all groups, or to ``level_mv``, and every cell of
    it straight there; else a cell that rests too far from its own group goes to the middle of that.

    Parameters
    ----------
    table : CellTable
        Cells with their rest voltages [mV].
    question : Question
        How far they may rest apart [mV].
    members : sequence of array of int
        Rows of the table, group by group.
    level_mv : float, optional
        Where the rest of the pack rests, if these groups come beside others [mV].

    References
    ----------
    Common practice, no source: half of what may stay is kept in hand.
    """
    within, to = question.level_within_mv, level_by(table, members)
    goal = _common([float(np.median(table.ocv_mv[rows])) for rows in members], within, level_mv)
    return tuple(
        Levelling(number, code, rest, to, target if to is LevelTo.VOLTAGE else None)
        for number, rows in enumerate(members, start=1)
        for code, rest, target in _of_group(table, rows, within, goal)
    )


def _common(middles: list[float], within: float, level_mv: float | None) -> float | None:
    """Return where groups are brought that lie apart; None where they lie close enough."""
    if level_mv is not None:
        return level_mv if any(abs(middle - level_mv) > within for middle in middles) else None
    return round(float(np.median(middles)), 3) if np.ptp(middles) > within else None


def _of_group(
    table: CellTable, rows: IntArray, within: float, common: float | None
) -> Iterator[tuple[str, float, float]]:
    """Yield code, rest voltage and target [mV]; no code for a whole group."""
    rest: FloatArray = table.ocv_mv[rows]
    middle, together = round(float(np.median(rest)), 3), not np.ptp(rest) > within
    goal = middle if common is None or abs(middle - common) <= within / 2 else common
    far = [row for row in rows.tolist() if abs(table.ocv_mv[row] - goal) > within / 2]
    if together and goal == middle:
        return
    if together and len(far) == len(rows):
        yield "", middle, goal
        return
    for row in far:
        yield table.codes[row], float(table.ocv_mv[row]), goal
