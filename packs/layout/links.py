"""Neighbouring joints of a strip, as columns of numbers: the metal between two of them is one link."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np

from packs.layout.groups import group_sizes

if TYPE_CHECKING:
    from packs.layout.model import Layout

Ints: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]
Bools: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]

SIDES = 3  # terminals left, in the middle and right of a cell are a third of a column apart on the grid


@dataclass(frozen=True, eq=False)
class Links:
    """Joints and links of a layout. Joints are counted strip by strip, cells as in ``Layout.cells``, from 0.

    Attributes
    ----------
    cell, strip, group : array of int, shape (joints,)
        Cell, strip and group (from 1) of each joint.
    positive : array of bool, shape (joints,)
        Whether the joint is on the positive terminal.
    line, row : array of int, shape (joints,)
        Where the joint lies on the grid: thirds of a column from the left, rows from the top without empty ones.
    first, second : array of int, shape (links,)
        The two joints of each link.
    """

    cell: Ints
    strip: Ints
    group: Ints
    positive: Bools
    line: Ints
    row: Ints
    first: Ints
    second: Ints

    @property
    def between(self) -> Bools:
        """Whether each link leads from one group to the next, shape (links,); the others join cells of one group."""
        return self.group[self.first] != self.group[self.second]

    def joins_groups(self, joints: tuple[int, ...]) -> bool:
        """Whether metal from the first to the last of these joints leads from one group to the next."""
        return bool(self.group[joints[0]] != self.group[joints[-1]])


def links_of(layout: "Layout") -> Links:
    """Return the joints and links of a layout.

    Along every line and every row of joints of a strip, each joint is linked to the next one. All are counts
    [dimensionless].

    Parameters
    ----------
    layout : Layout
        Cells and strips.

    Returns
    -------
    Links
        Numbers of joints and cells, no measures.

    References
    ----------
    Common practice, no source: strip is laid straight along the cells of a group and straight across to the next.
    """
    joints = layout.joints
    strip = np.repeat(np.arange(len(layout.strips)), [len(strip.joints) for strip in layout.strips])
    group = np.array([joint.group for joint in joints])
    place = np.array([joint.place for joint in joints])
    side = np.array([joint.side for joint in joints])
    offsets = np.cumsum([0, *group_sizes(layout.arrangement)])
    cell = offsets[group - 1] + place - 1
    positive = group == strip  # strip n, counted from 0, lies above group n and below group n + 1
    line = SIDES * np.array([cell.column for cell in layout.cells])[cell] + side
    row = np.unique([cell.row for cell in layout.cells], return_inverse=True)[1][cell]
    columns = (cell, strip, group, positive, line, row, *_pairs(strip, group, line, row))
    for column in columns:
        column.setflags(write=False)
    return Links(*columns)


def _pairs(strip: Ints, group: Ints, line: Ints, row: Ints) -> tuple[Ints, Ints]:
    down = _neighbours(strip, line, row)
    along = _neighbours(strip, row, line)
    first, second = np.concatenate([down, along], axis=1)
    extra = _missing(strip, group, line, row, strip[first[group[first] != group[second]]])
    return np.concatenate([first, extra[0]]), np.concatenate([second, extra[1]])


def _neighbours(strip: Ints, same: Ints, rising: Ints) -> Ints:
    """Pairs of joints that follow each other on the same line or row of a strip, shape (2, pairs)."""
    order = np.lexsort((rising, same, strip))
    here, there = order[:-1], order[1:]
    neighbours = (strip[here] == strip[there]) & (same[here] == same[there])
    return np.stack([here[neighbours], there[neighbours]])


def _missing(strip: Ints, group: Ints, line: Ints, row: Ints, linked: Ints) -> Ints:
    """For strips whose two groups share neither line nor row, the pair of joints that lie closest together."""
    pairs = []
    for number in sorted(set(strip.tolist()) - set(linked.tolist())):
        joints = np.flatnonzero(strip == number)
        here, there = (joints[group[joints] == side] for side in (number, number + 1))
        if len(here) and len(there):
            apart = abs(line[here][:, None] - line[there]) + SIDES * abs(row[here][:, None] - row[there])
            nearest = np.unravel_index(np.argmin(apart), apart.shape)
            pairs.append((here[nearest[0]], there[nearest[1]]))
    return np.array(pairs, dtype=np.int64).reshape(-1, 2).T
