"""Fault finding: a stated pack and its readings to packs, and what follows from them back for the page."""

from .plausible import SEARCHED, reading_doubt
from .points import PAIR, Pair, SetUp, code, point, set_up
from .readings import Taken, at_outlet, examined, probed, reading, require_fit
from .standing import Standing, StruckOut, Suspects, standing
from .stated import SHARES, Assumed, StatedPack, known

__all__ = [
    "PAIR",
    "SEARCHED",
    "SHARES",
    "Assumed",
    "Pair",
    "SetUp",
    "Standing",
    "StatedPack",
    "StruckOut",
    "Suspects",
    "Taken",
    "at_outlet",
    "code",
    "examined",
    "known",
    "point",
    "probed",
    "reading",
    "reading_doubt",
    "require_fit",
    "set_up",
    "standing",
]
