"""Cells, joints and strips of a pack: which terminal lies on which strip."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from packs.layout.links import Links, links_of
from packs.terms import CellEnd, CellFormat, Face, Packing, Terminals

if TYPE_CHECKING:
    from packs.layout.groups import AnyArrangement


@dataclass(frozen=True)
class CellPlace:
    """Position of one cell, seen from the top face.

    ``group`` and ``place`` count from 1, ``column`` and ``row`` from 0 at the upper left. ``up`` is the terminal on
    the top face, None where both terminals are there.
    """

    group: int
    place: int
    column: int
    row: int
    up: CellEnd | None


@dataclass(frozen=True)
class JointPlace:
    """One terminal on a strip; ``side`` is -1, 0 or 1: left, middle or right of its cell, seen from the top face."""

    group: int
    place: int
    end: CellEnd
    side: int


@dataclass(frozen=True)
class Strip:
    """One strip or bar: all of it is at one potential, the node between two groups.

    Node 0 is the negative end of the pack, node S the positive. Strips are numbered in building order, one node
    after the other, so that each one adds a single group to the voltage already in reach.
    """

    number: int
    face: Face
    node: int
    joints: tuple[JointPlace, ...]


@dataclass(frozen=True)
class Layout:
    """Cells and strips of one pack.

    ``cells`` run group by group from the negative end, place by place. Where joints are counted through
    (``links``, the current paths), they run strip by strip in the order of ``strips``.
    """

    arrangement: "AnyArrangement"
    cell_format: CellFormat
    terminals: Terminals
    cells: tuple[CellPlace, ...]
    strips: tuple[Strip, ...]
    packing: Packing = Packing.ROWS

    @property
    def columns(self) -> int:
        """Number of columns of the grid."""
        return 1 + max(cell.column for cell in self.cells)

    @property
    def rows(self) -> int:
        """Number of rows of the grid, the empty ones between two bands included."""
        return 1 + max(cell.row for cell in self.cells)

    @property
    def faces(self) -> tuple[Face, ...]:
        """Faces that carry strips, the top first."""
        used = {strip.face for strip in self.strips}
        return tuple(face for face in Face if face in used)

    @cached_property
    def links(self) -> Links:
        """Neighbouring joints of each strip, between which its metal carries the current."""
        return links_of(self)

    @cached_property
    def joints(self) -> tuple[JointPlace, ...]:
        """All joints, strip by strip."""
        return tuple(joint for strip in self.strips for joint in strip.joints)

    @cached_property
    def _by_place(self) -> dict[tuple[int, int], CellPlace]:
        return {(cell.group, cell.place): cell for cell in self.cells}

    def cell(self, group: int, place: int) -> CellPlace:
        """Cell at a place of a group, both counted from 1; KeyError where there is none."""
        return self._by_place[group, place]

    def strips_on(self, face: Face) -> tuple[Strip, ...]:
        """Strips of one face in building order."""
        return tuple(strip for strip in self.strips if strip.face is face)

    def joints_on(self, face: Face) -> tuple[JointPlace, ...]:
        """Joints of one face, strip by strip."""
        return tuple(joint for strip in self.strips_on(face) for joint in strip.joints)

    def joint_count(self) -> int:
        """Number of joints: two to each cell."""
        return sum(len(strip.joints) for strip in self.strips)
