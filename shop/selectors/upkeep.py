"""What cells in stock want: another test, another charge, another look."""

from collections import Counter
from dataclasses import dataclass
from datetime import datetime

from shop.bridge import upkeep
from shop.models import Cell, Lot

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
    stock = Cell.objects.in_stock().filter(lot__held_why="").select_related("lot__cell_model")
    stock = stock.order_by("lot__code", "code")
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


def held() -> list[tuple[Lot, int]]:
    """Return the lots that are held as suspect, with how many cells of each are left out of the lists."""
    cells = Cell.objects.in_stock().exclude(lot__held_why="")
    counted = Counter(cells.order_by().values_list("lot_id", flat=True))
    return [(lot, counted[lot.pk]) for lot in Lot.objects.filter(pk__in=counted).order_by("code")]


def counts(at: datetime) -> list[Wants]:
    """Return how many cells want what."""
    return lists(at)
