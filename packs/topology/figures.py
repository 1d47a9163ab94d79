"""What a pack is rated at, and what its cells then carry."""

from dataclasses import dataclass

from packs.cells import CellModelData
from packs.errors import ImpossibleValue
from packs.terms import Measure
from packs.topology.arrangement import Arrangement
from packs.units import Quantity, to


@dataclass(frozen=True)
class PackFigures:
    """What a pack of one cell model is rated at; ``None`` where the model does not say.

    Attributes
    ----------
    nominal_voltage, voltage_low, voltage_high : Quantity or None
        Of the stack [V]: nominal, every cell at its end of discharge, every cell at its charge limit.
    rated_capacity : Quantity or None
        [Ah]
    rated_energy : Quantity or None
        [Wh]
    """

    nominal_voltage: Quantity | None
    voltage_low: Quantity | None
    voltage_high: Quantity | None
    rated_capacity: Quantity | None
    rated_energy: Quantity | None


def pack_figures(arrangement: Arrangement, model: CellModelData) -> PackFigures:
    """Multiply a cell model up to a pack: voltages by the groups in series, capacity by the cells in parallel.

    Voltages [V], capacity [Ah], energy [Wh].

    References
    ----------
    Kirchhoff's laws for equal cells; rated energy is nominal voltage times rated capacity.

    Examples
    --------
    >>> from packs.terms import CellFormat, Chemistry, Terminals
    >>> from packs.units import ureg
    >>> model = CellModelData("M", Chemistry.NMC, CellFormat.ROUND, Terminals.OPPOSITE_ENDS,
    ...     rated_capacity=ureg.Quantity(2500, "mAh"), nominal_voltage=ureg.Quantity(3.6, "V"))
    >>> f"{pack_figures(Arrangement(4, 2), model).rated_energy:.1f}"
    '72.0 watt_hour'
    """
    nominal = _times(model.nominal_voltage, arrangement.series, "V")
    capacity = _times(model.rated_capacity, arrangement.parallel, "Ah")
    return PackFigures(
        nominal_voltage=nominal,
        voltage_low=_times(model.end_of_discharge, arrangement.series, "V"),
        voltage_high=_times(model.charge_limit, arrangement.series, "V"),
        rated_capacity=capacity,
        rated_energy=None if nominal is None or capacity is None else (nominal * capacity).to("Wh"),
    )


def _times(quantity: Quantity | None, count: int, unit: str) -> Quantity | None:
    return None if quantity is None else quantity.to(unit) * count


def cell_current(pack_current: Quantity, arrangement: Arrangement) -> Quantity:
    """Share a pack current evenly among the cells of a group [A]; unequal cells need ``network.branch_currents``.

    References
    ----------
    Kirchhoff's laws for equal cells.

    Examples
    --------
    >>> from packs.units import ureg
    >>> str(cell_current(ureg.Quantity(15, "A"), Arrangement(10, 3)))
    '5.0 ampere'
    """
    return pack_current.to("A") / arrangement.parallel


def c_rate(current: Quantity, capacity: Quantity) -> Quantity:
    """Return a current as a multiple of the capacity [1/h]; 1 /h empties a full cell in one hour.

    Raises
    ------
    ImpossibleValue
        The capacity is not above zero.

    References
    ----------
    IEC 61960-3, reference test current It = rated capacity / 1 h (from memory).

    Examples
    --------
    >>> from packs.units import ureg
    >>> str(c_rate(ureg.Quantity(1.3, "A"), ureg.Quantity(2600, "mAh")))
    '0.5 / hour'
    """
    if not capacity.to("Ah").magnitude > 0:
        raise ImpossibleValue(f"A capacity of {capacity} has no C-rate.")
    return (current / capacity).to("1/hour")


def step_down_possible(lowest_stack_voltage: Quantity, outlet_voltage: Quantity, dropout: Quantity) -> bool:
    """Whether a step-down converter can hold its outlet until the stack is empty.

    A step-down converter works only while its input lies above outlet plus dropout, so the lowest stack voltage
    counts, not the nominal one: one Li-ion cell never feeds 5 V this way. Compared in exact millivolts; equal is
    not enough.

    Parameters
    ----------
    lowest_stack_voltage, outlet_voltage, dropout : Quantity
        [voltage]; the dropout at the outlet's full current.

    Raises
    ------
    ImpossibleValue
        A value is not a finite voltage, or the dropout is below zero.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> from packs.units import ureg
    >>> step_down_possible(ureg.Quantity(6.0, "V"), ureg.Quantity(5.0, "V"), ureg.Quantity(0.5, "V"))
    True
    >>> step_down_possible(ureg.Quantity(3.0, "V"), ureg.Quantity(5.0, "V"), ureg.Quantity(0.5, "V"))
    False
    """
    stack, outlet, drop = (to(Measure.VOLTAGE, value) for value in (lowest_stack_voltage, outlet_voltage, dropout))
    if drop < 0:
        raise ImpossibleValue(f"A dropout of {dropout} cannot be.")
    return stack > outlet + drop
