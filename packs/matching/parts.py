"""Groups of several sizes or limits out of one stock: each part its own, the cells the same for all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from packs.matching.deal import Candidates, Limits, candidates
from packs.matching.question import Question
from packs.matching.table import BoolArray, CellTable, IntArray

SHARE_STEPS = 10**9
"""Steps of a level where parts are compared by shares of a capacity, not by the capacity itself."""


@dataclass(frozen=True, eq=False)
class Part:
    """Groups alike in size and limits: ``groups`` of them out of the cells marked in ``allowed``, shape (n,).

    ``cells`` holds the whole stock in an order common to all parts; its ``forced`` and ``origin`` are this part's.
    The level of a group is its capacity x ``scale`` / ``weight``, rounded down: with both 1 the capacity [steps].
    """

    cells: Candidates
    limits: Limits
    groups: int
    allowed: BoolArray
    weight: int = 1
    scale: int = 1

    @property
    def parallel(self) -> int:
        """Cells per group."""
        return self.limits.parallel

    def level(self, capacity: int) -> int:
        """Level of a group of this capacity [steps]."""
        return capacity * self.scale // self.weight

    def least(self, level: int) -> int:
        """Least capacity [steps] of a group at this level."""
        return -(-level * self.weight // self.scale)


@dataclass(frozen=True, eq=False)
class Asked:
    """What one part is asked: its question, how many groups of how many cells, and the table rows it may use."""

    question: Question
    groups: int
    parallel: int
    rows: IntArray
    weight_tenths: int = 0


def parts_of(table: CellTable, asked: Sequence[Asked]) -> list[Part]:
    """The parts of a question that shares one stock; a cell that one part must use is open to no other.

    Where a part has a weight [0.1 mAh], levels are shares of it, in steps of ``1 / SHARE_STEPS``.

    References
    ----------
    Derived here: one order of the cells for all parts.
    """
    rows = np.unique(np.concatenate([one.rows for one in asked]))
    forced = [set(one.question.must_use) for one in asked]
    everyone = set().union(*forced)
    names = np.array(table.codes, dtype=object)
    found: list[Part] = []
    for one, own in zip(asked, forced, strict=True):
        cells = candidates(table, rows, one.question)
        elsewhere = np.array([code in everyone - own for code in names[cells.rows]], dtype=np.bool_)
        weighed = {"weight": one.weight_tenths // cells.step, "scale": SHARE_STEPS} if one.weight_tenths else {}
        allowed = np.isin(cells.rows, one.rows) & ~elsewhere
        found.append(Part(cells, _limits(one), one.groups, allowed, **weighed))
    return [_lighter(part) for part in found]


def part_of(table: CellTable, question: Question, rows: IntArray) -> Part:
    """A question for one pack as a single part out of these table rows; levels are capacities [steps].

    References
    ----------
    Derived here: one order of the cells.
    """
    return parts_of(table, [Asked(question, question.series, question.parallel, rows)])[0]


def _limits(asked: Asked) -> Limits:
    return Limits.of(replace(asked.question, parallel=asked.parallel, must_use=()))


def _lighter(part: Part) -> Part:
    """A part without limits where any group of the cells open to it keeps them."""
    among = np.flatnonzero(part.allowed)
    harmless = len(among) > 0 and part.limits.harmless(part.cells, among)
    return replace(part, limits=part.limits.none()) if harmless else part
