"""Groups in series: resistance, taps, and whether the readings of a stack agree."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import accumulate

from packs.network.checked import volts_of
from packs.network.parallel import group_resistance
from packs.units import Quantity, ureg


def pack_resistance(groups: Sequence[Sequence[Quantity]], links: Sequence[Quantity] = ()) -> Quantity:
    """Return the resistance of groups and links in series [mΩ]: the sum of them.

    Raises
    ------
    ImpossibleValue
        A group has no cell, or a cell's resistance is not above zero.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> f"{pack_resistance([[ureg.Quantity(30, 'mΩ')] * 3] * 10, [ureg.Quantity(1, 'mΩ')] * 11):.1f}"
    '111.0 milliohm'
    """
    parts = [*(group_resistance(group) for group in groups), *links]
    return ureg.Quantity(sum(float(part.to("milliohm").magnitude) for part in parts), "milliohm")


def tap_voltages(group_voltages: Sequence[Quantity]) -> list[Quantity]:
    """Return the voltage of each tap against the negative end [V]: group 1, groups 1 and 2, ... the whole stack.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> [f"{tap:.2f}" for tap in tap_voltages([ureg.Quantity(3.62, "V")] * 2)]
    ['3.62 volt', '7.24 volt']
    """
    return [ureg.Quantity(volt, "V") for volt in accumulate(volts_of(group_voltages))]


def expected_taps_mv(groups_mv: Sequence[Sequence[Decimal]]) -> list[Decimal]:
    """Return the voltage due at each tap [mV] from the rest voltages of the cells, exact to 0.001 mV.

    Cells of like resistance that are joined settle at the mean of their rest voltages (bus voltage without load),
    so a group is due at that mean, and a tap at the sum of the groups below it.

    Parameters
    ----------
    groups_mv : sequence of sequence of Decimal
        Rest voltage of every cell [mV], group by group from the negative end; no group is empty.

    References
    ----------
    Kirchhoff's laws.

    Examples
    --------
    >>> expected_taps_mv([[Decimal(3620), Decimal(3620)], [Decimal(3610), Decimal(3630)]])
    [Decimal('3620.000'), Decimal('7240.000')]
    """
    means = [(sum(group, Decimal()) / len(group)).quantize(Decimal("0.001")) for group in groups_mv]
    return list(accumulate(means))


def meters_error(meter_errors: Sequence[Quantity]) -> Quantity:
    """Return how far readings that are compared may lie apart by their meters alone [V].

    The errors of all readings that enter the comparison are added plainly, as if all erred the same way.

    Parameters
    ----------
    meter_errors : sequence of Quantity
        Greatest error of each reading [voltage], from the meter's data sheet; the sign does not count.

    Raises
    ------
    ImpossibleValue
        An error is not finite.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> f"{meters_error([ureg.Quantity(80, 'mV'), ureg.Quantity(0.04, 'V')]):.2f}"
    '0.12 volt'
    """
    return ureg.Quantity(sum(abs(volt) for volt in volts_of(meter_errors)), "V")


def agrees(difference_mv: Decimal, limit_mv: Decimal) -> bool:
    """Whether a difference of either sign lies within the limit, both in exact millivolts; equal agrees, NaN never.

    Both in [mV].

    References
    ----------
    Common practice, no source: a limit is kept when it is just reached.

    Examples
    --------
    >>> agrees(Decimal("-100"), Decimal("100")), agrees(Decimal("100.001"), Decimal("100"))
    (True, False)
    """
    if difference_mv.is_nan() or limit_mv.is_nan():
        return False
    return abs(difference_mv) <= limit_mv
