"""Voltages due at the taps."""

from decimal import Decimal

import pytest

from packs.network import expected_taps_mv


@pytest.mark.parametrize(
    ("groups", "taps"),
    [
        pytest.param([[3620, 3620]] * 2, ["3620.000", "7240.000"], id="four cells at 3.62 V as 2s2p: common practice"),
        pytest.param(
            [[3600], [3610], [3590]], ["3600.000", "7210.000", "10800.000"], id="3s1p: Kirchhoff's voltage law"
        ),
        pytest.param([[3600, 3601, 3601]], ["3600.667"], id="mean of three, rounded to 0.001 mV: arithmetic"),
    ],
)
def test_a_tap_carries_the_groups_below_it(groups: list[list[int]], taps: list[str]) -> None:
    cells = [[Decimal(mv) for mv in group] for group in groups]
    assert expected_taps_mv(cells) == [Decimal(tap) for tap in taps]
