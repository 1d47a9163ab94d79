"""Asks one rule whether it holds."""

from collections.abc import Iterable

from packs.rules import values, wording
from packs.rules.model import Bound, Context, Finding, Limit, Measured, Rule
from packs.terms import Chemistry, Outcome


def stopping(findings: Iterable[Finding]) -> list[Finding]:
    """Those findings that do not let the work go on."""
    return [finding for finding in findings if finding.stops]


Answer = tuple[Outcome, str, wording.Texts]
_NOTHING = wording.Texts("", ())


def ask(rule: Rule, measured: Measured | None, limit: Limit | None, context: Context, limit_words: str = "") -> Answer:
    """Hold a value against the limit that counts; what is missing makes the answer "not known", never "holds".

    Measures in the unit of the rule's kind [any].

    References
    ----------
    Common practice, no source: what is unknown is not passed. Every rule of the catalogue names its own source.
    """
    outside = _outside(rule, context)
    if outside:
        return *outside, _NOTHING
    if rule.bound is Bound.HOLDS:
        return *_yes_or_no(rule, measured), _NOTHING
    return _compare(rule, measured, limit, limit_words)


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


def _compare(rule: Rule, measured: Measured | None, limit: Limit | None, words: str) -> Answer:
    value = None if measured is None else values.exact(rule.kind, measured)
    limits = () if limit is None else values.bounds(rule, limit)
    if value is None or not limits:
        texts = wording.texts(rule, value, limits, tell_apart=False)
        return Outcome.UNKNOWN, _missing(rule, texts, words), texts
    held = values.holds(rule.bound, value, limits)
    texts = wording.texts(rule, value, limits, tell_apart=not held or rule.bound is Bound.ABOVE)
    said = wording.answered(rule, value, limits, texts)
    if held:
        return Outcome.PASS, said, texts
    return Outcome.FAIL, f"{said} {rule.consequence}".strip(), texts


def _missing(rule: Rule, texts: wording.Texts, words: str) -> str:
    return wording.no_limit(rule, texts.value, words) if texts.value else wording.not_measured(rule, texts.limits)
