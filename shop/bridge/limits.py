"""Every rule with its limit as it counts now: for the page of limits, its annex on paper, and whoever sets one."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby

from packs import chemistry
from packs.errors import MissingFact
from packs.rules import OUTLET_LIMITS, RULES, Acts, Rule, RuleSet, listing, may_be_accepted, own, values
from packs.terms import Chemistry, Severity, Stage
from packs.units import Kind, show
from shop.bridge.rules import in_force
from shop.errors import ShopError


@dataclass(frozen=True)
class LimitLine:
    """One rule as it is listed. ``catalogue`` is the catalogue's number where the shop has another one.

    ``settable`` says what the shop may do with its number: "", "tighter" or "either way".
    """

    rule_id: str
    stage: Stage
    quantity: str
    asks: str
    severity: Severity
    source: str
    applies: str
    settable: str
    catalogue: str
    no_exception: str
    acceptable: bool


@dataclass(frozen=True)
class Section:
    """The rules that guard one step."""

    stage: Stage
    lines: Sequence[LimitLine]


@dataclass(frozen=True)
class Known:
    """A limit that comes from outside the rules: of a chemistry, or of a kind of outlet."""

    about: str
    what: str
    value: str
    source: str


def sections(locale: str, rules: RuleSet | None = None) -> list[Section]:
    """Return every rule of the catalogue by the step it guards, in working order."""
    counting = rules or in_force()
    order = list(Stage)
    lines = sorted((line(rule, counting, locale) for rule in RULES.values()), key=lambda one: order.index(one.stage))
    return [Section(stage, list(found)) for stage, found in groupby(lines, key=lambda one: one.stage)]


def line(rule: Rule, rules: RuleSet, locale: str) -> LimitLine:
    """Return one rule as it counts now."""
    counts, there = own.counting(rule, rules.numbers.get(rule.id)), own.default(rule)
    changed = counts is not None and counts != there
    whole = rule.acts is Acts.SHARE and counts == there == _HUNDRED
    return LimitLine(
        rule_id=rule.id,
        stage=rule.stage,
        quantity=rule.quantity,
        asks=listing.asks(rule, "" if whole else shown(rule, counts, locale)),
        severity=rule.severity,
        source=rule.source,
        applies=listing.applies(rule),
        settable="" if rule.acts is None else "either way" if rule.own_practice else "tighter",
        catalogue=shown(rule, there, locale) if changed else "",
        no_exception=rule.no_exception,
        acceptable=may_be_accepted(rule),
    )


_HUNDRED = Decimal(100)


def one(rule_id: str) -> Rule:
    """Return a rule that has a number to set, or refuse."""
    rule = RULES.get(rule_id)
    if rule is None:
        raise ShopError("no_such_rule", f"There is no rule {rule_id}.", field="rule_id")
    if rule.acts is None:
        words = f"There is no number to set: {rule.quantity} is a yes or no, or a count."
        raise ShopError("no_number", words, field="rule_id")
    return rule


def counting(rule: Rule) -> Decimal:
    """Return the number of a rule that counts now, in the unit in which the rule compares."""
    found = own.counting(rule, in_force().numbers.get(rule.id))
    assert found is not None  # noqa: S101 - the rule has a number
    return found


def catalogue(rule: Rule) -> Decimal:
    """Return the number that the catalogue has for a rule."""
    found = own.default(rule)
    assert found is not None  # noqa: S101 - the rule has a number
    return found


def doubt(rule: Rule, value: Decimal) -> str:
    """Say why the shop may not set a number; nothing where it may."""
    return own.doubt(rule, value)


def shown(rule: Rule, value: Decimal | None, locale: str) -> str:
    """Return the number of a rule as the shop writes it."""
    if value is None:
        return ""
    if rule.number_kind in (None, Kind.COUNT):
        return str(value.normalize())
    return str(show(values.quantity(rule.number_kind, value), rule.number_kind, locale=locale))


def number_of(rule_id: str, value: Decimal, locale: str) -> str:
    """Return a number that was set once as the shop writes it; bare where this rule set no longer has the rule."""
    return shown(RULES[rule_id], value, locale) if rule_id in RULES else str(value)


def typed_unit(rule: Rule) -> str:
    """Return the unit that a bare number is taken to be in: the one in which the catalogue's is shown."""
    there = values.quantity(rule.number_kind, catalogue(rule))
    return show(there, rule.number_kind).unit if rule.number_kind not in (None, Kind.COUNT) else ""


_NUMBER_LABELS = {
    Acts.LIMIT: "The limit",
    Acts.SHARE: "How much of the limit counts",
    Acts.FLOOR: "The limit, where the meters allow it",
}


def number_label(rule: Rule) -> str:
    """Return what the number of a rule is called in its form."""
    return _NUMBER_LABELS[rule.acts] if rule.acts else ""


def unit(rule: Rule) -> str:
    """Return the unit of the registry in which a rule's number is stored."""
    return values.unit_of(rule.number_kind)


# --- limits from outside


_NAMES = (
    "charge_limit",
    "end_of_discharge",
    "precharge_below",
    "reject_below",
    "storage_low",
    "storage_high",
)


def by_chemistry(locale: str) -> list[Known]:
    """Return the limits that the rules take from the chemistry where the data sheet says nothing else."""
    found = []
    for each in Chemistry:
        try:
            known = chemistry.limits(each)
        except MissingFact:
            continue
        values_of = [(name, getattr(known, name)) for name in _NAMES]
        found += [
            Known(each.label, name.replace("_", " "), str(show(value, locale=locale)), str(known.sources[name]))
            for name, value in values_of
            if value is not None
        ]
        if known.charging_window is not None:
            ends = " to ".join(str(show(end, Kind.TEMPERATURE, locale=locale)) for end in known.charging_window)
            source = f"{known.sources['charge_temperature_low']}; US Fire Administration, lithium-ion battery safety"
            found.append(Known(each.label, "temperature on charge", ends, source))
    return found


_PORTS = {
    "usb_high_power": "USB, high-power port",
    "usb_low_power": "USB, low-power port",
    "usb_type_c": "USB Type-C",
}


def outlets(locale: str) -> list[Known]:
    """Return the windows of outlets that a standard describes."""
    return [
        Known(
            _PORTS.get(name, name),
            "voltage at the outlet",
            f"{show(port.low, locale=locale)} to {show(port.high, locale=locale)}",
            port.source,
        )
        for name, port in OUTLET_LIMITS.items()
    ]
