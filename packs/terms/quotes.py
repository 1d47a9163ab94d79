"""What decides whether a rebuild is worth it, and what the customer says to it."""

from packs.terms.book import Owner
from packs.terms.term import Term


class Opening(Term):
    """How the case of a pack is shut."""

    SCREWS = "screws", "screws"
    CLIPS = "clips", "clips"
    GLUE = "glue", "glued seam"
    WELD = "weld", "welded seam"
    POTTED = "potted", "potted: it cannot be opened without harming cells"
    UNKNOWN = "unknown", "not known yet"


class Protects(Term):
    """What a board does for its cells, and what else it does."""

    OVERCHARGE = "overcharge", "stops the charge of a full cell"
    OVERDISCHARGE = "overdischarge", "stops the discharge of an empty cell"
    CURRENT = "current", "stops too large a current"
    TEMPERATURE = "temperature", "stops when too warm or too cold"
    BALANCES = "balances", "balances the groups"
    TALKS = "talks", "talks to the device or the charger"
    MEMORY = "memory", "keeps a memory"


class Unpowered(Term):
    """What a board does once it has been without supply."""

    UNAFFECTED = "unaffected", "goes on as before"
    NEEDS_WAKING = "needs_waking", "needs waking"
    LOCKS = "locks", "locks for good"
    UNKNOWN = "unknown", "not known"


class Risk(Term):
    """What alone speaks against a rebuild, whatever it costs."""

    UNKNOWN_HISTORY = "unknown_history", "nobody knows what happened to the pack, and nothing found tells it"
    NO_PROTECTION = "no_protection", "no suitable protection for the cells can be had"
    LOCKS_FOR_GOOD = "locks_for_good", "the board locks for good once it loses its supply"
    POTTED = "potted", "potted: it cannot be opened without harming cells"
    RECALLED = "recalled", "recalled"


class Verdict(Term):
    """What is recommended to the customer."""

    REBUILD = "rebuild", "rebuild it"
    REPAIR = "repair", "repair it"
    CHARGE_FIRST = "charge_first", "charge it, supervised, before anything is replaced"
    BOARD_FIRST = "board_first", "see to the board before anything is replaced"
    MEND = "mend", "mend what was found, and keep the cells"
    REPLACE = "replace", "buy a new one"
    RECYCLE = "recycle", "recycle it"


class QuoteState(Term):
    """Where a quote stands."""

    WAITING = "waiting", "waits for the customer"
    APPROVED = "approved", "approved"
    DECLINED = "declined", "declined"
    REPLACED = "replaced", "replaced by a newer one"


class Heard(Term):
    """How the customer answered."""

    SIGNED = "signed", "signed on paper"
    SPOKEN = "spoken", "said so at the counter"
    TELEPHONE = "telephone", "by telephone"
    WRITTEN = "written", "in writing"


class FeeState(Term):
    """What became of the fee for an examination whose pack is not rebuilt."""

    PAID = "paid", "paid"
    WAIVED = "waived", "waived"
    OPEN = "open", "still open"


class RemovedWay(Term):
    """What becomes of the cells that come out of a pack, as agreed with their owner."""

    RETURNED = "returned", "handed back to the customer"
    TAKEN_OVER = "taken_over", "taken over by the workshop, which may use them again after testing"
    WASTE = "waste", "taken over by the workshop as waste"

    @property
    def owner(self) -> Owner:
        """Whose the removed cells are then."""
        return Owner.CUSTOMER if self is RemovedWay.RETURNED else Owner.SHOP

    @classmethod
    def of(cls, owner: Owner) -> tuple["RemovedWay", ...]:
        """Return the ways that fit what was agreed on whose the removed cells will be."""
        return tuple(way for way in cls if way.owner is owner)
