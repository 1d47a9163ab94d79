"""What is known already, put into a form as somebody would type it."""

from decimal import Decimal

from django import forms

from packs.units import Kind, show, ureg
from shop.web.forms.base import QuantityField

DIGITS = (None, 1, 2, 3, 4, 5, 6)
"""How many digits are tried until a number reads back as it is stored; first what its kind is read with."""

FEWEST_DIGITS = range(7)


def typed(field: QuantityField, stored: object, *, locale: str) -> str:
    """Return a stored number in the unit that stands beside its box, with as few digits as read back exactly.

    Where the box names no unit, or its kind has no such one, the number brings its own.
    """
    if stored is None or not field.typed_unit or field.kind is Kind.TEMPERATURE:
        return as_read(field, stored, locale=locale)
    quantity = ureg.Quantity(float(Decimal(str(stored))), field.unit)
    for digits in FEWEST_DIGITS:
        shown = show(quantity, field.kind, locale=locale, digits=digits, symbol=field.typed_unit)
        if shown.unit == field.typed_unit and _reads_back(field, shown.value, stored):
            return shown.value
    return as_read(field, stored, locale=locale)


def as_read(field: QuantityField, stored: object, *, locale: str) -> str:
    """Return a stored number with the digits and the unit it is read with; nothing where it is not known."""
    if stored is None:
        return ""
    number = Decimal(str(stored)) / (1000 if field.kind is Kind.TEMPERATURE else 1)  # columns hold thousandths of °C
    quantity = ureg.Quantity(float(number), field.unit)
    texts = [str(show(quantity, field.kind, locale=locale, digits=digits)) for digits in DIGITS]
    return next((text for text in texts if _reads_back(field, text, stored)), texts[-1])


def _reads_back(field: QuantityField, text: str, stored: object) -> bool:
    try:
        return field.clean(text) == stored
    except forms.ValidationError:
        return False
