"""Asks one rule whether it holds."""

from collections.abc import Iterable

from packs.errors import ImpossibleValue
from packs.rules import values, wording
from packs.rules.catalogue import RULES
from packs.rules.model import NOTHING_KNOWN, Bound, Context, Finding, Limit, Measured, Rule
from packs.terms import Chemistry, Outcome


def check(
    rule_id: str,
    measured: Measured | None,
    *,
    limit: Limit | None = None,
    limit_source: str = "",
    where: str = "",
    context: Context = NOTHING_KNOWN,
) -> Finding:
    """Ask whether a rule holds; what is missing makes the answer "not known", never "holds".

    Measures in the unit of the rule's kind [any].

    Parameters
    ----------
    rule_id : str
        Id in the catalogue.
    measured : Quantity, bool, int or None
        The value in any unit of the rule's kind; a bool for a yes or no, an int for a count, None if not known.
    limit : Quantity, (Quantity, Quantity), int or None
        Needed where the rule has none of its own; otherwise only the shop's own practice may be set by it.
    limit_source : str
        Where that limit comes from, e.g. "cell data sheet".
    where : str
        What the value belongs to, e.g. "group 3".

    Raises
    ------
    KeyError
        No such rule.
    ImpossibleValue
        The value has another dimension than the rule, or the limit of a rule that nobody may set was given.

    References
    ----------
    Common practice, no source: what is unknown is not passed. Every rule of the catalogue names its own source.
    """
    rule = RULES[rule_id]
    source = f"{rule.source}; limit: {limit_source}" if limit_source else rule.source
    outcome, message, texts = _ask(rule, measured, _limit_of(rule, limit), context)
    shown_limit = " to ".join(texts.limits)
    return Finding(rule.id, outcome, rule.severity, rule.stage, message, texts.value, shown_limit, source, where)


def stopping(findings: Iterable[Finding]) -> list[Finding]:
    """Those findings that do not let the work go on."""
    return [finding for finding in findings if finding.stops]


_Answer = tuple[Outcome, str, wording.Texts]
_NOTHING = wording.Texts("", ())


def _limit_of(rule: Rule, given: Limit | None) -> Limit | None:
    if given is None or rule.limit is None or rule.own_practice:
        return rule.limit if given is None else given
    raise ImpossibleValue(f"the limit of {rule.id} is not the shop's to set")


def _ask(rule: Rule, measured: Measured | None, limit: Limit | None, context: Context) -> _Answer:
    outside = _outside(rule, context)
    if outside:
        return *outside, _NOTHING
    if rule.bound is Bound.HOLDS:
        return *_yes_or_no(rule, measured), _NOTHING
    return _compare(rule, measured, limit)


def _outside(rule: Rule, context: Context) -> tuple[Outcome, str] | None:
    if rule.from_every_cell and context.cells_unknown:
        words = f"Does not apply where groups stay whose capacity is not known: {rule.quantity}."
        return Outcome.NOT_APPLICABLE, words
    scopes = (
        ("chemistry", rule.chemistries, context.chemistry),
        ("cell format", rule.formats, context.cell_format),
        ("joint method", rule.joint_methods, context.joint_method),
        ("device class", rule.device_classes, context.device_class),
    )
    asked = [(words, allowed, given) for words, allowed, given in scopes if allowed]
    known = [(words, allowed, given) for words, allowed, given in asked if given not in (None, Chemistry.UNKNOWN)]
    for words, allowed, given in known:
        if given not in allowed:
            return Outcome.NOT_APPLICABLE, f"Does not apply to this {words}: {rule.quantity}."
    if len(known) < len(asked):
        missing = " and ".join(item[0] for item in asked if item not in known)
        return Outcome.UNKNOWN, f"Cannot be judged while the {missing} is not known: {rule.quantity}."
    return None


def _yes_or_no(rule: Rule, measured: Measured | None) -> tuple[Outcome, str]:
    if measured is None:
        return Outcome.UNKNOWN, wording.not_measured(rule, ())
    return (Outcome.PASS, rule.holds_words) if measured is True else (Outcome.FAIL, _no(rule))


def _no(rule: Rule) -> str:
    """Say that a yes or no is not yes; a box that nobody ticked says nothing about the pack."""
    return rule.fails_words or f"Not confirmed: {rule.holds_words[:1].lower()}{rule.holds_words[1:]}"


def _compare(rule: Rule, measured: Measured | None, limit: Limit | None) -> _Answer:
    value = None if measured is None else values.exact(rule.kind, measured)
    limits = () if limit is None else values.bounds(rule, limit)
    if value is None or not limits:
        texts = wording.texts(rule, value, limits, tell_apart=False)
        return Outcome.UNKNOWN, _missing(rule, texts), texts
    held = values.holds(rule.bound, value, limits)
    texts = wording.texts(rule, value, limits, tell_apart=not held or rule.bound is Bound.ABOVE)
    said = wording.answered(rule, value, limits, texts)
    if held:
        return Outcome.PASS, said, texts
    return Outcome.FAIL, f"{said} {rule.consequence}".strip(), texts


def _missing(rule: Rule, texts: wording.Texts) -> str:
    return wording.no_limit(rule, texts.value) if texts.value else wording.not_measured(rule, texts.limits)
