"""What is known already stands in a form as somebody would type it, and reads back as exactly what was stored."""

from decimal import Decimal

import pytest

from packs.terms import Measure
from packs.units import NumberFormat
from shop.web import prefill
from shop.web.forms.base import QuantityField

# The stored unit of each measure is in its name, but for temperatures: thousandths of a degree Celsius.
STORED = [
    (Measure.VOLTAGE, "3620", "3.62"),
    (Measure.VOLTAGE, "16619.999", "16.619999"),
    (Measure.CURRENT, "1000", "1"),
    (Measure.CAPACITY, "1501.6", "1501.6"),
    (Measure.TEMPERATURE, "22000", "22.0 °C"),
    (Measure.TEMPERATURE, "-5500", "-5.5 °C"),
    (Measure.TEMPERATURE, "22125", "22.125 °C"),
    (Measure.REST_VOLTAGE, "0", "0"),
]


@pytest.mark.parametrize(("measure", "stored", "shown"), STORED)
def test_it_reads_back(measure: Measure, stored: str, shown: str) -> None:
    field = QuantityField.of(measure)
    field.numbers = NumberFormat.of_locale("en")
    text = prefill.typed(field, Decimal(stored), locale="en")
    assert text.replace("\N{NARROW NO-BREAK SPACE}", " ") == shown
    assert field.clean(text) == Decimal(stored)


@pytest.mark.parametrize(("measure", "stored", "shown"), [(Measure.CAPACITY, "1501.6", "1501,6")])
def test_in_the_locale_of_the_shop(measure: Measure, stored: str, shown: str) -> None:
    field = QuantityField.of(measure)
    field.numbers = NumberFormat.of_locale("de")
    text = prefill.typed(field, Decimal(stored), locale="de")
    assert text.replace("\N{NARROW NO-BREAK SPACE}", " ") == shown
    assert field.clean(text) == Decimal(stored)


def test_what_is_not_known_is_not_typed() -> None:
    assert prefill.typed(QuantityField.of(Measure.VOLTAGE), None, locale="en") == ""
