"""Places of the cells on a grid, and the strips over them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from packs.errors import ImpossibleValue
from packs.layout.groups import group_sizes
from packs.layout.model import CellPlace, JointPlace, Layout, Strip
from packs.terms import CellEnd, CellFormat, Face, Packing, Terminals

if TYPE_CHECKING:
    from packs.layout.groups import AnyArrangement

_MOST_ROWS = 10  # longer groups are wrapped into columns beside each other
_MOST_COLUMNS = 10  # more columns go on below, running back the other way


def layout(
    arrangement: "AnyArrangement",
    cell_format: CellFormat,
    terminals: Terminals,
    *,
    packing: Packing = Packing.ROWS,
    most_columns: int = _MOST_COLUMNS,
) -> Layout:
    """Lay out a pack: groups side by side, in bands that run to and fro so that neighbours always touch.

    Cells with terminals on opposite ends stand up and down by turns, and a strip on one face joins two groups.
    Cells with both terminals on one face, or with tabs, all lie the same way, and all bars are on the top face.

    Parameters
    ----------
    arrangement : Arrangement or UnequalGroups
        Groups in series, cells in parallel; with ``UnequalGroups`` each group has its own number.
    cell_format, terminals : CellFormat, Terminals
        Of all cells of the pack.
    packing : Packing
        Round cells in rows, or nested.
    most_columns : int
        Columns of one band. Where a band turns, neighbouring groups touch along their short sides only, and few
        links carry the whole current; a pack in one band has no such place.

    Returns
    -------
    Layout
        A grid without measures; ``geometry`` gives it millimetres.

    Raises
    ------
    ImpossibleValue
        The arrangement has no cells, a band no column, or cells that are not round are to be nested.

    References
    ----------
    Common practice, no source: alternating cells and one strip for each node.
    """
    sizes = group_sizes(arrangement)
    if most_columns < 1:
        raise ImpossibleValue("A band has at least one column.")
    if packing is Packing.NESTED and cell_format is not CellFormat.ROUND:
        raise ImpossibleValue("Only round cells are nested.")
    grid = _grid(sizes, terminals, most_columns)
    cells = tuple(grid.cells())
    strips = tuple(grid.strip(node) for node in range(len(sizes) + 1))
    return Layout(arrangement, cell_format, terminals, cells, strips, packing)


@dataclass(frozen=True)
class _Grid:
    sizes: tuple[int, ...]
    rows: int  # of the largest group
    wide: int  # columns of one group
    band: int  # groups of one band
    opposite: bool

    def cells(self) -> Iterator[CellPlace]:
        for group, size in enumerate(self.sizes, start=1):
            for place in range(1, size + 1):
                column, row = self._position(group, place)
                yield CellPlace(group, place, column, row, _end_on_top(group) if self.opposite else None)

    def _position(self, group: int, place: int) -> tuple[int, int]:
        """Place by place down the columns of a group; a smaller group has shorter columns, not fewer."""
        along, across = divmod(place - 1, -(-self.sizes[group - 1] // self.wide))
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
        if 1 <= group <= len(self.sizes):
            side = self._side(group, end)
            for place in range(1, self.sizes[group - 1] + 1):
                yield JointPlace(group, place, end, side)

    def _side(self, group: int, end: CellEnd) -> int:
        if self.opposite:
            return 0
        ahead = 1 if end is CellEnd.POSITIVE else -1
        return -ahead if self._runs_back(group) else ahead


def _grid(sizes: tuple[int, ...], terminals: Terminals, most_columns: int) -> _Grid:
    opposite = terminals is Terminals.OPPOSITE_ENDS
    largest = max(sizes)
    rows = _even_share(largest, _MOST_ROWS) if opposite else largest
    wide = -(-largest // rows)
    band = _even_share(len(sizes), max(1, most_columns // wide))
    return _Grid(sizes, rows, wide, band, opposite)


def _even_share(total: int, most: int) -> int:
    """Size of the parts when a total is cut into as few parts of at most this many as possible."""
    parts = -(-total // most)
    return -(-total // parts)


def _end_on_top(group: int) -> CellEnd:
    return CellEnd.POSITIVE if group % 2 else CellEnd.NEGATIVE
