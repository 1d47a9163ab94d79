"""Which voltage a single cell can rest at: 0.5 V above the charge limit is common practice, no source."""

import math

import pytest

from packs.cells import is_possible_at_rest
from packs.units import ureg


@pytest.mark.parametrize(
    ("millivolts", "possible"),
    [
        (0, True),
        (-1, False),
        (4199, True),
        (4200, True),
        (4699, True),
        (4700, True),
        (4701, False),
        (16000, False),
        (math.nan, False),
    ],
)
def test_a_cell_rests_between_nothing_and_a_little_above_its_charge_limit(millivolts: float, possible: bool) -> None:
    assert is_possible_at_rest(ureg.Quantity(millivolts, "mV"), ureg.Quantity(4.2, "V")) is possible


def test_the_limit_is_the_cells_own() -> None:
    """An LFP cell ends its charge at 3.65 V: 4.20 V is too much by 0.05 V."""
    assert not is_possible_at_rest(ureg.Quantity(4.2, "V"), ureg.Quantity(3.65, "V"))
    assert is_possible_at_rest(ureg.Quantity(4.15, "V"), ureg.Quantity(3.65, "V"))
