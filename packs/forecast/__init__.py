"""What a pack does over time: discharge, charge and rest, from its cells' capacity, DC resistance and rest voltage.

Discharge current counts positive. Cells keep the temperature at which they were measured: the model stops being true
where a cell warms by more than a few kelvin, close to the two ends of charge where no pulse was measured, and for
currents that change within seconds.
"""

from packs.forecast.cells import PackCells, ResistanceOverCharge, pack_cells
from packs.forecast.loads import ConstantCurrent, ConstantPower, ConstantResistance, Load
from packs.forecast.result import End, Forecast
from packs.forecast.run import charge, discharge, rest
from packs.forecast.slow import SlowTerm, slow_term_of_relaxation
from packs.forecast.state import State, rested

__all__ = [
    "ConstantCurrent",
    "ConstantPower",
    "ConstantResistance",
    "End",
    "Forecast",
    "Load",
    "PackCells",
    "ResistanceOverCharge",
    "SlowTerm",
    "State",
    "charge",
    "discharge",
    "pack_cells",
    "rest",
    "rested",
    "slow_term_of_relaxation",
]
