"""Self-discharge from a falling rest voltage: as a loss of charge, and beside the other cells of the lot."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

from packs.chemistry.curves import curves_of
from packs.errors import ImpossibleValue, MissingFact
from packs.terms import Chemistry
from packs.units import Quantity, ureg

FIRST_READING = ureg.Quantity(24, "hour")
LEAST_HELD = ureg.Quantity(7, "day")
LEAST_OTHERS = 3
"""A fall needs a cell that has settled and a week to show; a median of fewer than three cells is none. Common practice,
no source."""

LEAST_SLOPE = ureg.Quantity(0.3, "V")
"""A curve flatter than this over a full charge tells no loss: a few mV would mean several per cent. A choice of ours: LFP
lies at 0.1 V on its plateau, high-nickel cells at 0.7 V and more at half charge."""

MONTH = ureg.Quantity(30, "day")


@dataclass(frozen=True)
class Hold:
    """One cell put aside at rest.

    Attributes
    ----------
    charged_on : date
        The day it was charged.
    place : str
        Where it lay.
    first_after : Quantity
        From the end of the charge to the first reading [h].
    lasted : Quantity
        From the first reading to the last [d].
    first, last : Quantity
        Rest voltages [voltage].
    """

    charged_on: date
    place: str
    first_after: Quantity
    lasted: Quantity
    first: Quantity
    last: Quantity

    @property
    def fall(self) -> Quantity:
        """How fast the rest voltage fell [mV/day]."""
        if not self.lasted.m_as("day") > 0:
            raise ImpossibleValue("A hold lasts some time.")
        return ureg.Quantity(float((self.first - self.last).m_as("mV") / self.lasted.m_as("day")), "mV/day")

    @property
    def provisional(self) -> bool:
        """Whether it was too short to say anything final."""
        return bool(self.lasted < LEAST_HELD)

    def beside(self, other: "Hold") -> bool:
        """Whether both were charged on one day and lay in one place."""
        return (self.charged_on, self.place) == (other.charged_on, other.place)


def lot_median(hold: Hold, lot: Sequence[Hold]) -> Quantity:
    """Return how fast the rest voltage of a lot falls in the middle, of cells held like one of them [mV/day].

    Parameters
    ----------
    hold : Hold
        Of the cell in question, with times [h], [d].
    lot : sequence of Hold
        Of all cells of its lot, the cell itself among them.

    Raises
    ------
    MissingFact
        The first reading came too early, or fewer than three others were charged on the day and lay in the place.

    References
    ----------
    Common practice, no source.
    """
    if hold.first_after < FIRST_READING:
        raise MissingFact(
            "The first reading is taken at least 24 h after the charge; before that the cell still settles."
        )
    like = [each for each in lot if each.beside(hold) and each.first_after >= FIRST_READING]
    if len(like) - (hold in like) < LEAST_OTHERS:
        raise MissingFact("Fewer than three other cells of the lot were charged on that day and lay in that place.")
    return ureg.Quantity(median(float(each.fall.m_as("mV/day")) for each in like), "mV/day")


def loss_in_a_month(chemistry: Chemistry, rest_voltage: Quantity, fall: Quantity) -> Quantity:
    """Return the charge that a cell loses in 30 days by its rated capacity [%].

    The least slope of the published curves at this voltage is taken, so that the loss is not told too small.

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell.
    rest_voltage : Quantity
        Around which it falls [voltage].
    fall : Quantity
        How fast [mV/day].

    Raises
    ------
    MissingFact
        No curve of the chemistry is known, or it is too flat here.

    References
    ----------
    Trade articles on self-discharge measurement: loss = (dV/dt)/(dOCV/dSOC); the curves, as in ``curves_of``.

    Examples
    --------
    >>> loss = loss_in_a_month(Chemistry.NMC, ureg.Quantity(3.62, "V"), ureg.Quantity(0.7, "mV/day"))
    >>> 2 < loss.m_as("percent") < 4
    True
    """
    slopes = [curve.slope(curve.state(rest_voltage)) for curve in curves_of(chemistry)]
    least = min(slopes, key=lambda slope: float(slope.m_as("V")))
    return loss_by_slope(fall, least)


def loss_by_slope(fall: Quantity, slope: Quantity) -> Quantity:
    """Return the charge lost in 30 days by rated capacity [%], where the slope of the rest voltage is known.

    Parameters
    ----------
    fall : Quantity
        [mV/day]
    slope : Quantity
        Change of the rest voltage over a full charge [V].

    Raises
    ------
    MissingFact
        The curve is too flat for a voltage to tell a loss.

    References
    ----------
    Trade articles on self-discharge measurement.

    Examples
    --------
    >>> f"{loss_by_slope(ureg.Quantity(10 / 14, 'mV/day'), ureg.Quantity(0.7, 'V')).m_as('percent'):.2f}"
    '3.06'
    """
    if not slope >= LEAST_SLOPE:
        raise MissingFact("the rest voltage hardly changes with the charge here: a fall of it tells no loss")
    return ureg.Quantity(float((fall * MONTH / slope).m_as("percent")), "percent")
