"""What may be said and must be shown on a rebuilt pack that goes on the market."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.errors import ImpossibleValue

from .lookup import limit, row
from .place import Jurisdiction

_SIDE_ON_CELL_CM = Decimal("0.47")
_SIDE_ON_PACKAGING_CM, _LONGEST_SIDE_CM = Decimal(1), Decimal(5)


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


def bin_mark(side_cm: Decimal) -> BinMark:
    """Return where the bin goes whose side follows from the surface [cm]: too small for the cell, it is on the packaging.

    Raises
    ------
    ImpossibleValue
        A side that is not above zero.

    References
    ----------
    Regulation (EU) 2023/1542, Annex VI part B.
    """
    if not side_cm.is_finite() or side_cm <= 0:
        raise ImpossibleValue("A side is a length above zero.")
    if side_cm < _SIDE_ON_CELL_CM:
        return BinMark(True, _SIDE_ON_PACKAGING_CM)
    return BinMark(False, min(side_cm, _LONGEST_SIDE_CM))


def may_say_remanufactured(
    capacity_percent: Decimal, spread_percent: Decimal, place: Jurisdiction, on: date | None, *, all_evaluated: bool
) -> bool:
    """Whether a rebuilt pack may be called remanufactured: capacity and spread of state of health [%], every cell evaluated.

    Raises
    ------
    MissingFact
        No date.

    References
    ----------
    Regulation (EU) 2023/1542, Art. 3(32).
    """
    least, most = (limit(rule, place, on) for rule in ("rebuilt.capacity", "rebuilt.spread"))
    if least is None or most is None or not all_evaluated:
        return False
    return capacity_percent >= least and spread_percent <= most
