"""The sentences of a finding, made from the rule and its numbers."""

from decimal import Decimal
from typing import NamedTuple

from packs.rules.model import Acts, Bound, Rule
from packs.units import Kind, decimal_mark

_SPACE = "\N{NARROW NO-BREAK SPACE}"
_MOST_DIGITS = 6
_HUNDRED = Decimal(100)

_LIMIT_CLAUSE = {
    Bound.AT_MOST: "at most {} is allowed",
    Bound.AT_LEAST: "at least {} is needed",
    Bound.ABOVE: "more than {} is needed",
    Bound.WITHIN: "it must lie between {} and {}",
    Bound.EQUALS: "it must be {}",
}


class _Scale(NamedTuple):
    unit: str
    shift: int  # powers of ten from the stored unit up to this one
    digits: int


_FINE = {Kind.VOLTAGE: _Scale("mV", 0, 0), Kind.CURRENT: _Scale("mA", 0, 0)}
_SCALES = {
    Kind.VOLTAGE: _Scale("V", 3, 2),
    Kind.CURRENT: _Scale("A", 3, 2),
    Kind.CAPACITY: _Scale("mAh", 0, 0),
    Kind.RESISTANCE: _Scale("mΩ", 3, 1),
    Kind.INSULATION: _Scale("MΩ", 3, 2),
    Kind.TEMPERATURE: _Scale("°C", 0, 1),
    Kind.FRACTION: _Scale("%", 0, 0),
    Kind.TIME: _Scale("min", 0, 0),
    Kind.TORQUE: _Scale("N·m", 3, 1),
}
_PLAIN = _Scale("", 0, 0)


class Texts(NamedTuple):
    """A value and its limits as they are written."""

    value: str
    limits: tuple[str, ...]


def texts(rule: Rule, value: Decimal | None, limits: tuple[Decimal, ...], *, tell_apart: bool) -> Texts:
    """Value and limits in one unit, with as many digits as it takes to tell the value from each limit.

    Numbers in [stored units].
    """
    scale = _scale(rule.kind, limits or ((value,) if value is not None else ()))
    digits = scale.digits
    while tell_apart and value is not None and digits < _MOST_DIGITS and _look_equal(value, limits, scale, digits):
        digits += 1
    written = _write(value, scale, digits) if value is not None else ""
    return Texts(written, tuple(_write(limit, scale, digits) for limit in limits))


def _look_equal(value: Decimal, limits: tuple[Decimal, ...], scale: _Scale, digits: int) -> bool:
    written = _write(value, scale, digits)
    return any(limit != value and _write(limit, scale, digits) == written for limit in limits)


def _scale(kind: Kind | None, guides: tuple[Decimal, ...]) -> _Scale:
    if kind in _FINE and guides and all(abs(guide) < _HUNDRED for guide in guides if not guide.is_nan()):
        return _FINE[kind]
    return _SCALES.get(kind, _PLAIN) if kind else _PLAIN


def _write(value: Decimal, scale: _Scale, digits: int) -> str:
    if value.is_nan():
        return "not a number"
    number = f"{value.scaleb(-scale.shift):.{digits}f}".replace("-", "\N{MINUS SIGN}")
    number = number.replace(".", decimal_mark())
    return f"{number}{_SPACE}{scale.unit}" if scale.unit else number


def number(rule: Rule, value: Decimal) -> str:
    """The number of a rule that a shop may set, as it is written.

    In [stored units].
    """
    scale = _scale(rule.number_kind, (value,))
    digits = next(more for more in range(scale.digits, _MOST_DIGITS + 1) if _exactly(value, scale, more))
    return _write(value, scale, digits)


def _exactly(value: Decimal, scale: _Scale, digits: int) -> bool:
    """Whether so many digits show all of a value; the most that are ever written have to do for any."""
    shown = value.scaleb(-scale.shift)
    return digits == _MOST_DIGITS or shown.is_nan() or shown == round(shown, digits)


def of_limit(rule: Rule, share: Decimal | None, words: str) -> str:
    """What a limit from outside is called where only a share of it counts.

    The share in [%].
    """
    if share is None or rule.acts is not Acts.SHARE or share == _HUNDRED:
        return words
    return f"{'the middle ' if rule.bound is Bound.WITHIN else ''}{number(rule, share)} of {words}"


def answered(rule: Rule, value: Decimal, limits: tuple[Decimal, ...], written: Texts) -> str:
    """Sentence for a rule that could be asked.

    Numbers in [stored units].
    """
    if rule.bound is Bound.ABOVE and value == limits[0]:
        return f"{_capital(rule.quantity)} is exactly the {written.value} that it must exceed."
    return f"{_reading(rule, written.value)}; {limit_clause(rule, written.limits)}."


def limit_clause(rule: Rule, limits: tuple[str, ...]) -> str:
    """What the rule asks for, with its limits.

    Limits as they are printed, with unit [any unit].
    """
    return _LIMIT_CLAUSE[rule.bound].format(*limits)


def not_measured(rule: Rule, limits: tuple[str, ...]) -> str:
    """Sentence for a rule whose value is missing.

    Limits as they are printed, with unit [any unit].
    """
    asked = f"; {limit_clause(rule, limits)}" if limits else ""
    return f"Not known yet: {rule.quantity}{asked}."


def no_limit(rule: Rule, value: str, words: str = "") -> str:
    """Sentence for a rule whose limit is missing.

    The value as it is printed, with unit [any unit].
    """
    return f"{_reading(rule, value)}, but its limit is missing: {words or rule.limit_words or 'none is given'}."


def _reading(rule: Rule, value: str) -> str:
    return _capital((rule.reads or f"{rule.quantity} is {{}}").format(value))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
