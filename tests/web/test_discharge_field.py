"""The points of a measured discharge, as they come out of a tester's table or are typed. Invented numbers."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from packs.units import NumberFormat
from shop.web.forms.curves import DischargeField

POINTS = [(Decimal(0), Decimal(16_500)), (Decimal(500), Decimal(15_900)), (Decimal(5080), Decimal(12_000))]


@pytest.mark.parametrize(
    "text",
    [
        "0 16.5\n500 15.9\n5080 12",
        "0\t16.5\r\n500\t15.9\r\n\r\n5080\t12.0\r\n",
        "0 mAh 16.5 V; 500 mAh 15900 mV; 5.08 Ah 12 V",
        "0: 16.5 V\n500mAh: 15.9V\n5080: 12",
    ],
)
def test_a_point_a_line_with_units_or_without(text: str) -> None:
    assert DischargeField().clean(text) == POINTS


def test_in_the_marks_of_the_shop() -> None:
    field = DischargeField()
    field.numbers = NumberFormat.of_locale("de")
    assert field.clean("0 16,5\n500 15,9\n5080 12") == POINTS


def test_nothing_typed_is_no_curve() -> None:
    assert DischargeField().clean("") == []


@pytest.mark.parametrize("text", ["500", "500 V 15.9 mAh", "time capacity", "500 15.9 25.1", "1 2\n<b>"])
def test_what_is_no_point_is_named(text: str) -> None:
    with pytest.raises(ValidationError):
        DischargeField().clean(text)
