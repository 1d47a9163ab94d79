"""How big and in what state a thing is, and what follows for its package."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.errors import ImpossibleValue
from packs.sources import SOURCES
from packs.terms import Chemistry, Condition, DangerSign, Mode, Term

from .conditions import CONDITIONS
from .lookup import limit, row, rows, un_number
from .place import Jurisdiction, Statement
from .profile import Row, Topic, dated


class Size(Term):
    """Size class of a cell or battery for carriage."""

    SMALL = "small", "small"
    LARGE = "large", "large"


@dataclass(frozen=True)
class Sized:
    """A size class, and why it is that one; ``assumed`` where something was not known and the larger class counts.

    ``by_land`` says that highway and rail, and nothing else, except a large one up to a bound of their own.
    """

    size: Size
    words: str
    by_land: bool = False
    assumed: bool = False


REACTING = frozenset({DangerSign.HOT, DangerSign.SMOKE, DangerSign.HISSING})


def condition_of(signs: Iterable[DangerSign] | None) -> Condition:
    """Return the condition that signs add up to; None says that the state is not known, which counts as damaged.

    References
    ----------
    ADR, special provision 376.
    """
    if signs is None:
        return Condition.DAMAGED
    seen = set(signs)
    if seen & REACTING:
        return Condition.REACTIVE
    return Condition.DAMAGED if seen else Condition.INTACT


def rated_wh(*ratings: Decimal | None) -> Decimal | None:
    """Return the rated energy that counts [Wh]: the largest of those printed or on data sheets, None where none is known.

    A lower measured or declared value never counts.

    Raises
    ------
    ImpossibleValue
        A rating is below zero or not finite.

    References
    ----------
    49 CFR 171.8; PHMSA interpretation 22-0113.
    """
    known = [rating for rating in ratings if rating is not None]
    if any(not rating.is_finite() or rating < 0 for rating in known):
        raise ImpossibleValue("A rated energy is a number of watt-hours from zero up.")
    return max(known, default=None)


def size_of(energy_wh: Decimal | None, cells: int | None, place: Jurisdiction, on: date | None) -> Sized:
    """Return the size class of one cell or battery, compared unrounded; what is not known makes it the larger class.

    Parameters
    ----------
    energy_wh : Decimal or None
        Rated energy of the whole [Wh]; connected batteries count as one.
    cells : int or None
        Connected cells; a battery of one cell is a cell.

    Raises
    ------
    MissingFact
        No date.
    ImpossibleValue
        No cells, or an energy that is not finite or below zero.

    References
    ----------
    49 CFR 173.185(c)(1)(i); ADR, special provision 188. 49 CFR 173.185(c)(1)(iv). PHMSA interpretation 11-0143.
    """
    dated(on)
    if cells is not None and cells < 1:
        raise ImpossibleValue("A battery has at least one cell.")
    if rated_wh(energy_wh) is None or energy_wh is None:
        return Sized(Size.LARGE, "Rated energy not known: treated as large.", assumed=True)
    kind = "battery" if cells is not None and cells > 1 else "cell"
    unknown = " Number of cells not known: the limit of a single cell counts." if cells is None else ""
    small, by_land = (_within(energy_wh, limit(rule, place, on)) for rule in (f"size.{kind}", f"size.{kind}_by_land"))
    if small.holds:
        return Sized(Size.SMALL, f"Small: at most {small.bound} Wh.{unknown}", assumed=cells is None)
    eased = f" By highway and rail only, excepted up to {by_land.bound} Wh." if by_land.holds else ""
    return Sized(Size.LARGE, f"Large: above {small.bound} Wh.{eased}{unknown}", by_land.holds, cells is None)


@dataclass(frozen=True)
class _Within:
    holds: bool
    bound: Decimal | None


def _within(energy_wh: Decimal, bound: Decimal | None) -> _Within:
    return _Within(bound is not None and energy_wh <= bound, bound)


@dataclass(frozen=True)
class Carriage:
    """What carriage asks of one thing: number and name, packing, words on the package, what is forbidden, what is left open.

    ``packed_under`` names the packing instruction.
    """

    name: Row
    packed_under: str
    packing: tuple[Row, ...]
    marks: tuple[Row, ...]
    forbidden: tuple[Row, ...]


def carriage(
    *,
    chemistry: Chemistry,
    condition: Condition,
    sized: Sized,
    place: Jurisdiction,
    on: date | None,
    in_equipment: bool = False,
) -> Carriage:
    """Return what the rules of a place ask on a date; limits stay in the units of their rows, such as [kg].

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    ADR, special provision 376; ADR, packing instruction P908; 49 CFR, 173.185(f). Each row names its own.
    """
    packing = rows(place, on, Topic.PACKING, condition=condition, chemistry=chemistry)
    packing = tuple(each for each in packing if _fits(each, sized.size is Size.LARGE))
    marks = rows(place, on, Topic.MARK, condition=condition, chemistry=chemistry)
    return Carriage(
        name=un_number(place, on, chemistry, in_equipment=in_equipment),
        packed_under=next((each.code for each in packing if each.code), ""),
        packing=packing,
        marks=tuple(each for each in marks if each.rule != "mark.by_land" or sized.by_land),
        forbidden=rows(place, on, Topic.FORBIDDEN, condition=condition, chemistry=chemistry),
    )


def _fits(each: Row, large: bool) -> bool:
    """Whether a row on intact packages is the one for their size."""
    if each.rule == "packing.intact_large":
        return large
    return not (large and each.code == "P909(2)")


BY_AIR = "Waste batteries never go by air, whatever their condition."


def require_mode(mode: Mode) -> None:
    """Refuse a way of carriage that no waste battery takes.

    Raises
    ------
    ImpossibleValue
        By air.

    References
    ----------
    Industry guide to ADR, IMDG Code and IATA rules.
    """
    if mode is Mode.AIR:
        raise ImpossibleValue(BY_AIR)


def universal_waste(casings_closed: bool | None) -> bool:
    """Whether damaged batteries may be universal waste in the United States; not known counts as breached.

    References
    ----------
    EPA, RCRA Online 14634.
    """
    return casings_closed is True


def codes_left_open(place: Jurisdiction, on: date | None) -> Sequence[Row]:
    """Return what the place leaves to local codes; limits stay in the units of their rows, such as [kg].

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Left to local codes: common practice, no source.
    """
    return rows(place, on, Topic.LOCAL)


DEFERS = Statement(
    "This is no legal advice: the local authority, the carrier and the receiving facility decide.", SOURCES["practice"]
)

MARKET_DEFERS = Statement(
    "This is no legal advice: the authorities and a competent person decide.", SOURCES["practice"]
)


def condition_words(condition: Condition) -> Row:
    """Return the row that says what a condition means, whose limits stay in units such as [kg].

    References
    ----------
    ADR, special provision 376.
    """
    return next(each for each in CONDITIONS if each.rule == f"condition.{condition.value}")


def never_by_air(place: Jurisdiction, on: date | None) -> Row:
    """Return the row that keeps waste batteries out of the air; it holds everywhere, its limits in units such as [kg].

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Industry guide to ADR, IMDG Code and IATA rules.
    """
    found = row("forbidden.air", place, on)
    if found is None:  # pragma: no cover - the row holds everywhere at any time
        raise ImpossibleValue(BY_AIR)
    return found
