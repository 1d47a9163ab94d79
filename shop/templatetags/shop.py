"""What templates need to print numbers, states and fields; nothing here decides anything."""

import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms, template
from django.contrib.messages.storage.base import Message
from django.forms.boundfield import BoundField
from django.template import Context
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from packs.terms import Measure, Outcome, Severity
from packs.units import Kind, Quantity, Shown, in_marks, measure_kind, of, show, show_money, show_price, ureg
from shop.bridge.standing import named
from shop.bridge.waste import RECALLED

from .shapes import SHAPES

register = template.Library()

NOT_KNOWN = mark_safe('<span class="soft">not known</span>')
OF_CELLS = frozenset({Measure.DC_RESISTANCE, Measure.AC_RESISTANCE})
"""Resistances of cells, stored in µΩ; a column of them stays in mΩ, as the trade writes them."""
DASH = " \u2026 "
NAV = (
    ("jobs", "Jobs"),
    ("stock", "Stock"),
    ("containers", "Waste containers"),
    ("documents", "Documents"),
    ("settings", "Settings"),
)
STAGE_WORDS = {"done": "done", "now": "now", "ahead": "", "fail": "stopped", "none": "not needed"}
MESSAGE_SHAPES = {"success": "pass", "error": "fail", "warning": "warn"}
FAILED = {Severity.STOP: ("fail", "Stop"), Severity.WARN: ("warn", "Warning"), Severity.NOTE: ("note", "Note")}
ASKED = {
    Outcome.PASS: ("pass", "Holds"),
    Outcome.UNKNOWN: ("unknown", "Not known"),
    Outcome.NOT_APPLICABLE: ("none", "Does not apply"),
    Outcome.ACCEPTED: ("warn", "Accepted in writing"),
}
WEIGHTS = ("fail", "unknown", "warn", "note", "pass", "none")
QUIET = frozenset({"pass", "none"})
DRAWN_WIDTH = re.compile(r'<svg[^>]* width="([0-9.]+)"')
WIDE = (("wider-than-desk", 1060), ("wider-than-tablet", 720), ("wider-than-telephone", 350))
"""Classes of drawings by the widths of page that they do not fit into, in pixels."""
FROM_MEMORY = re.compile(r" \((?:clauses? )?from memory\)")


# --- groups


@register.filter
def named_groups(numbers: Iterable[int]) -> str:
    """Name groups as a sentence does: "group 2", "groups 1, 3 and 4"."""
    return named(numbers)


# --- numbers and days


@register.filter
def day_or_moment(at: datetime | None) -> str:
    """Print when something was measured; midnight is what a day alone is kept as."""
    if at is None:
        return ""
    here = timezone.localtime(at)
    return date_format(here, "j M Y, H:i" if here.hour or here.minute else "j M Y")


@register.filter
def wrong_fields(form: forms.BaseForm) -> list[BoundField]:
    """Return the fields of a form that say what is wrong, in the order of the form."""
    return [field for field in form.visible_fields() if field.errors]


@register.filter
def marked(sentence: object) -> str:
    """Write the numbers of a sentence of ours with the shop's decimal mark."""
    return in_marks(str(sentence))


@register.filter
def decimal(number: Decimal | float) -> str:
    """Write a number without a unit of its own, with the digits it has."""
    return in_marks(str(number), every=True)


@register.filter
def rate(percent: Decimal) -> str:
    """Write a rate such as that of a tax with the decimals it has, and none that are zero."""
    return in_marks(f"{percent.normalize():f}", every=True)


@register.filter
def price(amount: Decimal) -> str:
    """Write what one piece costs: with the two digits of a price, or with those that it has beyond them."""
    exact = amount.normalize()
    cents = exact.as_tuple().exponent
    return in_marks(f"{exact:f}" if isinstance(cents, int) and cents < -2 else f"{amount:.2f}", every=True)


def _locale(context: Context) -> str:
    return str(context.get("number_locale") or "en")


def _in_words(context: Context, value: Decimal | int, measure: str) -> Shown:
    named = Measure(measure)
    if named in OF_CELLS and 0 < value < 1000:
        return show(of(named, value), measure_kind(named), locale=_locale(context), digits=3, symbol="mΩ")
    return show(of(named, value), measure_kind(named), locale=_locale(context))


def _html(number: Shown) -> SafeString:
    value = format_html('<span class="num">{}</span>', number.value)
    unit = format_html('<span class="unit">\u2009{}</span>', number.unit) if number.unit else ""
    return format_html('<span class="qty">{}{}</span>', value, unit)


