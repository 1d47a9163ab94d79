"""What cells in stock want: another test, another charge, another look."""

from dataclasses import dataclass
from datetime import datetime

from shop.bridge import upkeep
from shop.models import Cell

MOST_SHOWN = 100


@dataclass(frozen=True)
class Wants:
    """Cells that want the same; ``rows`` are the first of them, each with what tells it."""

    what: str
    why: str
    count: int
    rows: tuple[tuple[Cell, str], ...]


def lists(at: datetime, *, locale: str = "en") -> list[Wants]:
    """Return the cells in stock by what they want."""
    stock = Cell.objects.in_stock().select_related("lot__cell_model").order_by("lot__code", "code")
    found = upkeep.of_cells(stock, at, locale=locale)
    asked = (
        ("due for another test", "A reading older than the criteria of the shop allow counts no more.", found.recheck),
        (
            "outside the storage band",
            "Cells age least between these rest voltages, as their chemistry has them.",
            found.storage,
        ),
        (
            "drifting from their lot",
            "The rest voltage falls faster than the median of the lot, beyond what grade 1 allows.",
            found.drifting,
        ),
    )
    return [Wants(what, why, len(rows), rows[:MOST_SHOWN]) for what, why, rows in asked]


def counts(at: datetime) -> list[Wants]:
    """Return how many cells want what."""
    return lists(at)
