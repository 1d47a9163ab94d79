"""Measures of the drawing: where each cell, terminal and strip lies on each face, in user units."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

from packs.layout import CellPlace, Feeds, JointPlace, Layout, Strip, feed_joint, outward
from packs.terms import Face, Packing

MARGIN = 14.0
HEADING = 30.0  # the title of a face
GROUP_ROOM = 58.0  # group numbers and strip numbers above the cells
FOOT = 30.0  # the ends of the pack below them
LEAST_WIDTH = 320.0
NESTED = sqrt(3) / 2  # columns of nested cells lie that much closer
TAB_LENGTH, TAB_WIDTH = 18.0, 20.0

Point = tuple[float, float]
PerCell = Mapping[tuple[int, int], str]


@dataclass(frozen=True)
class Shape:
    """One cell on the drawing. ``reach`` is how far a terminal lies to the side of the cell's middle."""

    width: float
    height: float
    corner: float
    pitch_x: float
    pitch_y: float
    reach: float
    strip_x: float  # half of a strip's width beyond the terminals
    strip_y: float
    text_width: float

    @property
    def size(self) -> Point:
        """Width and height of the cell."""
        return self.width, self.height


UPRIGHT = Shape(64, 64, 32, 72, 72, 0, 25, 25, 50)
LYING = Shape(112, 52, 6, 122, 62, 44, 10, 17, 62)


@dataclass(frozen=True)
class Sheet:
    """A layout with what is written on it."""

    layout: Layout
    codes: PerCell
    readings: PerCell
    links: PerCell
    weakest: frozenset[int]
    waiting: tuple[int, int] | None = None
    feeds: Feeds | None = None
    built: frozenset[int] = frozenset()
    conductor: str = "strip"

    @property
    def nested(self) -> bool:
        """Whether every second column lies half a cell lower."""
        return self.layout.packing is Packing.NESTED

    @property
    def shape(self) -> Shape:
        """Cells stand upright, or lie with both terminals in view."""
        return LYING if self.layout.cells[0].up is None else UPRIGHT

    @property
    def width(self) -> float:
        """Width of the drawing."""
        return max(LEAST_WIDTH, self._grid_width + 2 * MARGIN)

    @property
    def face_height(self) -> float:
        """Height of one face with its title."""
        rows = self.layout.rows + (0.5 if self.nested else 0.0)
        return HEADING + GROUP_ROOM + rows * self.shape.pitch_y + FOOT

    @property
    def _pitch_x(self) -> float:
        return self.shape.pitch_x * (NESTED if self.nested else 1.0)

    @property
    def _grid_width(self) -> float:
        return (self.layout.columns - 1) * self._pitch_x + self.shape.pitch_x

    def middle(self, cell: CellPlace, face: Face) -> Point:
        """Middle of a cell; the bottom face is turned over sideways, as it lies in front of the eye."""
        column = cell.column if face is Face.TOP else self.layout.columns - 1 - cell.column
        left = (self.width - self._grid_width) / 2
        top = HEADING + GROUP_ROOM
        down = top + (cell.row + 0.5) * self.shape.pitch_y + self._lowered(cell)
        return left + column * self._pitch_x + 0.5 * self.shape.pitch_x, down

    def _lowered(self, cell: CellPlace) -> float:
        return self.shape.pitch_y / 2 if self.nested and cell.column % 2 else 0.0

    def terminal(self, joint: JointPlace, face: Face) -> Point:
        """Middle of the terminal that a joint is on."""
        x, y = self.middle(self.layout.cell(joint.group, joint.place), face)
        return x + joint.side * self.shape.reach * (1 if face is Face.TOP else -1), y

    def extent(self, strip: Strip) -> tuple[Point, Point]:
        """Upper left and lower right corner of a strip."""
        points = [self.terminal(joint, strip.face) for joint in strip.joints]
        across, down = zip(*points, strict=True)
        more_x, more_y = self.shape.strip_x, self.shape.strip_y
        return (min(across) - more_x, min(down) - more_y), (max(across) + more_x, max(down) + more_y)

    def tab(self, strip: Strip) -> tuple[Point, Point] | None:
        """Middle and size of the solder tab of a strip; None for strips without a lead."""
        if self.feeds is None:
            return None
        feed = {0: self.feeds.negative, self.layout.arrangement.series: self.feeds.positive}.get(strip.node)
        if feed is None:
            return None
        joint = feed_joint(self.layout, strip.node, feed)
        x, y = self.terminal(self.layout.joints[joint], strip.face)
        across, down = outward(self.layout, strip.node)
        across = across if strip.face is Face.TOP else -across
        middle = x + across * (self.shape.strip_x + TAB_LENGTH / 2), y + down * (self.shape.strip_y + TAB_LENGTH / 2)
        return middle, (TAB_LENGTH, TAB_WIDTH) if across else (TAB_WIDTH, TAB_LENGTH)

    def above_group(self, group: int, face: Face) -> Point:
        """Middle of the upper edge of a group's cells; columns that lie lower keep their labels in line."""
        cells = [cell for cell in self.layout.cells if cell.group == group]
        across = [self.middle(cell, face)[0] for cell in cells]
        top = min(self.middle(cell, face)[1] - self._lowered(cell) for cell in cells)
        return (min(across) + max(across)) / 2, top - self.shape.height / 2
