"""Which load to draw while a fault is looked for, from the weakest group."""

from math import floor, log10

from packs.errors import ImpossibleValue
from packs.units import Quantity, ureg

OF_RATED_CURRENT = 0.25
OF_CAPACITY = 0.5  # 1/h
"""Shares of what a sound group of these cells may be discharged with, and of its rated capacity: enough to see a sag, and
no more than a group of unknown state is asked for. Common practice, no source."""
DIGITS = 2


def gentle_load(cells: int, rated_capacity: Quantity, rated_current: Quantity | None = None) -> Quantity:
    """Return the load to draw where none is stated [A]: both shares kept to, rounded down.

    Parameters
    ----------
    cells : int
        In parallel in the weakest group.
    rated_capacity : Quantity
        Of one cell [mAh].
    rated_current : Quantity or None
        Largest continuous discharge current of one cell [A]; None where the data sheet is not at hand.

    Raises
    ------
    ImpossibleValue
        There is no cell, or a rating is not above zero.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> print(gentle_load(2, ureg.Quantity(2600, "mAh"), ureg.Quantity(5.2, "A")), gentle_load(2, ureg.Quantity(2600, "mAh")))
    2.6 ampere 2.6 ampere
    """
    shares = [OF_CAPACITY * float(rated_capacity.to("Ah").magnitude)]
    if rated_current is not None:
        shares.append(OF_RATED_CURRENT * float(rated_current.to("A").magnitude))
    whole = cells * min(shares)
    if not whole > 0:
        raise ImpossibleValue("A group has a cell, and a cell a capacity and a current above zero.")
    step = 10.0 ** (floor(log10(whole)) - DIGITS + 1)
    amperes: Quantity = ureg.Quantity(round(floor(whole / step + 1e-9) * step, 6), "A")
    return amperes
