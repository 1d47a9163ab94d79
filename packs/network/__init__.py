"""Cells of a pack as voltages behind resistances, solved by Kirchhoff's laws.

Discharge current counts positive. Voltages are rest voltages; nothing here knows how long a current lasts
except ``settling``.
"""

from packs.network.joining import (
    Joining,
    Settling,
    joining_current_against_group,
    largest_joining_current,
    settling,
)
from packs.network.parallel import branch_currents, bus_voltage, equalising_currents, group_resistance
from packs.network.stack import agreement_limit, agrees, expected_taps_mv, pack_resistance, tap_voltages

__all__ = [
    "Joining",
    "Settling",
    "agreement_limit",
    "agrees",
    "branch_currents",
    "bus_voltage",
    "equalising_currents",
    "expected_taps_mv",
    "group_resistance",
    "joining_current_against_group",
    "largest_joining_current",
    "pack_resistance",
    "settling",
    "tap_voltages",
]
