"""When two discharges are alike: at, within and beyond how far they may lie apart; what is not known is not alike."""

import pytest

from packs.discharges import Discharged, alike
from packs.units import ureg


def discharged(rate: float | None = 0.2, volts: float | None = 3.0, celsius: float | None = 22) -> Discharged:
    return Discharged(
        None if rate is None else ureg.Quantity(rate, "1/hour"),
        None if volts is None else ureg.Quantity(volts, "V"),
        None if celsius is None else ureg.Quantity(celsius, "degC"),
    )


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        (discharged(), True),
        (discharged(rate=0.25), True),
        (discharged(rate=0.16), True),
        (discharged(rate=0.26), False),
        (discharged(rate=0.15), False),
        (discharged(volts=3.1), True),
        (discharged(volts=2.89), False),
        (discharged(celsius=27), True),
        (discharged(celsius=16.9), False),
        (discharged(rate=None), None),
        (discharged(volts=None), None),
        (discharged(celsius=None), None),
        (discharged(rate=None, celsius=40), False),
        (discharged(None, None, None), None),
    ],
)
def test_alike_within_what_may_lie_apart(other: Discharged, expected: bool | None) -> None:
    """A quarter of the rate, 0.1 V a cell, 5 K: common practice, no source."""
    assert alike(discharged(), other) is expected
    assert alike(other, discharged()) is expected
    assert discharged().whole
