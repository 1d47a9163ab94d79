"""What would do where the stock gives no groups: each change of a limit as a link to the page with it made."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from django.http import HttpRequest, QueryDict

from packs.units import Kind, show, ureg
from shop.bridge import accepting, unmatched
from shop.models import Plan
from shop.web.forms.match import DEFAULTS, MatchForm
from shop.web.http import locale

LIMITS = ("health", "window", "ratio", "volts", "leave_out", "aim", "fall", "holds", "use", "history", "mixed")
"""What the form of the limits asks, as it stands in the address."""


@dataclass(frozen=True)
class Change:
    """A limit, what would do, a smaller change that is proven not to ("": none), and the address with the change made.

    ``smaller`` says whether there is a smaller change at all.
    """

    limit: str
    does: str
    not_enough: str
    smaller: bool
    address: str


@dataclass(frozen=True)
class Remedies:
    """What would do, as the page tells it."""

    found: unmatched.Remedies
    changes: tuple[Change, ...]
    stuck: tuple[str, ...]
    """Limits of which no change alone would do."""

    without_fall: str = ""
    """The address of the page that asks no largest self-discharge."""


NAMES = {
    "min_capacity_mah": "Least capacity of a cell",
    "capacity_window": "Capacity window",
    "max_resistance_ratio": "Largest resistance ratio",
    "ocv_window_mv": "Rest voltage window",
    "must_not_use": "Cells not to use",
    "must_use": "Cells to use",
    "required_mah": "What every group holds",
    "max_self_discharge_mv_per_day": "Largest self-discharge",
    "allow_mixed_conditions": "Cells measured otherwise",
}
FIELDS = {
    "min_capacity_mah": "health",
    "capacity_window": "window",
    "max_resistance_ratio": "ratio",
    "ocv_window_mv": "volts",
    "must_not_use": "leave_out",
    "must_use": "use",
    "required_mah": "holds",
    "max_self_discharge_mv_per_day": "fall",
    "allow_mixed_conditions": "mixed",
}
UNITS = {"ocv_window_mv": "mV", "required_mah": "mAh", "max_self_discharge_mv_per_day": "mV/day"}
CODES = ("must_use", "must_not_use")
FLAGS = ("allow_mixed_conditions",)


def asked(request: HttpRequest, defaults: Mapping[str, str] = MappingProxyType(DEFAULTS)) -> str:
    """Return the limits that were asked, as they stand in an address."""
    typed = QueryDict(mutable=True)
    typed.update({name: request.GET.get(name, defaults.get(name, "")) for name in LIMITS})
    return typed.urlencode()


def accepted_under(plan: Plan, number_locale: str) -> dict[str, str]:
    """Return the limits that the cells of a plan were accepted under, as somebody would type them; else the usual ones."""
    if plan.limits is None:
        return DEFAULTS
    kept = accepting.limits_of(plan.limits)
    numbers = {name: getattr(kept, name) for name in accepting.NUMBERS}
    typed = {
        FIELDS[name]: "" if value is None else _typed(plan, name, value, number_locale)
        for name, value in numbers.items()
    }
    ticked = {"history": kept.known_history, "mixed": kept.allow_mixed_conditions}
    typed |= {name: "on" for name, set_so in ticked.items() if set_so}
    return typed | {"leave_out": ", ".join(kept.must_not_use), "use": ", ".join(kept.must_use)}


def limits_told(plan: Plan, number_locale: str) -> list[tuple[str, str]]:
    """Return the limits that the cells of a plan were accepted under, each with its name; none where nobody asked any."""
    if plan.limits is None:
        return []
    typed = accepted_under(plan, number_locale)
    told = [(NAMES[limit], typed.get(field, "")) for limit, field in FIELDS.items() if limit not in FLAGS]
    kept = accepting.limits_of(plan.limits)
    flags = [
        ("Most assured capacity", kept.assured),
        ("Only cells of lots whose history is stated", kept.known_history),
        (NAMES["allow_mixed_conditions"], kept.allow_mixed_conditions),
    ]
    return [(name, text) for name, text in told if text] + [(name, "yes") for name, asked_so in flags if asked_so]


def remedies(request: HttpRequest, plan: Plan, form: MatchForm) -> Remedies:
    """Return what would do, each change with the address that makes it."""
    found = unmatched.remedies(plan, form.limits(plan))
    changes, stuck = [], []
    for change in found.changes:
        if change.value is None and change.limit == "max_self_discharge_mv_per_day" and found.fall_not_known:
            continue  # That it is not measured is told by itself.
        if change.value is None:
            stuck.append(NAMES[change.limit])
        else:
            changes.append(_change(request, plan, change.limit, change.value, change.not_enough))
    without = QueryDict(asked(request), mutable=True)
    without["fall"] = ""
    return Remedies(found, tuple(changes), tuple(stuck), f"?{without.urlencode()}#main")


def _change(request: HttpRequest, plan: Plan, limit: str, value: Decimal, not_enough: Decimal | None) -> Change:
    typed = QueryDict(asked(request), mutable=True)
    typed[FIELDS[limit]] = told = _typed(plan, limit, value, locale(request))
    does = {"must_use": "none has to be", "must_not_use": "none left out", "allow_mixed_conditions": "allowed"}
    less = "" if not_enough is None else _typed(plan, limit, not_enough, locale(request))
    return Change(NAMES[limit], does.get(limit, told), less, limit not in does, f"?{typed.urlencode()}#main")


def _typed(plan: Plan, limit: str, value: Decimal, number_locale: str) -> str:
    """Write a limit as somebody of this shop would type it."""
    if limit in CODES:
        return ""
    if limit == "allow_mixed_conditions":
        return "on"
    if limit == "max_resistance_ratio":
        return _plain(value, "", number_locale)
    if limit in UNITS:
        return _plain(value, UNITS[limit], number_locale)
    percent = unmatched.health_percent(plan, value) if limit == "min_capacity_mah" else value * 100
    return _plain(percent, "%", number_locale)


def _plain(value: Decimal, unit: str, number_locale: str) -> str:
    digits = max(0, -int(value.normalize().as_tuple().exponent))
    text = show(ureg.Quantity(value, ""), Kind.COUNT, locale=number_locale, digits=digits).value
    return f"{text} {unit}".strip()
