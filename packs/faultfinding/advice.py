"""What to do about a set of faults, and what not: a board that is off is never gone around."""

from packs.faultfinding.diagnosis import Diagnosis
from packs.faultfinding.faults import Fault, PartKind, State
from packs.faultfinding.measurements import chargeable

NEVER_AROUND = "Never charge or discharge around the board."
SUPERVISED = (
    "Charge through the board, supervised and at the current for low cells, before anything is replaced; stop when a "
    "group warms or does not rise."
)
NOT_YET = (
    "Do not charge: only with no danger sign, every group above the voltage of recovery, and the cells within their "
    "charging temperatures."
)
_BY_STATE = {
    State.LATCHED_OFF: SUPERVISED,
    State.TRIPPED: "Find what tripped it before it goes back into use.",
    State.WEAK: "Test the capacity and resistance of the cells of this group.",
    State.LOW: "Watch it a day at rest before its cells are judged.",
    State.LEAKING: "Take its cells out and let each rest alone; one that falls is removed.",
    State.SHORTED: "Do not charge. Take the group out; treat its cells as damaged.",
    State.OPEN: "Look for a broken joint, fuse or lead; the parts of the stack stay live.",
    State.RESISTIVE: "Remake the joint or lead; look for heat marks.",
    State.FAILED: "Replace it; the stack itself may be sound.",
    State.OFF_VALUE: "Compare it with its table at the bench's temperature before it is replaced.",
}


def advice(found: Diagnosis, fault: Fault, *, may_charge: bool = False) -> tuple[str, ...]:
    """Return what to do about one fault; the data sheet, local rules and trained people go first.

    Charging is advised only where ``may_charge`` says that there is no danger sign and the temperatures [°C] are right,
    and every group was read above the line of recovery [V].

    References
    ----------
    Common practice, no source.
    """
    if fault.kind is not PartKind.BOARD:
        return (_BY_STATE[fault.state],)
    ready = may_charge and chargeable(found.model, found.readings)
    if fault.state is State.LATCHED_OFF and not ready:
        return NOT_YET, NEVER_AROUND
    return _BY_STATE[fault.state], NEVER_AROUND
