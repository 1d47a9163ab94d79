"""Looking rows up by place and date."""

from datetime import date
from decimal import Decimal

from packs.errors import MissingFact
from packs.terms import LITHIUM_ION, Chemistry, Condition

from .carriage import NAMES, PACKING, SIZES
from .conditions import CONDITIONS
from .disposal import CODES, RECORDS, STANDING
from .local import ANYWHERE, LOCAL, REBUILT
from .marks import FORBIDDEN, MARKS
from .place import Jurisdiction
from .profile import Row, Topic, dated, holding

ROWS: tuple[Row, ...] = (
    *CONDITIONS,
    *CODES,
    *NAMES,
    *SIZES,
    *PACKING,
    *MARKS,
    *FORBIDDEN,
    *STANDING,
    *RECORDS,
    *REBUILT,
    *ANYWHERE,
    *LOCAL,
)
"""Everything this program says about places and dates."""


def rows(
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
        No date.

    References
    ----------
    Each row names its own; that a date is needed: common practice, no source.
    """
    return holding(ROWS, place, on, topic, condition=condition, chemistry=chemistry)


def row(rule: str, place: Jurisdiction, on: date | None) -> Row | None:
    """Return the row of a rule at a place on a date, or None where the place has none.

    Its limit stays in the unit of the row, such as [Wh] or [kg].

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Each row names its own; that a date is needed: common practice, no source.
    """
    day = dated(on)
    return next((each for each in ROWS if each.rule == rule and each.holds(place, day)), None)


def limit(rule: str, place: Jurisdiction, on: date | None) -> Decimal | None:
    """Return the threshold of a rule in the unit of its row, such as [Wh] or [kg]; None where the place has none.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Each row names its own; that a date is needed: common practice, no source.
    """
    found = row(rule, place, on)
    return found.limit if found else None


def un_number(place: Jurisdiction, on: date | None, chemistry: Chemistry, *, in_equipment: bool = False) -> Row:
    """Return number and name under which cells or batteries of a chemistry travel, alone or in their equipment.

    Thresholds of a row stay in its unit, such as [Wh]. ``code`` is empty where no number can be named.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Industry guide to ADR, IMDG Code and IATA rules; each row names its own.
    """
    inside = in_equipment and chemistry in LITHIUM_ION
    found = rows(place, on, Topic.NAME, chemistry=chemistry)
    return next(each for each in found if each.rule.endswith("_in_equipment") is inside)


def waste_code(place: Jurisdiction, on: date | None, chemistry: Chemistry) -> Row:
    """Return the waste code for removed cells at a place on a date; ``code`` is empty where none is named.

    Thresholds of a row stay in its unit, such as [Wh].

    Raises
    ------
    MissingFact
        No date, or no chemistry where the code depends on it; neither is ever assumed.

    References
    ----------
    European List of Waste, Decision 2000/532/EC; Decision (EU) 2025/934 with corrigendum OJ L 2025/90657; each row names
    its own.
    """
    found = rows(place, on, Topic.CODE, chemistry=chemistry)
    if not found:
        raise MissingFact("the chemistry is not known, and the waste code depends on it")
    return found[0]
