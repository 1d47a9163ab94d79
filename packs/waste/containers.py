"""How long a container may stand, how heavy it and the whole site may be, and warnings before that."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from packs.errors import ImpossibleValue, MissingFact
from packs.terms import Condition, Term

from .lookup import limit
from .place import Jurisdiction
from .profile import dated

WARN_DAYS = timedelta(days=60)
WARN_SHARE = Decimal("0.9")
"""Warnings come so many days and at that share of a limit before it is reached; common practice, no source."""


class Margin(Term):
    """How near a limit is."""

    NONE = "none", "no limit known here"
    CLEAR = "clear", "within the limit"
    NEAR = "near", "near the limit"
    REACHED = "reached", "limit reached"


@dataclass(frozen=True)
class Weighed:
    """A mass against its limit [kg]; ``limit_kg`` is None where the place has none."""

    mass_kg: Decimal
    limit_kg: Decimal | None
    margin: Margin


def years_after(day: date, years: int) -> date:
    """Return the same day years later; 29 February becomes the 28th, the earlier day.

    References
    ----------
    A year from 29 February ends on 28 February: common practice, no source.

    Examples
    --------
    >>> years_after(date(2028, 2, 29), 1)
    datetime.date(2029, 2, 28)
    """
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def leave_by(began: Iterable[date], place: Jurisdiction, on: date | None) -> date | None:
    """Return the last day by which a container leaves, counted from its earliest date; None where the place names none.

    Raises
    ------
    MissingFact
        No date of today, or no date that the container began with.

    References
    ----------
    40 CFR 273.15.

    Examples
    --------
    >>> leave_by([date(2026, 3, 5), date(2026, 3, 1)], Jurisdiction.US, date(2026, 3, 5))
    datetime.date(2027, 3, 1)
    """
    years = limit("standing.leave_by", place, on)
    earliest = min(began, default=None)
    if earliest is None:
        raise MissingFact("the container has no start date")
    return None if years is None else years_after(earliest, int(years))


def time_left(last_day: date | None, today: date) -> Margin:
    """Say how near the last day is; on the day itself the container still may leave, but is at its limit.

    References
    ----------
    40 CFR 273.15; the days of warning: common practice, no source.
    """
    if last_day is None:
        return Margin.NONE
    if today >= last_day:
        return Margin.REACHED
    return Margin.NEAR if today >= last_day - WARN_DAYS else Margin.CLEAR


def package(gross_kg: Decimal, place: Jurisdiction, on: date | None, *, approved: bool = False) -> Weighed:
    """Hold the gross mass of a package [kg] against the limit without UN-approved packaging; exactly the limit is allowed.

    Raises
    ------
    MissingFact
        No date.
    ImpossibleValue
        A mass that is not finite or below zero.

    References
    ----------
    ADR, special provision 377 and packing instruction P909; 49 CFR 173.185(c). The share of warning: common practice, no
    source.
    """
    most = None if approved else limit("packing.gross", place, on)
    return _against(gross_kg, most, on, most_allowed=True)


def site(mass_kg: Decimal, place: Jurisdiction, on: date | None) -> Weighed:
    """Hold all universal waste of the site [kg] against the bound of a small quantity handler, which is not to be reached.

    Raises
    ------
    MissingFact
        No date.
    ImpossibleValue
        A mass that is not finite or below zero.

    References
    ----------
    40 CFR 273.9; the share of warning: common practice, no source.
    """
    most = limit("standing.site", place, on)
    return _against(mass_kg, most, on, most_allowed=False)


def large_handler_until(on: date) -> date:
    """Return how long a site that reaches its bound counts as a large quantity handler.

    References
    ----------
    40 CFR 273.9.
    """
    return date(on.year, 12, 31)


def transport_unit(mass_kg: Decimal, place: Jurisdiction, on: date | None) -> Weighed:
    """Hold the mass of waste cells on one vehicle [kg] against the easier rules for collecting points.

    Raises
    ------
    MissingFact
        No date.
    ImpossibleValue
        A mass that is not finite or below zero.

    References
    ----------
    ADR, special provision 636; the share of warning: common practice, no source.
    """
    most = limit("packing.transport_unit", place, on)
    return _against(mass_kg, most, on, most_allowed=True)


def items_to_a_package(
    condition: Condition, place: Jurisdiction, on: date | None, *, heaviest_kg: Decimal | None = None
) -> int | None:
    """Return how many items share a package at most; None where the place does not say.

    Parameters
    ----------
    heaviest_kg : Decimal or None
        Net mass of the heaviest of them [kg], None where it is not known.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    49 CFR, 173.185(f); ADR, packing instruction P908.
    """
    most, alone_above = (limit(f"packing.damaged_{name}", place, on) for name in ("to_a_package", "heavy"))
    if condition is not Condition.DAMAGED:
        return None
    if most is None and alone_above is not None and heaviest_kg is not None and heaviest_kg > alone_above:
        return 1
    return None if most is None else int(most)


def keep_until(left_on: date, place: Jurisdiction) -> date | None:
    """Return until when the papers of a consignment are kept; None where national rules say it.

    References
    ----------
    40 CFR 273.19 and 273.39; gov.uk hazardous waste guidance.
    """
    years = limit("records.keep", place, left_on)
    return None if years is None else years_after(left_on, int(years))


def _against(mass_kg: Decimal, most: Decimal | None, on: date | None, *, most_allowed: bool) -> Weighed:
    dated(on)
    if not mass_kg.is_finite() or mass_kg < 0:
        raise ImpossibleValue("A mass is a number of kilograms from zero up.")
    if most is None:
        return Weighed(mass_kg, None, Margin.NONE)
    if mass_kg > most or (mass_kg == most and not most_allowed):
        return Weighed(mass_kg, most, Margin.REACHED)
    return Weighed(mass_kg, most, Margin.NEAR if mass_kg >= most * WARN_SHARE else Margin.CLEAR)
