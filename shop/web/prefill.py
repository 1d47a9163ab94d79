"""What is known already, put into a form as somebody would type it."""

from django import forms

from packs.units import show, ureg
from shop.web.forms.base import QuantityField


def typed(field: QuantityField, stored: object, *, locale: str) -> str:
    """Return a stored number so that reading it back gives it exactly; nothing where it is not known."""
    if stored is None:
        return ""
    quantity = ureg.Quantity(float(str(stored)), field.unit)
    text = str(show(quantity, field.kind, locale=locale))
    return text if _reads_back(field, text, stored) else f"{stored} {quantity.units:~P}"


def _reads_back(field: QuantityField, text: str, stored: object) -> bool:
    try:
        return field.clean(text) == stored
    except forms.ValidationError:
        return False
