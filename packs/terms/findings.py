"""What a rule answers, and what that does to the work."""

from packs.terms.term import Term


class Severity(Term):
    """What a rule that does not hold does to the work."""

    STOP = "stop", "stop"
    WARN = "warn", "warning"
    NOTE = "note", "note"


class Outcome(Term):
    """Result of asking whether a rule holds. Unknown never counts as pass."""

    PASS = "pass", "holds"
    FAIL = "fail", "does not hold"
    UNKNOWN = "unknown", "not known"
    NOT_APPLICABLE = "not_applicable", "does not apply"
    ACCEPTED = "accepted", "accepted in writing"
