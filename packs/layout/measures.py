"""A layout in millimetres: where cells and joints lie, how long each link is."""

from dataclasses import dataclass
from math import isfinite, sqrt
from typing import Any, TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.layout.links import SIDES
from packs.layout.model import Layout
from packs.terms import Packing
from packs.units import Quantity, ureg

Millimetres: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]

# Units are written out: the registry remembers "millimeter", but reads "mm" anew each time.
NO_LENGTH = ureg.Quantity(0.0, "millimeter")


@dataclass(frozen=True)
class Spacing:
    """Distances of the middles of neighbouring cells.

    Attributes
    ----------
    across, down : Quantity
        From column to column and from row to row [length]; for nested cells both are the pitch of the holder.
    reach : Quantity
        From the middle of a cell to a terminal at its side, along the row [length]; zero for terminals on the axis.

    Raises
    ------
    ImpossibleValue
        A distance is not above zero, or the terminals reach past the middle between two cells.
    """

    across: Quantity
    down: Quantity
    reach: Quantity = NO_LENGTH

    def __post_init__(self) -> None:
        across, down, reach = (millimetres(part) for part in (self.across, self.down, self.reach))
        if min(across, down) <= 0 or not 0 <= reach < across / 2:
            raise ImpossibleValue("Cells lie apart, and a terminal lies within its cell's half of the distance.")


def holder_spacing(diameter: Quantity, gap: Quantity = NO_LENGTH) -> Spacing:
    """Return the spacing of round cells in a holder: pitch = diameter + gap, the same in both directions.

    Parameters
    ----------
    diameter : Quantity
        Of a cell with its sleeve [length].
    gap : Quantity
        Wall of the holder between two cells [length]; zero for cells that touch.

    Returns
    -------
    Spacing
        [length]

    Raises
    ------
    ImpossibleValue
        The diameter is not above zero, or the gap is below.

    References
    ----------
    Geometry of circles.

    Examples
    --------
    >>> print(holder_spacing(ureg.Quantity(18.4, "mm"), ureg.Quantity(1.8, "mm")).across)
    20.2 millimeter
    """
    if millimetres(gap) < 0 or millimetres(diameter) <= 0:
        raise ImpossibleValue("Cells have a diameter and do not overlap.")
    pitch = ureg.Quantity(millimetres(diameter) + millimetres(gap), "millimeter")
    return Spacing(pitch, pitch)


def flat_spacing(width: Quantity, thickness: Quantity, terminal_distance: Quantity, gap: Quantity) -> Spacing:
    """Return the spacing of prismatic or pouch cells that stand side by side: columns along the width.

    Parameters
    ----------
    width, thickness : Quantity
        Of a cell [length].
    terminal_distance : Quantity
        Between the middles of its two terminals or tabs [length].
    gap : Quantity
        Room between two cells, in both directions [length].

    Returns
    -------
    Spacing
        [length]

    Raises
    ------
    ImpossibleValue
        The cells would overlap, or the terminals lie outside the cell.

    References
    ----------
    Geometry of rectangles.

    Examples
    --------
    >>> sizes = [ureg.Quantity(number, "mm") for number in (174, 54, 123, 1)]
    >>> spacing = flat_spacing(*sizes)
    >>> print(spacing.across, spacing.down, spacing.reach, sep=", ")
    175.0 millimeter, 55.0 millimeter, 61.5 millimeter
    """
    wide, thick, apart, room = (millimetres(part) for part in (width, thickness, terminal_distance, gap))
    if room < 0 or not 0 < apart < wide:
        raise ImpossibleValue("Cells do not overlap, and terminals lie within the width of the cell.")
    return Spacing(*(ureg.Quantity(number, "millimeter") for number in (wide + room, thick + room, apart / 2)))


@dataclass(frozen=True, eq=False)
class Geometry:
    """A layout with its measures, seen from the top face; the first cell of column 0, row 0 is at (0, 0).

    Attributes
    ----------
    layout : Layout
        What is measured.
    spacing : Spacing
        What it is measured by.
    cell_positions : Quantity, shape (cells, 2)
        Middle of each cell, across and down [length], in the order of ``layout.cells``.
    joint_positions : Quantity, shape (joints, 2)
        Middle of each joint [length], in the order of ``layout.joints``.
    link_lengths : Quantity, shape (links,)
        Length of the centre line of each link [length], in the order of ``layout.links``.
    """

    layout: Layout
    spacing: Spacing
    cell_positions: Quantity
    joint_positions: Quantity
    link_lengths: Quantity

    @property
    def footprint(self) -> tuple[Quantity, Quantity]:
        """Room that the cells take, across and down [length]: half a spacing beyond the outermost middles."""
        span = np.ptp(self.cell_positions.to("millimeter").magnitude, axis=0)
        across, down = millimetres(self.spacing.across), millimetres(self.spacing.down)
        return ureg.Quantity(float(span[0] + across), "millimeter"), ureg.Quantity(float(span[1] + down), "millimeter")

    @property
    def strip_lengths(self) -> Quantity:
        """Length of the centre lines of each strip's links together [length], shape (strips,)."""
        links, lengths = self.layout.links, self.link_lengths.to("millimeter").magnitude
        return ureg.Quantity(np.bincount(links.strip[links.first], lengths, len(self.layout.strips)), "millimeter")


def geometry(layout: Layout, spacing: Spacing) -> Geometry:
    """Return a layout in millimetres.

    Cells in rows stand at the crossings of a grid. Nested cells keep the pitch to all their neighbours: columns
    are pitch·√3/2 apart, and every second one lies half a pitch lower. The bands of a layout follow each other
    without a gap.

    Parameters
    ----------
    layout : Layout
        Grid of the cells.
    spacing : Spacing
        Distances on that grid [length].

    Returns
    -------
    Geometry
        Positions and lengths [length].

    Raises
    ------
    ImpossibleValue
        Nested cells are given two different distances.

    References
    ----------
    Geometry of the square and of the hexagonal lattice.
    """
    across, down, reach = (millimetres(part) for part in (spacing.across, spacing.down, spacing.reach))
    nested = layout.packing is Packing.NESTED
    if nested and across != down:
        raise ImpossibleValue("Nested cells have one pitch.")
    links = layout.links
    column = (links.line + 1) // SIDES
    side = links.line - SIDES * column
    middles = np.stack([column * across, links.row * down], axis=1, dtype=np.float64)
    if nested:
        middles = np.stack([column * across * sqrt(3) / 2, (links.row + 0.5 * (column % 2)) * down], axis=1)
    joints = middles + np.outer(side * reach, (1.0, 0.0))
    lengths = np.hypot(*(joints[links.first] - joints[links.second]).T)
    cells = _per_cell(layout, middles)
    return Geometry(layout, spacing, *(ureg.Quantity(part, "millimeter") for part in (cells, joints, lengths)))


def _per_cell(layout: Layout, of_joints: Millimetres) -> Millimetres:
    cells = np.empty((len(layout.cells), 2))
    cells[layout.links.cell] = of_joints
    return cells


def millimetres(length: Quantity) -> float:
    """Return a finite length as a plain number [mm].

    Raises
    ------
    ImpossibleValue
        The length is not a number.

    References
    ----------
    SI Brochure: a conversion.

    Examples
    --------
    >>> millimetres(ureg.Quantity(2, "cm"))
    20.0
    """
    number = float(length.to("millimeter").magnitude)
    if not isfinite(number):
        raise ImpossibleValue("A length is a number.")
    return number
