"""Check cells of a tester, and what a cell that passed its tests has cost."""

from dataclasses import dataclass
from decimal import Decimal

from packs.errors import ImpossibleValue
from packs.units import Quantity, ureg

DIGITS = 9
WITHIN = ureg.Quantity(2, "percent")
"""How far a channel may read beside what is known of its check cell: common practice, no source."""

HOUR = Decimal(60)  # minutes


def deviation(read: Quantity, known: Quantity) -> Quantity:
    """Return by how much a channel reads beside what is known of its check cell [%].

    Parameters
    ----------
    read, known : Quantity
        [capacity]

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> f"{deviation(ureg.Quantity(2450, 'mAh'), ureg.Quantity(2500, 'mAh')).m_as('percent'):.1f}"
    '-2.0'
    """
    return ureg.Quantity(round(float((read / known - 1).m_as("percent")), DIGITS), "percent")


def agrees(read: Quantity, known: Quantity) -> bool:
    """Whether a channel reads its check cell as it is known [capacity].

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> agrees(ureg.Quantity(2449, "mAh"), ureg.Quantity(2500, "mAh"))
    False
    """
    return bool(abs(deviation(read, known)) <= WITHIN)


@dataclass(frozen=True)
class TestsDone:
    """What testing took: the cells that were tested and those that passed.

    Attributes
    ----------
    channel_cost : Decimal
        Hours in channels times what an hour of each costs [currency].
    handling : Decimal
        Minutes of work at the bench [min].
    labour : Decimal
        For one hour of work [currency].
    """

    tested: int
    passed: int
    channel_cost: Decimal
    handling: Decimal
    labour: Decimal


def cost_of_passed(done: TestsDone) -> Decimal | None:
    """Return what testing one passed cell has cost [currency], those that failed borne by it; None where none passed.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> cost_of_passed(TestsDone(10, 8, Decimal(12), Decimal(40), Decimal(30)))
    Decimal('4')
    """
    if done.passed > done.tested:
        raise ImpossibleValue("More cells passed than were tested.")
    if not done.passed:
        return None
    return (done.channel_cost + done.handling * done.labour / HOUR) / done.passed
