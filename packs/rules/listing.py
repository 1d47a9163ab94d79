"""What a rule asks for and of which packs, in words for a list of all of them."""

from collections.abc import Iterable

from packs.rules.model import Acts, Bound, Rule
from packs.terms import LITHIUM_ION, Term

_BOUND_WORDS = {
    Bound.AT_MOST: "at most {}",
    Bound.AT_LEAST: "at least {}",
    Bound.ABOVE: "more than {}",
    Bound.WITHIN: "within {}",
    Bound.EQUALS: "exactly {}",
}


def asks(rule: Rule, number: str) -> str:
    """Return what a rule asks for; ``number`` is the number that counts as it is printed, with unit [any unit].

    References
    ----------
    Common practice, no source: the words; the limits have theirs in the rule.
    """
    if rule.bound is Bound.HOLDS:
        return rule.holds_words
    return _BOUND_WORDS[rule.bound].format(_limit(rule, number))


def _limit(rule: Rule, number: str) -> str:
    if rule.acts is Acts.FLOOR:
        return f"{number}, or {rule.limit_words} where that is more"
    if rule.acts is Acts.SHARE:
        return _share(rule, number)
    return number or rule.limit_words or str(rule.limit)


def _share(rule: Rule, number: str) -> str:
    if not number:
        return rule.limit_words
    return f"{'the middle ' if rule.bound is Bound.WITHIN else ''}{number} of {rule.limit_words}"


def applies(rule: Rule) -> str:
    """Return of which cells, joints and devices a rule [any] is asked; nothing where it is asked of all.

    References
    ----------
    Common practice, no source: the scopes stand in the rule.
    """
    chemistries = "lithium-ion" if rule.chemistries == LITHIUM_ION else _labels(rule.chemistries)
    scopes = (_labels(rule.formats), _labels(rule.joint_methods), _labels(rule.device_classes))
    return "; ".join(part for part in (chemistries, *scopes) if part)


def _labels(terms: Iterable[Term]) -> str:
    return ", ".join(sorted(term.label for term in terms))
