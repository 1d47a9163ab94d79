"""Whether two discharges are alike enough for their capacities to be held against each other."""

from dataclasses import dataclass

from packs.units import Quantity, ureg

RATE_APART = 0.25
CUT_OFF_APART = ureg.Quantity(100, "mV")
TEMPERATURE_APART = ureg.Quantity(5, "delta_degC")
"""How far rate (as a share), cut-off voltage of a cell and temperature of two discharges may lie apart; common practice,
no source: within that a capacity moves by less than the share that is left to another tester."""

ROUNDING = 1 + 1e-9
"""What was typed as a decimal fraction is a binary one here."""


@dataclass(frozen=True)
class Discharged:
    """How a capacity was measured: current by rated capacity [1/hour], cut-off voltage of a cell [V], temperature [degC].

    What nobody said is None.
    """

    rate: Quantity | None = None
    cut_off: Quantity | None = None
    temperature: Quantity | None = None

    @property
    def whole(self) -> bool:
        """Whether all three are known."""
        return None not in (self.rate, self.cut_off, self.temperature)


def rate_of(current: Quantity, rated: Quantity) -> Quantity:
    """Return the rate of a discharge: its current by the rated capacity [1/hour].

    Parameters
    ----------
    current : Quantity
        [current]
    rated : Quantity
        [charge]

    References
    ----------
    IEC 61960-3:2017, clause 7.3.1: rates are multiples of the rated capacity by one hour (from memory).

    Examples
    --------
    >>> rate_of(ureg.Quantity(520, "mA"), ureg.Quantity(2600, "mAh"))
    <Quantity(0.2, '1 / hour')>
    """
    return (current / rated).to("1/hour")


def alike(one: Discharged, other: Discharged) -> bool | None:
    """Return whether two discharges are alike: False where one thing lies too far apart, None where too little is known.

    Rates [1/hour], voltages [V], temperatures [degC].

    References
    ----------
    IEC 61960-3:2017, clause 7.3.1 measures at one rate, to one voltage, at 20 °C ± 5 °C (from memory). How far rate and
    cut-off may lie apart: common practice, no source.

    Examples
    --------
    >>> fifth, half = (Discharged(ureg.Quantity(rate, "1/hour")) for rate in (0.2, 0.5))
    >>> alike(fifth, half), alike(fifth, fifth)
    (False, None)
    """
    known = [
        near
        for near in (
            _rate_near(one.rate, other.rate),
            _near(one.cut_off, other.cut_off, CUT_OFF_APART),
            _near(one.temperature, other.temperature, TEMPERATURE_APART),
        )
        if near is not None
    ]
    if not all(known):
        return False
    return True if len(known) == 3 else None


def _rate_near(one: Quantity | None, other: Quantity | None) -> bool | None:
    if one is None or other is None:
        return None
    low, high = sorted([one, other])
    return bool(high <= low * (1 + RATE_APART) * ROUNDING)


def _near(one: Quantity | None, other: Quantity | None, apart: Quantity) -> bool | None:
    if one is None or other is None:
        return None
    return bool(abs(one - other) <= apart * ROUNDING)