@register.simple_tag(takes_context=True)
def quantity(context: Context, value: Decimal | int | None, measure: str) -> SafeString:
    """Print a stored number of a measure ("rest_voltage_mv") as value and unit."""
    return NOT_KNOWN if value is None else _html(_in_words(context, value, measure))


@register.simple_tag(takes_context=True)
def shown(context: Context, value: Quantity | Shown | None, kind: str = "") -> SafeString:
    """Print a quantity, as the kind named where its dimension is not enough, or one that is in words already."""
    if value is None:
        return NOT_KNOWN
    if isinstance(value, Shown):
        return _html(value)
    return _html(show(value, Kind(kind) if kind else None, locale=_locale(context)))


@register.simple_tag(takes_context=True)
def compared(context: Context, capacity: Quantity | None) -> SafeString:
    """Print a capacity that stands beside others of its like: to one mAh, also where that takes three decimals of Ah."""
    if capacity is None:
        return NOT_KNOWN
    fine = 3 if show(capacity).unit == "Ah" else None
    return _html(show(capacity, digits=fine, locale=_locale(context)))


@register.simple_tag(takes_context=True)
def ohms(context: Context, value: Decimal) -> SafeString:
    """Print a resistance that is stored in ohms."""
    return _html(show(ureg.Quantity(float(value), "ohm"), locale=_locale(context)))


@register.simple_tag(takes_context=True)
def money(context: Context, amount: Decimal, currency: str) -> SafeString:
    """Print an amount in its currency."""
    return format_html('<span class="num">{}</span>', show_money(amount, currency, locale=_locale(context)))


@register.simple_tag(takes_context=True)
def unit_price(context: Context, amount: Decimal, currency: str) -> SafeString:
    """Print what one piece, metre or hour costs, with every decimal that is reckoned with."""
    return format_html('<span class="num">{}</span>', show_price(amount, currency, locale=_locale(context)))


@register.filter
def unstopped(text: str) -> str:
    """Return what somebody wrote without a full stop at its end, where the sentence around it brings one."""
    return text.strip().rstrip(".")


@register.filter
def quoted(text: str) -> SafeString:
    """Put what somebody said between quotation marks, without a full stop that would stand there twice."""
    return format_html("“{}”", text.strip().rstrip("."))


@register.simple_tag(takes_context=True)
def within(
    context: Context, value: Decimal | int | None, low: Decimal | int | None, high: Decimal | int | None, measure: str
) -> SafeString:
    """Print a stored number with its limits beside it: "3.620 V of 3.580 … 3.660 V", "3.620 V at least 3.580 V"."""
    number = quantity(context, value, measure)
    word, bound = _bound(context, low, high, measure)
    return format_html('{} <span class="of">{} {}</span>', number, word or "of", bound) if bound else number


@register.simple_tag(takes_context=True)
def limits(context: Context, low: Decimal | int | None, high: Decimal | int | None, measure: str) -> SafeString:
    """Print limits alone: "within 3.580 … 3.660 V", "at least 3.580 V", "at most 3.660 V" or nothing."""
    word, bound = _bound(context, low, high, measure)
    return format_html("{} {}", word or "within", bound) if bound else bound


def _bound(
    context: Context, low: Decimal | int | None, high: Decimal | int | None, measure: str
) -> tuple[str, SafeString]:
    ends = [_in_words(context, end, measure) for end in (low, high) if end is not None]
    if len(ends) < 2:
        word = "at most" if low is None else "at least"
        return word, _html(ends[0]) if ends else mark_safe("")
    same_unit = ends[0].unit == ends[1].unit
    first = Shown(ends[0].value, "") if same_unit else ends[0]
    return "", format_html("{}{}{}", _html(first), DASH, _html(ends[1]))


# --- states


@register.simple_tag
def shape(name: str) -> SafeString:
    """Draw a state's shape; the word beside it says the same to those who cannot see it."""
    # the markup is our own table, nothing typed reaches it
    drawing = mark_safe(SHAPES[name])  # noqa: S308
    return format_html('<svg class="shape" viewBox="0 0 16 16" aria-hidden="true" focusable="false">{}</svg>', drawing)


@register.inclusion_tag("parts/state.html")
def state(word: str, name: str) -> dict[str, str]:
    """Print a state: its word, and the shape of that name."""
    return {"word": word, "shape": name}


def _found(finding: Any) -> tuple[str, str]:
    stored = isinstance(finding, Mapping)
    outcome = Outcome(finding["outcome"] if stored else finding.outcome)
    severity = Severity(finding["severity"] if stored else finding.severity)
    return FAILED[severity] if outcome is Outcome.FAIL else ASKED[outcome]


