"""Cells and how they are put together: chemistry, form, terminals, joints, strips."""

from packs.terms.term import Term


class Chemistry(Term):
    """Cell chemistry. Li-ion families by positive electrode, then the nickel families."""

    LCO = "lco", "lithium cobalt oxide (LCO)"
    NMC = "nmc", "lithium nickel manganese cobalt oxide (NMC)"
    NCA = "nca", "lithium nickel cobalt aluminium oxide (NCA)"
    LMO = "lmo", "lithium manganese oxide (LMO)"
    LFP = "lfp", "lithium iron phosphate (LFP)"
    LTO = "lto", "lithium titanate (LTO)"
    NIMH = "nimh", "nickel-metal hydride (NiMH)"
    NICD = "nicd", "nickel-cadmium (NiCd)"
    UNKNOWN = "unknown", "not known yet"


LITHIUM_ION = frozenset({Chemistry.LCO, Chemistry.NMC, Chemistry.NCA, Chemistry.LMO, Chemistry.LFP, Chemistry.LTO})

FLAT_AT_REST = frozenset({Chemistry.LFP})
"""Of these the rest voltage says too little about the charge; common practice, no source."""
NICKEL = frozenset({Chemistry.NIMH, Chemistry.NICD})


class CellFormat(Term):
    """Outer form of a cell."""

    ROUND = "round", "round"
    PRISMATIC = "prismatic", "prismatic"
    POUCH = "pouch", "pouch"


class Terminals(Term):
    """Where a cell's terminals sit."""

    OPPOSITE_ENDS = "opposite_ends", "on opposite ends"
    SAME_FACE = "same_face", "both on one face"
    TABS = "tabs", "tabs"


class Packing(Term):
    """How round cells stand beside each other."""

    ROWS = "rows", "in rows"
    NESTED = "nested", "nested, every second column half a pitch lower"


class Feed(Term):
    """Where on a terminal strip the lead is attached, along the line of cells at the outer edge of the pack."""

    FIRST_END = "first_end", "at the first cell of the outer line"
    MIDDLE = "middle", "in the middle of the outer line"
    LAST_END = "last_end", "at the last cell of the outer line"


class CellEnd(Term):
    """One terminal of a cell."""

    POSITIVE = "positive", "positive"
    NEGATIVE = "negative", "negative"


class Face(Term):
    """The two sides of a pack on which strips lie."""

    TOP = "top", "top face"
    BOTTOM = "bottom", "bottom face"


class JointMethod(Term):
    """How a conductor is joined to a cell terminal."""

    SPOT_WELD = "spot_weld", "spot-welded strip"
    BOLTED = "bolted", "bolted bar"
    SOLDERED_TAB = "soldered_tab", "soldered at the tab"

    @property
    def conductor(self) -> str:
        """What the bench calls the piece of metal that joins cells this way."""
        return "bar" if self is JointMethod.BOLTED else "strip"


class StripMaterial(Term):
    """Material of a strip or bar; commercial nickel and nickel of 99.9 % and more are not the same metal."""

    NICKEL_200 = "nickel_200", "commercial nickel (99.6 %, nickel 200)"
    NICKEL_999 = "nickel_999", "nickel 99.9 % and more"
    PLATED_STEEL = "plated_steel", "nickel-plated steel"
    COPPER = "copper", "copper"
    ALUMINIUM = "aluminium", "aluminium"


class Compression(Term):
    """How a flat cell wants to be held, as its data sheet says; while that is not known it is not rebuilt."""

    NONE = "none", "none asked for"
    PLATE = "plate", "between plates at a set distance"
    FORCE = "force", "under a set force"
    GAP = "gap", "with a gap left for swelling"
    UNKNOWN = "unknown", "not known"
