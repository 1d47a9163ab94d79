"""What to do about a set of faults, and what not: a board that is off is never gone around."""

from packs.faultfinding.diagnosis import Diagnosis
from packs.faultfinding.faults import Fault, PartKind, State
from packs.faultfinding.safety import charge_line, chargeable, spent_groups, spent_line

NEVER_AROUND = "Never charge or discharge around the board."
SUPERVISED = (
    "Charge through the board, supervised and at the current for low cells, before anything is replaced; stop when a "
    "group warms or does not rise."
)
_REMAKE_LEAD = "Remake the lead at both ends, or replace it; look for heat marks at plug and solder."
_FIND_LEAD = "Look along the lead for a blown fuse, a broken wire or a plug that came off; the stack stays live."

# By part and state: what helps at a joint says nothing of a sensor.
ADVICE: dict[PartKind, dict[State, str]] = {
    PartKind.GROUP: {
        State.WEAK: "Test the capacity and resistance of the cells of this group.",
        State.LOW: (
            "Watch it a day at rest before its cells are judged. Where the other groups were replaced or charged "
            "apart, they are high and this one is not low."
        ),
        State.HIGH: (
            "Do not charge. Above the charge limit, treat its cells as damaged. Below it, find out why: cells "
            "replaced, charged apart, or a board that does not balance."
        ),
        State.LEAKING: "Take its cells out and let each rest alone; one that falls is removed.",
        State.SHORTED: "Do not charge. Take the group out; treat its cells as damaged.",
        State.OPEN: "Look for a broken weld, strip or fuse within the group, or a cell that shut itself off; it stays live.",
    },
    PartKind.STACK: {
        State.WORN: "Replace all groups, not one: test some cells of each before any is used again.",
    },
    PartKind.JOINT: {
        State.RESISTIVE: "Remake the joint; look for heat marks and torn welds.",
        State.OPEN: "Look for a torn strip, weld or link; the stack on both sides of it stays live.",
    },
    PartKind.NEGATIVE_LEAD: {State.RESISTIVE: _REMAKE_LEAD, State.OPEN: _FIND_LEAD},
    PartKind.POSITIVE_LEAD: {State.RESISTIVE: _REMAKE_LEAD, State.OPEN: _FIND_LEAD},
    PartKind.BOARD: {
        State.LATCHED_OFF: SUPERVISED,
        State.TRIPPED: "Find what tripped it before it goes back into use.",
        State.FAILED: "Replace it; the stack itself may be sound.",
    },
    PartKind.OUTLET: {
        State.FAILED: "Look at plug, fuse and converter behind the board; board and stack may be sound.",
    },
    PartKind.SENSOR: {
        State.OFF_VALUE: "Compare it with its table at the bench's temperature before it is replaced.",
        State.OPEN: "Look for a broken wire or contact at the sensor; replace it by one of the same table, at its old place.",
    },
}


def advice(found: Diagnosis, fault: Fault, *, may_charge: bool = False) -> tuple[str, ...]:
    """Return what to do about one fault; the data sheet, local rules and trained people go first.

    Charging is advised only where ``may_charge`` says that there is no danger sign and the temperatures [°C] are right,
    and every group was read above the line of recovery and not above its charge limit [V]. Where a group stands below that
    line nothing else is mended for its sake: that its cells are spent is the advice.

    References
    ----------
    Common practice, no source.
    """
    spent = spent_groups(found.model, found.readings)
    if spent and not (fault.kind is PartKind.GROUP and fault.number not in spent):
        never = (NEVER_AROUND,) if fault.kind is PartKind.BOARD else ()
        return (spent_line(found.model, found.readings), *never)
    told = ADVICE[fault.kind][fault.state]
    if fault.kind is not PartKind.BOARD:
        return (told,)
    ready = may_charge and chargeable(found.model, found.readings)
    if fault.state is State.LATCHED_OFF and not ready:
        return charge_line(found.model, found.readings), NEVER_AROUND
    return told, NEVER_AROUND
