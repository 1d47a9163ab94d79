"""The numbers of the catalogue that a shop may set, and how far: tighter always, looser only what is its own practice."""

import math
from decimal import Decimal

from packs.rules import values, wording
from packs.rules.model import Acts, Bound, Limit, Own, Rule
from packs.units import Quantity, to_shown_digit, ureg

SLIP = 10
"""A number so many times away from the catalogue's is a slip, such as volts for millivolts; common practice, no source."""

_LESS_IS_TIGHTER = frozenset({Bound.AT_MOST, Bound.WITHIN})


def default(rule: Rule) -> Decimal | None:
    """Return the number of a rule as the catalogue has it; None where there is nothing to set [stored unit]."""
    number = rule.number
    return None if number is None else round(values.exact(rule.number_kind, number), 3)  # as many as are kept


def looser(rule: Rule, value: Decimal) -> bool:
    """Return whether a number asks for less than the catalogue's [stored unit]."""
    there = default(rule)
    if there is None:
        return False
    return value > there if rule.bound in _LESS_IS_TIGHTER else value < there


def doubt(rule: Rule, value: Decimal) -> str:
    """Say why a shop may not set a number [stored unit]; nothing where it may.

    References
    ----------
    Common practice, no source: a shop may be stricter than a standard or a data sheet, never laxer.
    """
    there = default(rule)
    if there is None:
        return "There is no number to set: this is a yes or no, or a count."
    if not value.is_finite() or value <= 0:
        return "It has to be more than nothing."
    number, catalogue = wording.number(rule, value), wording.number(rule, there)
    if looser(rule, value) and not rule.own_practice:
        return f"{number} is looser than the catalogue's {catalogue}, and this limit is not the shop's own practice."
    if rule.acts is Acts.SHARE and rule.bound is Bound.WITHIN and value > _HUNDRED:
        return f"{number} of a window is more than the window."
    if not there / SLIP <= value <= there * SLIP:
        return f"{number} is far from the catalogue's {catalogue}. Check typing and unit."
    return ""


_HUNDRED = Decimal(100)


def counting(rule: Rule, own: Own | None) -> Decimal | None:
    """Return the number that counts [stored unit]: the shop's, unless the catalogue has become stricter since.

    References
    ----------
    As `doubt`: common practice, no source.
    """
    if own is None or (looser(rule, own.value) and not rule.own_practice):
        return default(rule)
    return own.value


def limit(rule: Rule, outside: Limit | None, own: Own | None) -> Limit | None:
    """Return the limit that counts, in any unit of the rule [any].

    Parameters
    ----------
    outside : Quantity, (Quantity, Quantity), int or None
        What the data sheet, the chemistry or the job says, where the rule has no limit of its own.

    References
    ----------
    As `doubt`: common practice, no source.
    """
    given = rule.limit if rule.limit is not None else outside
    number = counting(rule, own)
    if number is None or rule.acts is None:
        return given
    if rule.acts is Acts.LIMIT:
        return given if number == default(rule) else _as_given(rule, number)
    if rule.acts is Acts.FLOOR:
        return _over_floor(values.quantity(rule.number_kind, number), given)
    if given is None:
        return None
    share = _share_of(given, float(number / _HUNDRED))
    return share if number == default(rule) else _as_shown(rule, share)


def _as_given(rule: Rule, number: Decimal) -> Limit:
    return int(number) if isinstance(rule.limit, int) else values.quantity(rule.number_kind, number)


def _over_floor(floor: Quantity, given: Limit | None) -> Limit:
    if given is None or isinstance(given, tuple | int):
        return floor
    return given if not math.isfinite(given.magnitude) or given > floor else floor


def _share_of(given: Limit, share: float) -> Limit:
    if share == 1:
        return given
    if isinstance(given, tuple):
        low, high = given
        margin = (high - low) * (1 - share) / 2
        return low + margin, high - margin
    return given if isinstance(given, int) else ureg.Quantity(share) * given


def _as_shown(rule: Rule, limit: Limit) -> Limit:
    """A limit that the shop made is the number that is shown beside a field, rounded to the side of caution."""
    if isinstance(limit, int):
        return limit
    if isinstance(limit, tuple):
        low, high = limit
        return _rounded(rule, low, up=True), _rounded(rule, high, up=False)
    return _rounded(rule, limit, up=rule.bound in (Bound.AT_LEAST, Bound.ABOVE))


def _rounded(rule: Rule, limit: Quantity, *, up: bool) -> Quantity:
    if rule.kind is None or not math.isfinite(limit.magnitude):
        return limit
    return to_shown_digit(limit, rule.kind, up=up)
