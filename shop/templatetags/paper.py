"""What papers need to print: quantities that are no reading, exact energies, limits in words."""

from decimal import Decimal

from django import template
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from packs.terms import Measure
from packs.units import Kind, Shown, measure_kind, of, show, ureg
from shop.bridge.documents import Limit

from .shop import DASH, NOT_KNOWN, _html, _in_words, _locale

register = template.Library()

MOST_DECIMALS = 4

BIN = (
    '<g fill="none" stroke="#000000" stroke-width="4" stroke-linejoin="round">'
    '<path d="M27 26 H73 L67 80 H33 Z"/><path d="M23 26 H77 M40 26 V18 H60 V26"/>'
    '<path d="M36 36 H64"/></g><circle cx="64" cy="84" r="6" fill="#000000"/><path d="M34 80 V88 H42 V80" fill="#000000"/>'
    '<path d="M10 8 L90 94 M90 8 L10 94" stroke="#000000" stroke-width="5" fill="none"/>'
)


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
def ampere_hours(context: Context, value_mah: Decimal) -> SafeString:
    """Print a rated capacity in Ah, as labels carry it."""
    quantity = ureg.Quantity(float(value_mah), "mAh")
    return _html(show(quantity, Kind.CAPACITY, locale=_locale(context), symbol="Ah"))


@register.simple_tag
def crossed_out_bin(side_um: Decimal) -> SafeString:
    """Draw the crossed-out bin in its size: Annex VI B of (EU) 2023/1542 shows it, drawn here from memory."""
    side = f"{side_um / 1000:.1f}mm"
    drawing = mark_safe(BIN)  # noqa: S308 - our own drawing
    return format_html(
        '<svg class="bin" viewBox="0 0 100 100" width="{}" height="{}" role="img">'
        "<title>crossed-out wheeled bin</title>{}</svg>",
        side,
        side,
        drawing,
    )


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


@register.simple_tag(takes_context=True)
def limit_words(context: Context, limit: Limit) -> str:
    """Write a limit as running text, which takes a fraction of the time of marked up numbers where there are many."""
    low, high = (_end(context, limit.measure, end) for end in (limit.low, limit.high))
    if low is None or high is None:
        return f"{'at most' if low is None else 'at least'} {high or low or ''}"
    return str(low) if low == high else f"{Shown(low.value, '' if low.unit == high.unit else low.unit)}{DASH}{high}"


@register.simple_tag(takes_context=True)
def quantity_words(context: Context, value: Decimal | None, measure: str) -> str:
    """Write a stored number as running text."""
    return "not known" if value is None else str(_in_words(context, value, measure))


def _end(context: Context, measure: Measure, value: Decimal | None) -> Shown | None:
    return None if value is None else show(of(measure, value), measure_kind(measure), locale=_locale(context))