@register.filter
def by_weight(findings: Iterable[Any]) -> dict[str, list[Any]]:
    """Part findings into those to look at, what stops first, and those that hold or do not apply."""
    weighed = sorted(findings, key=lambda finding: WEIGHTS.index(_found(finding)[0]))
    quiet = [finding for finding in weighed if _found(finding)[0] in QUIET]
    return {"open": _together(weighed[: len(weighed) - len(quiet)]), "quiet": quiet}


def _together(findings: Iterable[Any]) -> list[Any]:
    """Put what says the same of several places into one, such as "groups 1, 2, 5"."""
    alike: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    for finding in findings:
        one = finding if isinstance(finding, dict) else vars(finding)
        alike.setdefault((one["rule_id"], str(one["outcome"]), one["message"]), []).append(one)
    return [run[0] | {"where": _places([one["where"] for one in run])} for run in alike.values()]


def _places(wheres: list[str]) -> str:
    parts = [where.rpartition(" ") for where in wheres]
    words = {word for word, _, _ in parts}
    if len(wheres) > 1 and len(words) == 1 and "" not in words:
        return f"{words.pop()}s {', '.join(number for _, _, number in parts)}"
    return ", ".join(wheres)


@register.filter
def wide_class(svg: str) -> str:
    """Name how wide a drawing is, for the stylesheet to say on which screens there is more of it to the right."""
    found = DRAWN_WIDTH.search(svg)
    return next((name for name, width in WIDE if found and float(found[1]) > width), "")


@register.filter
def recalled(texts: Iterable[str] | None) -> bool:
    """Whether one of these sentences carries the mark of what is only recalled."""
    return any(RECALLED in text for text in texts or ())


@register.filter
def source_name(source: str) -> str:
    """Name a source beside a check result; that a clause is from memory stands in the list of limits and sources."""
    return FROM_MEMORY.sub("", source)


@register.filter
def finding_shape(finding: Any) -> str:
    """Name the shape of a finding, fresh from a rule or stored."""
    return _found(finding)[0]


@register.filter
def finding_word(finding: Any) -> str:
    """Say in a word what a finding means for the work."""
    return _found(finding)[1]


@register.filter
def stage_word(name: str) -> str:
    """Say how far a stage of the story is."""
    return STAGE_WORDS[name]


@register.filter
def message_shape(message: Message) -> str:
    """Name the shape of a message to the person at the screen."""
    return MESSAGE_SHAPES.get(message.level_tag, "note")


# --- furniture


@register.inclusion_tag("parts/nav.html", takes_context=True)
def nav(context: Context) -> dict[str, Any]:
    """List where to go; a page says where it belongs by ``section``, or its address does."""
    path = context["request"].path
    entries = [(name, label, address) for name, label in NAV if (address := _address(name))]
    near = [(len(address), name) for name, _, address in entries if path.startswith(address)]
    return {"entries": entries, "here": context.get("section") or max(near, default=(0, ""))[1]}


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


@register.inclusion_tag("parts/field.html")
def field(
    field: BoundField, hint: str = "", limit: str = "", scan: bool = False, autofocus: bool = False
) -> dict[str, Any]:
    """Print a field with its label, hint, unit, limit and errors; ``scan`` makes it the one that waits for the scanner."""
    widget = field.field.widget
    parts = {"hint": in_marks(hint or str(field.help_text), every=True), "limit": limit}
    described_by = " ".join(_ids(field, parts))
    return {
        "field": field,
        "control": field.as_widget(attrs=_attributes(field, described_by, scan=scan, autofocus=autofocus)),
        "fieldset": widget.use_fieldset,
        "tick": isinstance(widget, forms.CheckboxInput),
        "unit": getattr(field.field, "typed_unit", ""),
        "described_by": described_by,
        "scan": scan,
        **parts,
    }


def _ids(field: BoundField, parts: dict[str, str]) -> list[str]:
    present = {"helptext": parts["hint"], "limit": parts["limit"], "error": field.errors}
    return [f"{field.auto_id}_{name}" for name, there in present.items() if there]


def _attributes(field: BoundField, described_by: str, *, scan: bool, autofocus: bool) -> dict[str, Any]:
    attributes: dict[str, Any] = {}
    if described_by and not field.field.widget.use_fieldset:
        attributes["aria-describedby"] = described_by
    if scan:
        attributes |= {"data-scan": True, "autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
    if scan or autofocus:
        attributes["autofocus"] = True
    return attributes
