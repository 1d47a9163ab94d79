"""What a rule, the situation it is asked in and its finding are made of."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import TypeAlias

from packs.terms import CellFormat, Chemistry, DeviceClass, JointMethod, Outcome, Severity, Stage
from packs.units import Kind, Quantity, ureg

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


class Acts(StrEnum):
    """What the one number of a rule does that a shop may set."""

    LIMIT = "limit"  # it is the limit
    SHARE = "share"  # so much counts of a limit from outside, or of the width of a window
    FLOOR = "floor"  # it is the limit, unless what comes from outside is more


WHOLE = ureg.Quantity(100, "percent")
OVERCHARGE = "IEC 62133-2:2017, Annex A, as recalled: 4.25 V is the charge limit of 4.20 V and 0.05 V of tolerance"

TOLERANCE = ureg.Quantity(0.1, "V")
"""How far voltages that should be the same may lie apart whatever the meters say; common practice, no source."""


@dataclass(frozen=True)
class Rule:
    """One rule of the workshop.

    ``limit`` is None where the caller gives it, for instance from the cell's data sheet; ``limit_words`` names it.
    Of such a limit ``share`` counts; with a ``floor`` it counts only above that.
    ``reads`` is the sentence with ``{}`` for the value; empty means "<quantity> is {}". ``fails_words`` is for what the
    program finds out by itself; a yes or no without it is a box somebody ticks, and unticked it is "not confirmed".
    ``consequence`` is said after the numbers of a rule that does not hold. An empty set of chemistries, formats, joint
    methods or device classes means all of them. A shop may loosen only ``own_practice``. ``no_exception`` says why
    nobody may accept in writing that the rule does not hold; empty where a lead may. ``from_every_cell`` marks a rule
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
    share: Quantity = WHOLE
    floor: Quantity | None = None
    no_exception: str = ""

    @property
    def acts(self) -> Acts | None:
        """What the number does that a shop may set; None where there is nothing to set."""
        if self.bound in (Bound.HOLDS, Bound.EQUALS):
            return None
        if self.floor is not None:
            return Acts.FLOOR
        if self.limit is not None and not isinstance(self.limit, tuple):
            return Acts.LIMIT
        # Half of 40 °C is no temperature; of a window of temperatures the width can be halved.
        return None if self.kind is Kind.TEMPERATURE and self.bound is not Bound.WITHIN else Acts.SHARE

    @property
    def number(self) -> Quantity | int | None:
        """The number that a shop may set, as the catalogue has it [any]."""
        if self.acts is Acts.SHARE:
            return self.share
        if self.acts is Acts.FLOOR:
            return self.floor
        return self.limit if self.acts and not isinstance(self.limit, tuple) else None

    @property
    def number_kind(self) -> Kind | None:
        """What that number measures."""
        return Kind.FRACTION if self.acts is Acts.SHARE else self.kind


@dataclass(frozen=True)
class Own:
    """A number that the shop set for a rule, in the unit in which the rule compares, and the record of it."""

    value: Decimal
    record: int


@dataclass(frozen=True)
class Acceptance:
    """Who accepted in writing that a rule does not hold on one job, when and why; ``at`` is a moment as ISO text."""

    number: int
    by: str
    at: str
    reason: str


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
    accepted: Acceptance | None = None

    @property
    def stops(self) -> bool:
        """Whether the work may not go on: a stop rule that does not hold, or of which that is not known."""
        return self.severity is Severity.STOP and self.outcome in (Outcome.FAIL, Outcome.UNKNOWN)
