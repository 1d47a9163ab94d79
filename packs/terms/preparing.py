"""What is done to a cell that was in a pack before it goes into another one."""

from packs.terms.term import Term


class OldTabs(Term):
    """What became of strip or tabs of the old pack."""

    NONE = "none", "there were none"
    REMOVED = "removed", "removed"
    KEPT = "kept", "kept, to be joined by them"


class Stubs(Term):
    """What became of the rests of old welds; they are never melted or heated off."""

    NONE = "none", "there were none"
    GROUND = "ground", "ground flat, without heat"
    LEFT = "left", "left as they are"


class Wrap(Term):
    """What became of the wrapper, or of the insulator under it at the positive end."""

    INTACT = "intact", "intact"
    REPLACED = "replaced", "replaced"
    NONE = "none", "this kind of cell has none"
