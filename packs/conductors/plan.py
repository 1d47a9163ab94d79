"""A target pack and what joins it: the question that ``path_sheet`` answers."""

from dataclasses import dataclass
from enum import StrEnum

from packs.cells import CellModelData
from packs.conductors.heating import COVERED, OPEN, Surface
from packs.conductors.weakest import PERMITTED_RISE
from packs.layout import Feeds, Spacing, StripSection, UnequalGroups
from packs.materials import ROOM
from packs.terms import Packing, StripMaterial
from packs.topology import Arrangement
from packs.units import Quantity, ureg

JOINT = ureg.Quantity(0.15, "milliohm")
"""Of one spot-welded joint: of the order that Brand et al. measured, from memory."""
TAB = ureg.Quantity(15.0, "millimeter")
"""Free length of a solder tab; common practice, no source."""
HOLDER_WALL = ureg.Quantity(1.5, "millimeter")
"""Between two round cells of a holder; common practice, no source."""


class PathKind(StrEnum):
    """The parts between cell and connector."""

    CELL = "cell"
    JOINT = "joint"
    WITHIN = "strip along a group"
    BETWEEN = "strip from group to group"
    TAB = "solder tab"
    LEAD = "lead"


@dataclass(frozen=True)
class PathPlan:
    """A target pack and what joins it.

    Attributes
    ----------
    arrangement, model
        Groups in series of cells in parallel, and the cells' data sheet.
    material, section, layers
        Of the strip or bar [length]; as many layers one on the other.
    lead_area, lead_length : Quantity
        Of each of the two copper leads [area], [length].
    continuous, peak : Quantity
        Of the pack [current].
    peak_time : Quantity
        How long the peak lasts [time].
    cell_resistance : Quantity or None
        DC resistance of one cell [resistance]. Without it the cells of a group are taken to share alike, and the
        prospective short circuit stays unknown.
    joint_resistance : Quantity
        Of one joint [resistance].
    spacing : Spacing or None
        Of the cells [length]; without it round cells stand in a holder whose walls are ``gap``.
    permitted_rise : Quantity
        [K]
    ambient : Quantity
        Of the air in the housing [temperature].
    """

    arrangement: Arrangement | UnequalGroups
    model: CellModelData
    material: StripMaterial
    section: StripSection
    lead_area: Quantity
    lead_length: Quantity
    continuous: Quantity
    peak: Quantity
    peak_time: Quantity
    layers: int = 1
    cell_resistance: Quantity | None = None
    joint_resistance: Quantity = JOINT
    tab_length: Quantity = TAB
    spacing: Spacing | None = None
    gap: Quantity = HOLDER_WALL
    packing: Packing = Packing.ROWS
    feeds: Feeds | None = None
    permitted_rise: Quantity = PERMITTED_RISE
    ambient: Quantity = ROOM
    strip_surface: Surface = COVERED
    lead_surface: Surface = OPEN
