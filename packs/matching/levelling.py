"""What is brought where before anything is joined: every cell has one target."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from packs.levelling import equally_charged
from packs.matching.answer import Levelling, LevelTo
from packs.matching.table import UNKNOWN
from packs.terms import FLAT_AT_REST, Chemistry
from packs.units import ureg

if TYPE_CHECKING:
    from packs.matching.question import Question
    from packs.matching.table import CellTable, IntArray

_UV = 1000


def level_by(table: CellTable, members: Sequence[IntArray]) -> LevelTo:
    """Whether cells are levelled to a voltage [mV], or to equal charge because theirs says too little about it.

    References
    ----------
    Common practice, no source: as ``packs.terms.FLAT_AT_REST``.
    """
    flat = any(table.chemistry[row] in FLAT_AT_REST for group in members for row in group.tolist())
    return LevelTo.CHARGE if flat else LevelTo.VOLTAGE


def to_level(
    table: CellTable, question: Question, members: Sequence[IntArray], level_mv: float | None = None
) -> tuple[Levelling, ...]:
    """Return which cells, or whole groups, are brought to which rest voltage before they are joined [mV].

    Groups that rest too far from each other go to the middle of all, and every cell of them straight there; a cell
    that rests too far from its own group goes to the middle of that. Beside groups that stay, everything goes to
    ``level_mv``. Where the voltage says too little about the charge it decides nothing: every cell is brought to equal
    charge, unless all are known to hold the same. A cell whose rest voltage is not known is named only there.

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
    Common practice, no source: half of what may stay is kept in hand. Equal charge: ``packs.levelling``.
    """
    if level_by(table, members) is LevelTo.CHARGE:
        return () if _alike(table, members, level_mv) else tuple(_every_cell(table, members))
    within = round(question.level_within_mv * _UV)
    beside = None if level_mv is None else round(level_mv * _UV)
    goal = _common([_middle(table, rows) for rows in members], within) if beside is None else beside
    return tuple(
        Levelling(number, code, rest / _UV, LevelTo.VOLTAGE, target / _UV)
        for number, rows in enumerate(members, start=1)
        for code, rest, target in _of_group(table, rows, within, goal, apart=beside is not None)
    )


def _alike(table: CellTable, members: Sequence[IntArray], level_mv: float | None) -> bool:
    """Whether all cells, and the groups that stay, are known to hold the same charge."""
    rows = [row for group in members for row in group.tolist()]
    found = {table.chemistry[row] for row in rows}
    rest = [*table.ocv_mv[rows].tolist(), *([] if level_mv is None else [level_mv])]
    if len(found) > 1 or np.isnan(rest).any():
        return False
    return equally_charged(Chemistry(found.pop()), [ureg.Quantity(mv, "mV") for mv in (min(rest), max(rest))])


def _every_cell(table: CellTable, members: Sequence[IntArray]) -> Iterator[Levelling]:
    for number, rows in enumerate(members, start=1):
        for row in rows.tolist():
            yield Levelling(number, table.codes[row], float(table.ocv_mv[row]), LevelTo.CHARGE, None)


def _known(table: CellTable, rows: IntArray) -> IntArray:
    rest: IntArray = table.ocv_uv[rows]
    return rest[rest != UNKNOWN]


def _middle(table: CellTable, rows: IntArray) -> int | None:
    """Middle of the rest voltages known in a group [µV], rounded down."""
    known = _known(table, rows)
    return int(np.median(known)) if len(known) else None


def _common(middles: list[int | None], within: int) -> int | None:
    """Return where groups are brought that lie apart [µV]; None where they lie close enough."""
    known = [middle for middle in middles if middle is not None]
    return int(np.median(known)) if known and np.ptp(known) > within else None


def _of_group(
    table: CellTable, rows: IntArray, within: int, common: int | None, *, apart: bool
) -> Iterator[tuple[str, int, int]]:
    """Yield code, rest voltage and target [µV]; no code for a whole group. ``apart``: it goes to no middle of its own."""
    middle = _middle(table, rows)
    if middle is None:
        return
    together = not np.ptp(_known(table, rows)) > within
    own = not apart and (common is None or 2 * abs(middle - common) <= within)
    goal = middle if own or common is None else common
    if together and own:
        return
    rest = table.ocv_uv
    far = [row for row in rows.tolist() if rest[row] != UNKNOWN and 2 * abs(int(rest[row]) - goal) > within]
    if together and len(far) == len(rows):
        yield "", middle, goal
        return
    for row in far:
        yield table.codes[row], int(rest[row]), goal
