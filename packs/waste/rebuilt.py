"""What may be said and must be shown on a rebuilt pack that goes on the market."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.errors import ImpossibleValue

from .lookup import limit, row
from .place import Jurisdiction


@dataclass(frozen=True)
class BinMark:
    """Where the crossed-out bin stands, and the length of its side [cm]."""

    on_packaging: bool
    side_cm: Decimal


def needs_bin(place: Jurisdiction, on: date | None) -> bool:
    """Whether a pack placed on the market at a place on a date carries the crossed-out bin.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Regulation (EU) 2023/1542, Art. 13(4).
    """
    return row("rebuilt.bin", place, on) is not None


def bin_mark(area_cm2: Decimal, place: Jurisdiction, on: date | None, *, cylinder: bool) -> BinMark | None:
    """Return where the bin goes and how long its side is, or None where the place asks for none.

    Parameters
    ----------
    area_cm2 : Decimal
        The largest side of the battery, or the whole surface of a cylinder [cm²].

    Raises
    ------
    MissingFact
        No date.
    ImpossibleValue
        An area that is not above zero.

    References
    ----------
    Regulation (EU) 2023/1542, Annex VI part B.
    """
    if not area_cm2.is_finite() or area_cm2 <= 0:
        raise ImpossibleValue("A side has an area above zero.")
    names = ("share_cylinder" if cylinder else "share", "on_battery", "on_packaging", "longest")
    share, least, on_packaging, longest = (limit(f"rebuilt.bin_{name}", place, on) for name in names)
    if share is None or least is None or on_packaging is None or longest is None:
        return None
    marked = area_cm2 * share / 100
    if marked < least * least:
        return BinMark(True, on_packaging)
    return BinMark(False, min(marked.sqrt(), longest))


def may_say_remanufactured(
    capacity_percent: Decimal,
    spread_percent: Decimal,
    place: Jurisdiction,
    on: date | None,
    *,
    all_evaluated: bool,
    same_purpose: bool,
) -> bool:
    """Whether a rebuilt pack may be called remanufactured: capacity and spread of state of health [%], every cell evaluated.

    The purpose has to be the same as before.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Regulation (EU) 2023/1542, Art. 3(32).
    """
    least, most = (limit(rule, place, on) for rule in ("rebuilt.capacity", "rebuilt.spread"))
    if least is None or most is None or not (all_evaluated and same_purpose):
        return False
    return capacity_percent >= least and spread_percent <= most
