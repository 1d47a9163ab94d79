"""What a tested cell is worth on the bench, and what sits inside it that can hide its voltage."""

from packs.terms.term import Term


class Grade(Term):
    """What the shop's criteria make of a cell, the best first; the worst that any criterion allows is the cell's."""

    FIRST = "first", "grade 1"
    SECOND = "second", "grade 2"
    THIRD = "third", "grade 3"
    UNTESTED = "untested", "not tested enough"
    RETEST = "retest", "to be tested again"
    BELOW = "below", "below every grade"
    QUARANTINED = "quarantined", "quarantined"
    TRIPPED = "tripped", "own protection tripped"
    REJECTED = "rejected", "rejected, never charged"
    OPEN_INSIDE = "open_inside", "open inside: treat as charged and damaged"

    @property
    def usable(self) -> bool:
        """Whether a cell of this grade may go into a pack as far as its grade says."""
        return self in (Grade.FIRST, Grade.SECOND, Grade.THIRD)


class CellProtection(Term):
    """What a cell carries of its own that can open the way of the current."""

    NONE = "none", "none"
    BOARD = "board", "a board of its own"
    INTERRUPT = "interrupt", "an interrupt device under the cap"
    BOTH = "both", "a board and an interrupt device"
    UNKNOWN = "unknown", "not known"


class Criterion(Term):
    """What a grade is made of."""

    VOLTAGE = "voltage", "rest voltage"
    HEALTH = "health", "health"
    RESISTANCE = "resistance", "resistance against new"
    SELF_DISCHARGE = "self_discharge", "self-discharge"
    BEYOND_LOT = "beyond_lot", "drop beyond the lot's median"
