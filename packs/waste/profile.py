"""What holds at a place on a date: rows with their first and last day, and no answer without a date."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.errors import MissingFact
from packs.sources import Evidence, Source
from packs.terms import Chemistry, Condition, Term

from .place import EVERYWHERE, Jurisdiction

ANY_CHEMISTRY = frozenset(Chemistry)
ANY_CONDITION = frozenset(Condition)

GRADES = {
    Evidence.PUBLISHED: "seen in the published text",
    Evidence.SECONDARY: "quoted elsewhere",
    Evidence.MEMORY: "from memory, not checked",
    Evidence.COMPUTED: "computed",
    Evidence.PRACTICE: "common practice, no source",
}
"""How well a row is attested, in the words of pages and paper."""


class Topic(Term):
    """What a row is about."""

    CONDITION = "condition", "condition"
    NAME = "name", "number and proper shipping name"
    SIZE = "size", "size class"
    PACKING = "packing", "packing"
    MARK = "mark", "marks on the package"
    FORBIDDEN = "forbidden", "forbidden"
    CODE = "code", "waste code"
    STANDING = "standing", "standing in the shop"
    RECORDS = "records", "records"
    REBUILT = "rebuilt", "rebuilt packs on the market"
    LOCAL = "local", "left to local codes"


@dataclass(frozen=True, kw_only=True)
class Row:
    """One thing that a place asks for or leaves open, from ``valid_from`` to ``valid_to``, both included.

    Rows of one ``rule`` follow each other in time. ``code`` is the number or code that is printed, ``name`` its name,
    ``limit`` a threshold in ``unit``. None as a day means that no limit is known here.
    """

    rule: str
    topic: Topic
    text: str
    source: Source
    places: frozenset[Jurisdiction] = EVERYWHERE
    code: str = ""
    name: str = ""
    limit: Decimal | None = None
    unit: str = ""
    valid_from: date | None = None
    valid_to: date | None = None
    chemistries: frozenset[Chemistry] = ANY_CHEMISTRY
    conditions: frozenset[Condition] = ANY_CONDITION

    def holds(self, place: Jurisdiction, on: date) -> bool:
        """Whether the row counts at a place on a date."""
        begun = self.valid_from is None or self.valid_from <= on
        return place in self.places and begun and (self.valid_to is None or on <= self.valid_to)

    @property
    def grade(self) -> str:
        """How well the row is attested, in words."""
        return GRADES[self.source.evidence]

    @property
    def confirm(self) -> bool:
        """Whether somebody has to confirm the row before it is relied on."""
        return self.source.evidence is Evidence.MEMORY


def holding(
    rows: Iterable[Row],
    place: Jurisdiction,
    on: date | None,
    topic: Topic,
    *,
    condition: Condition | None = None,
    chemistry: Chemistry | None = None,
) -> tuple[Row, ...]:
    """Return the rows on a topic that count at a place on a date; limits stay in the unit of their row, such as [Wh].

    Raises
    ------
    MissingFact
        No date; today is never assumed.

    References
    ----------
    Each row names its own; the rule that a date is needed: common practice, no source.
    """
    day = dated(on)
    return tuple(
        row
        for row in rows
        if row.topic is topic
        and row.holds(place, day)
        and (condition is None or condition in row.conditions)
        and (chemistry is None or chemistry in row.chemistries)
    )


def dated(on: date | None) -> date:
    """Return the date, or refuse to look anything up without one.

    References
    ----------
    Common practice, no source.
    """
    if on is None:
        raise MissingFact("the date is missing, and what counts depends on it")
    return on
