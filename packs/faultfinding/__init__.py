"""What is wrong with a pack, reasoned from readings: predict, strike out what contradicts, measure what splits best.

Cautions: a pack is live while it is probed. Nothing here is a promise of safety; the cell's data sheet, local rules and
trained people go first.
"""

from packs.faultfinding.advice import NEVER_AROUND, SUPERVISED, advice
from packs.faultfinding.conflict import Doubted, doubted
from packs.faultfinding.diagnosis import Diagnosis, check, diagnose
from packs.faultfinding.evidence import Expected, Grounds, evidence, expected
from packs.faultfinding.faults import Fault, PartKind, State, single_faults
from packs.faultfinding.loads import OF_CAPACITY, OF_RATED_CURRENT, gentle_load
from packs.faultfinding.measurements import Access, Measurement, ends, tap_pairs
from packs.faultfinding.model import Meter, PackModel, Switch
from packs.faultfinding.offers import available, kept_only
from packs.faultfinding.plausible import readable
from packs.faultfinding.proposal import Proposal, next_measurement
from packs.faultfinding.readings import Circumstance, Place, Point, Reading
from packs.faultfinding.resistance import group_resistances
from packs.faultfinding.safety import (
    Withheld,
    charge_line,
    chargeable,
    empty_groups,
    spent_groups,
    spent_line,
    withheld,
)
from packs.faultfinding.sags import Sag, sags

__all__ = [
    "NEVER_AROUND",
    "OF_CAPACITY",
    "OF_RATED_CURRENT",
    "SUPERVISED",
    "Access",
    "Circumstance",
    "Diagnosis",
    "Doubted",
    "Expected",
    "Fault",
    "Grounds",
    "Measurement",
    "Meter",
    "PackModel",
    "PartKind",
    "Place",
    "Point",
    "Proposal",
    "Reading",
    "Sag",
    "State",
    "Switch",
    "Withheld",
    "advice",
    "available",
    "charge_line",
    "chargeable",
    "check",
    "diagnose",
    "doubted",
    "empty_groups",
    "ends",
    "evidence",
    "expected",
    "gentle_load",
    "group_resistances",
    "kept_only",
    "next_measurement",
    "readable",
    "sags",
    "single_faults",
    "spent_groups",
    "spent_line",
    "tap_pairs",
    "withheld",
]
