"""A sample of bought cells beside the data sheet, just below, at and above each bound (common practice, no source).

The sheet is invented: 50 g, 20 mm by 70 mm, 2000 mAh, 20 mΩ, so that shares are read off.
"""

from math import nan

import pytest

from packs import goods_in
from packs.goods_in import Compared
from packs.units import Quantity, ureg


def q(value: float, unit: str) -> Quantity:
    return ureg.Quantity(value, unit)


def mass(grams: float) -> Compared:
    return goods_in.of_mass(q(grams, "g"), q(50, "g"))


def size(mm: float) -> Compared:
    return goods_in.of_size("height", q(mm, "mm"), q(70, "mm"))


def capacity(mah: float) -> Compared:
    return goods_in.of_capacity(q(mah, "mAh"), q(2, "Ah"))


def resistance(mohm: float) -> Compared:
    return goods_in.of_resistance(q(mohm, "mohm"), q(20, "mohm"))


@pytest.mark.parametrize("one", [mass(47.5), mass(52.5), size(68.6), size(71.4), capacity(1800), capacity(2200),
                                 resistance(10), resistance(30)])  # fmt: skip
def test_at_its_bound_a_sample_still_can_be(one: Compared) -> None:
    assert goods_in.doubt(one) == ""


@pytest.mark.parametrize("one", [mass(47.49), mass(52.51), size(68.59), size(71.41), capacity(1799), capacity(2201),
                                 resistance(9.99), resistance(30.01), mass(nan)])  # fmt: skip
def test_beyond_it_is_not_of_these_cells(one: Compared) -> None:
    assert one.what in goods_in.doubt(one)


def test_what_is_not_known_is_not_compared() -> None:
    assert goods_in.doubt(goods_in.of_mass(None, q(50, "g"))) == ""
    assert goods_in.doubt(goods_in.of_resistance(q(30, "mohm"), None)) == ""
