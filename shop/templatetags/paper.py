"""What papers need to print: quantities that are no reading, exact energies, limits in words."""

from decimal import Decimal

from django import template
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString

from packs.terms import Measure
from packs.units import Kind, Shown, measure_kind, of, show, ureg
from shop.bridge.documents import Limit

from .shop import DASH, NOT_KNOWN, _html, _locale

register = template.Library()

MOST_DECIMALS = 4


@register.simple_tag(takes_context=True)
def figure(
    context: Context, value: Decimal | int | None, unit: str, kind: str, digits: int | None = None
) -> SafeString:
    """Print a number of a unit, such as a length in "um" as "length", with so many digits or what suits the kind."""
    if value is None:
        return NOT_KNOWN
    return _html(show(ureg.Quantity(float(value), unit), Kind(kind), locale=_locale(context), digits=digits))


@register.simple_tag(takes_context=True)
def energy(context: Context, value_mwh: Decimal | None) -> SafeString:
    """Print an exact energy in Wh: with two decimals, or as many more as it has."""
    if value_mwh is None:
        return NOT_KNOWN
    exact = (value_mwh / 1000).normalize()
    decimals = min(max(2, -int(exact.as_tuple().exponent)), MOST_DECIMALS)
    quantity = ureg.Quantity(float(exact), "watt*hour")
    return _html(show(quantity, Kind.ENERGY, locale=_locale(context), digits=decimals))


@register.simple_tag(takes_context=True)
def share(context: Context, value: Decimal) -> SafeString:
    """Print a change as a percentage with its sign."""
    shown = show(ureg.Quantity(float(value), "dimensionless"), Kind.FRACTION, locale=_locale(context))
    return _html(Shown(f"+{shown.value}" if value > 0 else shown.value, shown.unit))


@register.simple_tag(takes_context=True)
def share_of_rated(context: Context, value: Decimal) -> SafeString:
    """Print a share as a percentage."""
    return _html(show(ureg.Quantity(float(value), "dimensionless"), Kind.FRACTION, locale=_locale(context)))


@register.simple_tag(takes_context=True)
def limit(context: Context, limit: Limit) -> SafeString:
    """Print a limit: "at most 3.740 V", "at least 2.000 V", "10.0 … 40.0 °C", or a number that must be met."""
    low, high = (_end(context, limit.measure, end) for end in (limit.low, limit.high))
    if low is None or high is None:
        return format_html("{} {}", "at most" if low is None else "at least", _html(high or low or Shown("", "")))
    if low == high:
        return _html(low)
    return format_html("{}{}{}", _html(Shown(low.value, "" if low.unit == high.unit else low.unit)), DASH, _html(high))


def _end(context: Context, measure: Measure, value: Decimal | None) -> Shown | None:
    return None if value is None else show(of(measure, value), measure_kind(measure), locale=_locale(context))
