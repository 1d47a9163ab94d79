"""What can be wrong in a pack: parts, their states, and how often the trade meets each."""

from collections.abc import Iterator
from dataclasses import dataclass

from packs.terms import Term


class PartKind(Term):
    """Parts of a pack between the cells and the outlet, the sensor beside them."""

    NEGATIVE_LEAD = "negative_lead", "lead from the negative end of the stack to the board"
    GROUP = "group", "group"
    STACK = "stack", "all groups"
    JOINT = "joint", "joint"
    POSITIVE_LEAD = "positive_lead", "lead from the positive end of the stack to the board"
    BOARD = "board", "board"
    OUTLET = "outlet", "outlet stage"
    SENSOR = "sensor", "temperature sensor"


class State(Term):
    """What a part can be other than good."""

    WEAK = "weak", "weak: right at rest, sags more than the others under load"
    LOW = "low", "low at rest, and stays there"
    HIGH = "high", "high at rest: overcharged, replaced or charged apart"
    LEAKING = "leaking", "falling at rest: self-discharge or a parallel short"
    WORN = "worn", "worn: all sag alike under load, far more than new ones"
    SHORTED = "shorted", "shorted"
    OPEN = "open", "open"
    RESISTIVE = "resistive", "resistive: loses voltage under load, may be unsteady"
    LATCHED_OFF = "latched_off", "latched off below its wake voltage"
    TRIPPED = "tripped", "tripped: protection switched off, wakes on the charger"
    FAILED = "failed", "failed"
    OFF_VALUE = "off_value", "far from its value"


# How often a part is found so, for ranking alone: nothing is struck out by it. Common practice, no source.
LIKELIHOOD: dict[PartKind, dict[State, float]] = {
    PartKind.GROUP: {
        State.WEAK: 0.03,
        State.LOW: 0.02,
        State.HIGH: 0.01,
        State.LEAKING: 0.02,
        State.SHORTED: 0.005,
        State.OPEN: 0.005,
    },
    PartKind.STACK: {State.WORN: 0.05},
    PartKind.JOINT: {State.RESISTIVE: 0.01, State.OPEN: 0.005},
    PartKind.NEGATIVE_LEAD: {State.RESISTIVE: 0.01, State.OPEN: 0.01},
    PartKind.POSITIVE_LEAD: {State.RESISTIVE: 0.01, State.OPEN: 0.01},
    PartKind.BOARD: {State.LATCHED_OFF: 0.05, State.TRIPPED: 0.05, State.FAILED: 0.02},
    PartKind.OUTLET: {State.FAILED: 0.02},
    PartKind.SENSOR: {State.OFF_VALUE: 0.005, State.OPEN: 0.01},
}


@dataclass(frozen=True, order=True)
class Fault:
    """One part in one state; groups are numbered from 1 at the negative end, joint n lies above group n."""

    kind: PartKind
    state: State
    number: int = 0

    @property
    def part(self) -> str:
        """The part in words, such as "group 3"."""
        if self.kind is PartKind.JOINT:
            return f"joint between groups {self.number} and {self.number + 1}"
        return f"{self.kind.label} {self.number}" if self.number else self.kind.label

    @property
    def likelihood(self) -> float:
        """How often the part is found so, for ranking: common practice, no source [dimensionless]."""
        return LIKELIHOOD[self.kind][self.state]

    def __str__(self) -> str:
        return f"{self.part}: {self.state.label}"


def single_faults(series: int, *, sensor: bool = True) -> list[Fault]:
    """Return every fault that one part of a pack of so many groups in series can have, along the stack.

    Their likelihoods are for ranking [dimensionless].

    References
    ----------
    Common practice, no source: which parts fail, and how.

    Examples
    --------
    >>> len(single_faults(1)), str(single_faults(2)[9])
    (17, 'joint between groups 1 and 2: open')
    """
    return [
        Fault(kind, state, number)
        for kind, number in _parts(series)
        if sensor or kind is not PartKind.SENSOR
        for state in LIKELIHOOD[kind]
    ]


def _parts(series: int) -> Iterator[tuple[PartKind, int]]:
    yield PartKind.NEGATIVE_LEAD, 0
    for number in range(1, series):
        yield PartKind.GROUP, number
        yield PartKind.JOINT, number
    yield PartKind.GROUP, series
    for kind in (PartKind.STACK, PartKind.POSITIVE_LEAD, PartKind.BOARD, PartKind.OUTLET, PartKind.SENSOR):
        yield kind, 0
