"""What a rebuilt pack carries, and what may be said of it, where it goes on the market."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True)
class Claim:
    """Whether a pack may be called remanufactured, and on what that rests; shares of one.

    ``capacity`` is the measured share of the original rated capacity, ``spread`` that between the healths of the cells;
    None where it was not measured.
    """

    allowed: bool
    capacity: Decimal | None
    least_capacity: Decimal
    spread: Decimal | None
    most_spread: Decimal
    all_evaluated: bool
    words: str


@dataclass(frozen=True)
class OnTheMarket:
    """What the place asks of a rebuilt pack on a date.

    ``bin_side_um`` is the shortest side of the crossed-out bin by the bare cells [µm]; None where it does not follow.
    ``claim`` is None where the place has no such word, no old pack came in, or only groups of it were
    replaced.
    """

    place: str
    on: date
    carries: tuple[str, ...]
    bin_asked: bool
    bin_side_um: Decimal | None = None
    bin_on_packaging: bool = False
    claim: Claim | None = None
    duties: tuple[str, ...] = ()
    defers: str = ""
