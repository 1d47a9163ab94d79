"""What a low cell may be brought up with, if at all."""

from enum import StrEnum
from math import isfinite

from packs.chemistry.limits import limits
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import Chemistry
from packs.units import Quantity


class Recovery(StrEnum):
    """How a cell of a certain rest voltage may be charged."""

    CHARGE = "charge"
    PRECHARGE = "precharge"
    REJECT = "reject"


def recovery(chemistry: Chemistry, rest_voltage: Quantity) -> Recovery:
    """Say whether a cell is charged as usual, brought up slowly first, or not charged again.

    The line below which nothing is charged is one of makers and practice, with margin: nothing in physics starts
    there. Only a stop at ``precharge_below`` that is reached in time ends the precharge well; where it is not, the
    cell is rejected.

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell.
    rest_voltage : Quantity
        Of one cell [voltage].

    Returns
    -------
    Recovery
        At ``reject_below`` itself a cell is still brought up, at ``precharge_below`` it is charged.

    Raises
    ------
    MissingFact
        The chemistry has no such lines, or they are not known.
    ImpossibleValue
        The voltage is not a number.

    References
    ----------
    Product specification of an 18650 cell of 2.5 Ah, 8-1; product specification of a small lithium iron phosphate cell;
    by value in ``ChemistryLimits.sources``.

    Examples
    --------
    >>> from packs.units import ureg
    >>> str(recovery(Chemistry.NMC, ureg.Quantity(2.4, "V")))
    'precharge'
    """
    found = limits(chemistry)
    volts = float(rest_voltage.to("V").magnitude)
    if not isfinite(volts):
        raise ImpossibleValue("A rest voltage is a number.")
    if found.reject_below is None:
        raise MissingFact(f"For {chemistry.label}, {found.about('reject_below')}; see the cell's data sheet.")
    if volts < found.reject_below.to("V").magnitude:
        return Recovery.REJECT
    return Recovery.PRECHARGE if volts < found.require("precharge_below").to("V").magnitude else Recovery.CHARGE
