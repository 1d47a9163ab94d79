"""Removed cells and items of a job: what waits, by condition and owner, and where the rest went."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from packs.terms import Condition, Contents, Owner, Place
from shop.models import Cell, Container, Item, Job
from shop.operations import disposal
from shop.operations.contents import contents_of

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
    contents: Contents = Contents.CELLS

    @property
    def key(self) -> str:
        """The name of its form; it stays the same while other heaps go."""
        if not self.batteries:
            return self.contents.value
        return self.condition.value if self.as_agreed else f"{self.condition.value}-{self.owner.value}"

    @property
    def batteries(self) -> bool:
        """Whether it is cells and packs."""
        return self.contents is Contents.CELLS

    @property
    def label(self) -> str:
        """What they are, in words."""
        return self.condition.label if self.batteries else self.contents.label


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
    heaps: dict[tuple[Contents, Condition, Owner], list[Thing]] = {}
    for thing in things:
        contents, condition = contents_of(thing), Condition(thing.condition)
        matters = isinstance(thing, Cell) and condition is Condition.INTACT
        heaps.setdefault((contents, condition, whose[thing.pk] if matters else agreed), []).append(thing)
    both = len(set(whose.values())) > 1
    order = sorted(heaps, key=lambda key: (list(Contents).index(key[0]), ORDER.index(key[1]), key[2] is not agreed))
    return [
        Heap(key[1], key[2], heaps[key], key[2] is agreed, both and key[1] is Condition.INTACT, key[0]) for key in order
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
