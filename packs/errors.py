"""The small tree of errors that packs raises; a rule that does not hold is a finding, not an error."""


class PacksError(Exception):
    """Base of everything packs raises on purpose; ``str()`` is a sentence a technician can read."""


class ParseError(PacksError):
    """Typed text is not a quantity that this field can take."""


class ImpossibleValue(PacksError):
    """A value that cannot be true for what it describes."""


class Infeasible(PacksError):
    """No arrangement of the given cells answers the question."""


class MissingFact(PacksError):
    """A computation needs a value that is not known; it is never guessed."""
