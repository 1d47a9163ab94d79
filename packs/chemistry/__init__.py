"""What a chemistry says about a cell: limits, charging temperatures, open-circuit voltage and state of charge.

All of it is for when the cell's data sheet says nothing: the data sheet goes first, and a shop may set stricter limits.
What no source gives stays unknown; it is never filled in from a neighbouring chemistry.
"""

from packs.chemistry.curves import curves_of
from packs.chemistry.limits import LIMIT_NAMES, ChemistryLimits, limits
from packs.chemistry.ocv import OcvCurve, full_cell_curve
from packs.chemistry.recovery import Recovery, recovery
from packs.chemistry.soc import LEAST_REST, ChargeRange, highest_rest, state_of_charge
from packs.chemistry.zones import ChargeZone, charge_zone, charge_zones

__all__ = [
    "LEAST_REST",
    "LIMIT_NAMES",
    "ChargeRange",
    "ChargeZone",
    "ChemistryLimits",
    "OcvCurve",
    "Recovery",
    "charge_zone",
    "charge_zones",
    "curves_of",
    "full_cell_curve",
    "highest_rest",
    "limits",
    "recovery",
    "state_of_charge",
]
