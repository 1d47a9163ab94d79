"""Where the cells of a pack stand, which way up, and which strip joins which terminals."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from packs.errors import ImpossibleValue
from packs.terms import CellEnd, CellFormat, Face, Terminals

if TYPE_CHECKING:
    from packs.topology import Arrangement

_MOST_ROWS = 10  # longer groups are wrapped into columns beside each other
_MOST_COLUMNS = 10  # more columns go on below, running back the other way


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
    """Cells and strips of one pack."""

    arrangement: "Arrangement"
    cell_format: CellFormat
    terminals: Terminals
    cells: tuple[CellPlace, ...]
    strips: tuple[Strip, ...]

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


def layout(arrangement: "Arrangement", cell_format: CellFormat, terminals: Terminals) -> Layout:
    """Lay out a pack: groups side by side, in bands that run to and fro so that neighbours always touch.

    Cells with terminals on opposite ends stand up and down by turns, and a strip on one face joins two groups.
    Cells with both terminals on one face all lie the same way, and all bars are on the top face.

    Raises
    ------
    ImpossibleValue
        The arrangement has no cells.
    """
    if arrangement.series < 1 or arrangement.parallel < 1:
        raise ImpossibleValue("a pack has at least one group of at least one cell")
    grid = _grid(arrangement, terminals)
    cells = tuple(grid.cells())
    strips = tuple(grid.strip(node) for node in range(arrangement.series + 1))
    return Layout(arrangement, cell_format, terminals, cells, strips)


@dataclass(frozen=True)
class _Grid:
    series: int
    parallel: int
    rows: int  # of one group
    wide: int  # columns of one group
    band: int  # groups of one band
    opposite: bool

    def cells(self) -> Iterator[CellPlace]:
        for group in range(1, self.series + 1):
            for place in range(1, self.parallel + 1):
                column, row = self._position(group, place)
                yield CellPlace(group, place, column, row, _end_on_top(group) if self.opposite else None)

    def _position(self, group: int, place: int) -> tuple[int, int]:
        along, across = divmod(place - 1, self.rows)
        in_band = (group - 1) % self.band
        column = in_band * self.wide + along
        if self._runs_back(group):
            column = self.band * self.wide - 1 - column
        return column, (group - 1) // self.band * (self.rows + 1) + across

    def _runs_back(self, group: int) -> bool:
        return (group - 1) // self.band % 2 == 1

    def strip(self, node: int) -> Strip:
        face = Face.BOTTOM if self.opposite and node % 2 == 0 else Face.TOP
        joints = (*self._joints(node, CellEnd.POSITIVE), *self._joints(node + 1, CellEnd.NEGATIVE))
        return Strip(node + 1, face, node, joints)

    def _joints(self, group: int, end: CellEnd) -> Iterator[JointPlace]:
        if 1 <= group <= self.series:
            for place in range(1, self.parallel + 1):
                yield JointPlace(group, place, end, self._side(group, end))

    def _side(self, group: int, end: CellEnd) -> int:
        if self.opposite:
            return 0
        ahead = 1 if end is CellEnd.POSITIVE else -1
        return -ahead if self._runs_back(group) else ahead


def _grid(arrangement: "Arrangement", terminals: Terminals) -> _Grid:
    opposite = terminals is Terminals.OPPOSITE_ENDS
    rows = _even_share(arrangement.parallel, _MOST_ROWS) if opposite else arrangement.parallel
    wide = -(-arrangement.parallel // rows)
    band = _even_share(arrangement.series, max(1, _MOST_COLUMNS // wide))
    return _Grid(arrangement.series, arrangement.parallel, rows, wide, band, opposite)


def _even_share(total: int, most: int) -> int:
    """Size of the parts when a total is cut into as few parts of at most this many as possible."""
    parts = -(-total // most)
    return -(-total // parts)


def _end_on_top(group: int) -> CellEnd:
    return CellEnd.POSITIVE if group % 2 else CellEnd.NEGATIVE
