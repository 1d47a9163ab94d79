"""How a pack is read while a fault is looked for."""

from packs.terms.term import Term


class Circumstance(Term):
    """What a pack does while a fault is looked for and it is read."""

    REST = "rest", "at rest, no load"
    LOAD = "load", "under the stated load, drawn at the board's input"
    OUTLET_LOAD = "outlet_load", "under the stated load, drawn at the outlet"
    WOKEN = "woken", "under the stated load, after a moment on the charger"
    CHARGED = "charged", "under the stated load, after a supervised charge above the board's wake voltage"
    NEXT_DAY = "next_day", "at rest, a day after the first readings"


class BoardSwitch(Term):
    """Which conductor a board opens, as far as it is known."""

    LOW_SIDE = "low_side", "in the negative conductor"
    HIGH_SIDE = "high_side", "in the positive conductor"
    UNKNOWN = "unknown", "not known"


class GroupsReadAs(Term):
    """Where the probes were held when the groups were read at the examination."""

    PLUG = "plug", "on the plug of the groups, joints between"
    TERMINALS = "terminals", "on each group's own terminals"
    UNUSED = "unused", "not known: leave them out"
