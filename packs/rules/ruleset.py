"""The rules as they are in force: the catalogue, the numbers that the shop set, the written exceptions of one job."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from packs.errors import ImpossibleValue
from packs.rules import engine, own, wording
from packs.rules.catalogue import RULE_SET_VERSION, RULES
from packs.rules.model import NOTHING_KNOWN, Acceptance, Context, Finding, Limit, Measured, Own, Rule
from packs.terms import Outcome, Severity

_OPEN = frozenset({Outcome.FAIL, Outcome.UNKNOWN})


@dataclass(frozen=True)
class RuleSet:
    """The catalogue with what a shop made of it: its own numbers, and what was accepted in writing on one job.

    Attributes
    ----------
    numbers : Mapping of str to Own
        Numbers that the shop set, by the id of their rule.
    exceptions : Mapping of str to Acceptance
        What was accepted in writing on the job that is asked about, by the id of the rule.
    records : int
        How many times the shop has set a number so far; part of the version.
    """

    numbers: Mapping[str, Own] = field(default_factory=lambda: MappingProxyType({}))
    exceptions: Mapping[str, Acceptance] = field(default_factory=lambda: MappingProxyType({}))
    records: int = 0

    @property
    def version(self) -> str:
        """The day of the catalogue, and behind it how often the shop has changed a limit."""
        return f"{RULE_SET_VERSION}.{self.records}" if self.records else RULE_SET_VERSION

    def limit(self, rule_id: str, outside: Limit | None = None) -> Limit | None:
        """Return the limit of a rule that counts [any]; ``outside`` is what data sheet, chemistry or job say.

        Raises
        ------
        ImpossibleValue
            The rule has a limit of its own, and another one was given.

        References
        ----------
        The source of each limit stands in its rule.
        """
        rule = RULES[rule_id]
        if outside is not None and rule.limit is not None:
            raise ImpossibleValue(f"the limit of {rule.id} stands in the catalogue")
        return own.limit(rule, outside, self.numbers.get(rule_id))

    def check(
        self,
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
            What data sheet, chemistry or job say, where the rule has no limit of its own.
        limit_source : str
            Where that limit comes from, e.g. "cell data sheet".
        where : str
            What the value belongs to, e.g. "group 3".

        Raises
        ------
        KeyError
            No such rule.
        ImpossibleValue
            The value has another dimension than the rule, or a limit was given to a rule that has its own.

        References
        ----------
        Common practice, no source: what is unknown is not passed. Every rule of the catalogue names its own source.
        """
        rule = RULES[rule_id]
        counts, words = self.limit(rule_id, limit), self.limit_words(rule, rule.limit_words)
        outcome, message, texts = engine.ask(rule, measured, counts, context, words)
        accepted = self._accepting(rule, outcome)
        if accepted is not None:
            outcome = Outcome.ACCEPTED
            message = f"{message} Accepted in writing by {accepted.by}: {accepted.reason}"
        shown, source = " to ".join(texts.limits), self._source(rule, limit_source)
        return Finding(
            rule.id, outcome, rule.severity, rule.stage, message, texts.value, shown, source, where, accepted
        )

    def limit_words(self, rule: Rule, words: str) -> str:
        """Return what a limit from outside is called, with the share of it that counts.

        References
        ----------
        The source of each limit stands in its rule.
        """
        return wording.of_limit(rule, own.counting(rule, self.numbers.get(rule.id)), words)

    def _source(self, rule: Rule, limit_source: str) -> str:
        number = own.counting(rule, self.numbers.get(rule.id)) if rule.id in self.numbers else None
        parts = [
            rule.source,
            f"limit: {self.limit_words(rule, limit_source)}" if limit_source else "",
            f"the shop's own: {wording.number(rule, number)}" if number is not None else "",
        ]
        return "; ".join(part for part in parts if part)

    def _accepting(self, rule: Rule, outcome: Outcome) -> Acceptance | None:
        """Return the exception that covers an answer: what stops nothing, or may never be accepted, is not covered."""
        return self.exceptions.get(rule.id) if outcome in _OPEN and may_be_accepted(rule) else None


def may_be_accepted(rule: Rule) -> bool:
    """Return whether a lead may accept in writing that a rule [any] does not hold; what stops nothing needs none.

    References
    ----------
    Common practice, no source.
    """
    return rule.severity is Severity.STOP and not rule.no_exception


check = RuleSet().check
"""Asks a rule of the catalogue alone, without what a shop made of it."""
