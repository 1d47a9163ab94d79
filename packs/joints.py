"""Joints: bolted ones, and how often one is made again."""

from packs.units import Quantity

TORQUE_TOLERANCE = 0.1
MOST_TRIES = 3
"""Tries at one joint, the first one counted; common practice, no source."""


def torque_window(data_sheet: Quantity) -> tuple[Quantity, Quantity]:
    """Return the lowest and highest torque that counts as the torque of the data sheet [N·m].

    Parameters
    ----------
    data_sheet : Quantity
        Torque of the terminal bolts on the cell's data sheet [torque].

    References
    ----------
    Common practice, no source: a tenth either way, what a click wrench in order keeps.

    Examples
    --------
    >>> from packs.units import ureg
    >>> [f"{end:.1f}" for end in torque_window(ureg.Quantity(6, "N*m"))]
    ['5.4 meter * newton', '6.6 meter * newton']
    """
    return (1 - TORQUE_TOLERANCE) * data_sheet, (1 + TORQUE_TOLERANCE) * data_sheet
