"""Cells of a pack as voltages behind resistances, solved by Kirchhoff's laws.

Discharge current counts positive. Voltages are rest voltages; nothing here knows how long a current lasts
except ``settling`` and ``levelling``.
"""

from packs.network.circuit import PackCircuit, PathResistances, pack_circuit, resistance_per_length
from packs.network.feeding import FeedEffect, compare_feeds
from packs.network.joining import (
    Joining,
    Settling,
    joining_current_against_group,
    largest_joining_current,
    settling,
)
from packs.network.parallel import branch_currents, bus_voltage, equalising_currents, group_resistance
from packs.network.paths import CurrentPaths, Parts
from packs.network.resistor import Discharging, Levelling, discharge_over, levelling, levelling_resistor, preferred
from packs.network.response import PackResponse, solve_pack
from packs.network.stack import agrees, expected_taps_mv, meters_error, pack_resistance, tap_voltages

__all__ = [
    "CurrentPaths",
    "Discharging",
    "FeedEffect",
    "Joining",
    "Levelling",
    "PackCircuit",
    "PackResponse",
    "Parts",
    "PathResistances",
    "Settling",
    "agrees",
    "branch_currents",
    "bus_voltage",
    "compare_feeds",
    "discharge_over",
    "equalising_currents",
    "expected_taps_mv",
    "group_resistance",
    "joining_current_against_group",
    "largest_joining_current",
    "levelling",
    "levelling_resistor",
    "meters_error",
    "pack_circuit",
    "pack_resistance",
    "preferred",
    "resistance_per_length",
    "settling",
    "solve_pack",
    "tap_voltages",
]
