"""Where the cells of a pack stand, which way up, and which strip joins which terminals.

``layout`` places cells, joints and strips on a grid; ``geometry`` gives it millimetres; ``cut_list`` and
``order_of_work`` say what is cut and in which order it is joined.
"""

from packs.layout.clearance import smallest_clearance
from packs.layout.cutting import Cut, CutList, Piece, PieceKind, StripSection, cut_list, pieces
from packs.layout.feeds import Feeds, feed_joint, outer_line, outward
from packs.layout.grid import layout
from packs.layout.groups import UnequalGroups, group_sizes
from packs.layout.links import Links
from packs.layout.measures import Geometry, Spacing, flat_spacing, geometry, holder_spacing
from packs.layout.model import CellPlace, JointPlace, Layout, Strip
from packs.layout.order import WorkStep, order_of_work

__all__ = [
    "CellPlace",
    "Cut",
    "CutList",
    "Feeds",
    "Geometry",
    "JointPlace",
    "Layout",
    "Links",
    "Piece",
    "PieceKind",
    "Spacing",
    "Strip",
    "StripSection",
    "UnequalGroups",
    "WorkStep",
    "cut_list",
    "feed_joint",
    "flat_spacing",
    "geometry",
    "group_sizes",
    "holder_spacing",
    "layout",
    "order_of_work",
    "outer_line",
    "outward",
    "pieces",
    "smallest_clearance",
]
