"""Strip, bar, wire and fuse: resistance and heat, what they stand, and which part of a pack is weakest.

Temperature rises are differences: they come in ``delta_degC``, and ``units.show`` prints them in K.
"""

from packs.conductors.adiabatic import adiabatic_constant, adiabatic_current, adiabatic_rise, adiabatic_time
from packs.conductors.advice import (
    StripChoice,
    WireChoice,
    narrowest_strip,
    smallest_gauge,
    smallest_strip,
    smallest_wire,
)
from packs.conductors.conductor import Conductor, awg_area, awg_diameter, drop, loss, resistance, strip, wire
from packs.conductors.fuse import Fuse, FuseCheck, FuseDuty, Protected, check_fuse, clearing_time, melting_time
from packs.conductors.fusing import (
    WireMetal,
    onderdonk_current,
    onderdonk_time,
    preece_current,
    preece_diameter,
    preece_metal,
)
from packs.conductors.heating import (
    COVERED,
    OPEN,
    SteadyRise,
    Surface,
    current_by_ends,
    current_by_surface,
    rise_by_ends,
    rise_by_surface,
    steady_rise,
)
from packs.conductors.plan import PathKind, PathPlan
from packs.conductors.sheet import PathSheet, path_sheet
from packs.conductors.weakest import (
    PERMITTED_RISE,
    Cooling,
    Load,
    PartResult,
    PathPart,
    judge,
    weakest_part,
    weakest_result,
)

__all__ = [
    "COVERED",
    "OPEN",
    "PERMITTED_RISE",
    "Conductor",
    "Cooling",
    "Fuse",
    "FuseCheck",
    "FuseDuty",
    "Load",
    "PartResult",
    "PathKind",
    "PathPart",
    "PathPlan",
    "PathSheet",
    "Protected",
    "SteadyRise",
    "StripChoice",
    "Surface",
    "WireChoice",
    "WireMetal",
    "adiabatic_constant",
    "adiabatic_current",
    "adiabatic_rise",
    "adiabatic_time",
    "awg_area",
    "awg_diameter",
    "check_fuse",
    "clearing_time",
    "current_by_ends",
    "current_by_surface",
    "drop",
    "judge",
    "loss",
    "melting_time",
    "narrowest_strip",
    "onderdonk_current",
    "onderdonk_time",
    "path_sheet",
    "preece_current",
    "preece_diameter",
    "preece_metal",
    "resistance",
    "rise_by_ends",
    "rise_by_surface",
    "smallest_gauge",
    "smallest_strip",
    "smallest_wire",
    "steady_rise",
    "strip",
    "weakest_part",
    "weakest_result",
    "wire",
]
