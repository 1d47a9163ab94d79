"""What a rule, the situation it is asked in and its finding are made of."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from packs.terms import CellFormat, Chemistry, DeviceClass, JointMethod, Outcome, Severity, Stage
from packs.units import Kind, Quantity

Limit: TypeAlias = Quantity | tuple[Quantity, Quantity] | int
Measured: TypeAlias = Quantity | bool | int


class Bound(StrEnum):
    """How a value is held against its limit."""

    AT_MOST = "at_most"
    AT_LEAST = "at_least"
    ABOVE = "above"  # strictly more
    WITHIN = "within"  # both ends included
    HOLDS = "holds"  # a yes or no that must be yes
    EQUALS = "equals"  # counts


@dataclass(frozen=True)
class Rule:
    """One rule of the workshop.

    ``limit`` is None where the caller gives it, for instance from the cell's data sheet; ``limit_words`` names it.
    ``reads`` is the sentence with ``{}`` for the value; empty means "<quantity> is {}". ``fails_words`` is for what the
    program finds out by itself; a yes or no without it is a box somebody ticks, and unticked it is "not confirmed".
    ``consequence`` is said after the numbers of a rule that does not hold. An empty set of chemistries, formats, joint
    methods or device classes means all of them. A shop may loosen only ``own_practice``. ``from_every_cell`` marks a rule
    whose limit follows from what every cell of the pack holds.
    """

    id: str
    quantity: str
    kind: Kind | None
    bound: Bound
    severity: Severity
    stage: Stage
    source: str
    limit: Limit | None = None
    limit_words: str = ""
    reads: str = ""
    holds_words: str = ""
    fails_words: str = ""
    consequence: str = ""
    chemistries: frozenset[Chemistry] = frozenset()
    formats: frozenset[CellFormat] = frozenset()
    joint_methods: frozenset[JointMethod] = frozenset()
    device_classes: frozenset[DeviceClass] = frozenset()
    own_practice: bool = False
    from_every_cell: bool = False


@dataclass(frozen=True)
class Context:
    """The situation a rule is asked in; None is "not known yet".

    ``cells_unknown``: groups stay in the pack whose capacity nobody measured.
    """

    chemistry: Chemistry | None = None
    cell_format: CellFormat | None = None
    joint_method: JointMethod | None = None
    device_class: DeviceClass | None = None
    cells_unknown: bool = False


NOTHING_KNOWN = Context()


@dataclass(frozen=True)
class Finding:
    """The answer of one rule, in words that can be shown and stored as they are."""

    rule_id: str
    outcome: Outcome
    severity: Severity
    stage: Stage
    message: str
    measured: str
    limit: str
    source: str
    where: str

    @property
    def stops(self) -> bool:
        """Whether the work may not go on: a stop rule that does not hold, or of which that is not known."""
        return self.severity is Severity.STOP and self.outcome in (Outcome.FAIL, Outcome.UNKNOWN)
