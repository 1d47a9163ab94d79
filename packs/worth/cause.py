"""What the fault that was found means for a rebuild: most single faults leave the cells alone."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import Enum

from packs.faultfinding import Fault, PartKind, State

_OFF = frozenset({State.LATCHED_OFF, State.TRIPPED})
_CELLS = frozenset({PartKind.GROUP, PartKind.STACK})


class Cause(Enum):
    """What is at fault, as far as it decides on a rebuild."""

    LATCHED_OFF = "the board is latched off, and the pack may be charged"
    BOARD_OFF = "the board is off, and may be sound"
    PART = "a part beside the cells"
    GROUP = "one group alone"


_LEAST_FIRST = (Cause.LATCHED_OFF, Cause.BOARD_OFF, Cause.PART)


@dataclass(frozen=True)
class Found:
    """The explanations of the readings that stand, fewest faults each: what they mean, and what is said of them.

    ``spent`` says which groups are past charging, ``kept`` which of them a repair would leave in.
    """

    cause: Cause | None
    explanations: tuple[tuple[str, ...], ...]
    advice: tuple[str, ...] = ()
    spent: str = ""
    kept: tuple[int, ...] = ()

    @property
    def reasons(self) -> tuple[str, ...]:
        """What was found, as it is told to the customer, that cells are spent first; ``advice`` is the workshop's."""
        told = [" and ".join(faults) for faults in self.explanations]
        spent = (self.spent,) if self.spent else ()
        if not told:
            return spent
        if not told[1:]:
            return (*spent, f"Found in this pack: {told[0]}.")
        return (*spent, f"The readings of this pack leave open which it is: {'; or '.join(told)}.")


def cause(explanations: Sequence[Collection[Fault]], *, may_charge: bool, spent: Collection[int] = ()) -> Cause | None:
    """Return what the faults that explain the readings mean for a rebuild; None where one speaks for it [dimensionless].

    Where several explain them alike, what takes least comes first, such as a charge: it tells them apart as well.
    ``may_charge`` says that the pack may be charged as it is. While groups are ``spent``, below the voltage under which
    nothing is charged again, no board and no joint is mended: only one group, alone at fault and alone spent, leaves the rest.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> cause([[Fault(PartKind.JOINT, State.RESISTIVE, 2)]], may_charge=False).value
    'a part beside the cells'
    >>> cause([[Fault(PartKind.STACK, State.WORN)]], may_charge=True) is None
    True
    """
    if spent:
        alone = len(set(spent)) == 1 and all(_is_group(faults, *set(spent)) for faults in explanations)
        return Cause.GROUP if alone and explanations else None
    means = {_one(faults, may_charge) for faults in explanations}
    if means == {Cause.GROUP}:
        return Cause.GROUP
    return next((least for least in _LEAST_FIRST if least in means and means <= set(_LEAST_FIRST)), None)


def _one(faults: Collection[Fault], may_charge: bool) -> Cause | None:
    cells = [fault for fault in faults if fault.kind in _CELLS]
    if not faults or cells[1:] or any(fault.kind is PartKind.STACK for fault in cells):
        return None
    off = [fault.state for fault in faults if fault.kind is PartKind.BOARD and fault.state in _OFF]
    if off:
        return Cause.LATCHED_OFF if State.LATCHED_OFF in off and may_charge else Cause.BOARD_OFF
    return Cause.GROUP if cells else Cause.PART


def _is_group(faults: Collection[Fault], number: int) -> bool:
    return [(fault.kind, fault.number) for fault in faults] == [(PartKind.GROUP, number)]
