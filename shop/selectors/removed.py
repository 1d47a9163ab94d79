"""Removed cells and items of a job: what waits, by condition and owner, and where the rest went."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from packs.terms import Condition, Owner, Place
from shop.models import Cell, Container, Item, Job
from shop.operations import disposal

Thing = Cell | Item

ORDER = (Condition.REACTIVE, Condition.DAMAGED, Condition.INTACT)
"""What leaves the work area first comes first."""


@dataclass(frozen=True)
class Heap:
    """Things that wait and may go the same ways: of one condition, and where they are whole of one owner."""

    condition: Condition
    owner: Owner
    things: list[Thing]
    as_agreed: bool
    named: bool

    @property
    def key(self) -> str:
        """The name of its form; it stays the same while other heaps go."""
        return self.condition.value if self.as_agreed else f"{self.condition.value}-{self.owner.value}"


@dataclass(frozen=True)
class Gone:
    """Things that went the same way: a place, and where it is one the container."""

    place: Place
    container: Container | None
    things: list[Thing]


def waiting(job: Job) -> list[Heap]:
    """Return what still waits on the bench, at the counter or outside, what leaves the work area first coming first."""
    cells = list(Cell.objects.on_bench_of(job).select_related("lot").order_by("pk"))
    whose, agreed = disposal.owners(job, cells), Owner(job.removed_owner)
    things: list[Thing] = [*cells, *job.items.waiting()]
    heaps: dict[tuple[Condition, Owner], list[Thing]] = {}
    for thing in things:
        condition = Condition(thing.condition)
        matters = isinstance(thing, Cell) and condition is Condition.INTACT
        heaps.setdefault((condition, whose[thing.pk] if matters else agreed), []).append(thing)
    both = len(set(whose.values())) > 1
    order = sorted(heaps, key=lambda key: (ORDER.index(key[0]), key[1] is not agreed))
    return [
        Heap(condition, owner, heaps[condition, owner], owner is agreed, both and condition is Condition.INTACT)
        for condition, owner in order
    ]


def gone(job: Job) -> list[Gone]:
    """Return where removed things went, those that went together told together."""
    cells = Cell.objects.taken_off_by(job).exclude(place=Place.BENCH.value).select_related("container")
    items = job.items.gone().select_related("container")
    things: list[Thing] = [*cells.order_by("pk"), *items]
    return list(_together(things))


def _together(things: list[Thing]) -> Iterator[Gone]:
    ways = sorted(things, key=lambda thing: (thing.place, thing.container_id or 0))
    for (place, _), found in groupby(ways, key=lambda thing: (thing.place, thing.container_id)):
        same = list(found)
        yield Gone(Place(place), same[0].container, same)
