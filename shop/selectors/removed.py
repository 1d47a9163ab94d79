"""Removed cells and items of a job: what waits, by condition and owner, and where the rest went."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

from packs.terms import Condition, Contents, Owner, Place
from shop.models import Cell, Container, Item, Job
from shop.operations import disposal
from shop.operations.contents import contents_of

from .conditions import CellTold, told

Thing = Cell | Item

EMERGENCY_WAY = "taken by the emergency way"
ORDER = (Condition.REACTIVE, Condition.DAMAGED, Condition.INTACT)
"""What leaves the work area first comes first."""


@dataclass(frozen=True)
class Heap:
    """Things that wait and may go the same ways: of one condition, and where they are whole of one owner.

    ``measured`` is whether the rest voltage of whole cells is known; ``cells`` are its cells as they are told.
    """

    condition: Condition
    owner: Owner
    things: list[Thing]
    as_agreed: bool
    named: bool
    measured: bool
    cells: list[CellTold]
    contents: Contents = Contents.CELLS

    @property
    def key(self) -> str:
        """The name of its form; it stays the same while other heaps go."""
        if not self.batteries:
            return self.contents.value
        parts = [self.condition.value]
        parts += [] if self.as_agreed else [self.owner.value]
        return "-".join(parts if self.measured else [*parts, "unmeasured"])

    @property
    def batteries(self) -> bool:
        """Whether it is cells and packs."""
        return self.contents is Contents.CELLS

    @property
    def label(self) -> str:
        """What they are, in words."""
        if not self.batteries:
            return self.contents.label
        return self.condition.label if self.measured else f"not measured, {self.condition.label} to look at"


@dataclass(frozen=True)
class Gone:
    """Things that went the same way: a place, and where it is one the container; ``cells`` are its cells as told."""

    place: Place
    container: Container | None
    things: list[Thing]
    cells: list[CellTold]

    @property
    def where(self) -> str:
        """The place in words; what left in no container was taken by the emergency service or whom it named."""
        return EMERGENCY_WAY if self.place is Place.CONSIGNED and self.container is None else self.place.label

    @property
    def items(self) -> list[Thing]:
        """What of them is no single cell."""
        return [thing for thing in self.things if not isinstance(thing, Cell)]


def waiting(job: Job) -> list[Heap]:
    """Return what still waits on the bench, at the counter or outside, what leaves the work area first coming first."""
    cells = list(Cell.objects.on_bench_of(job).select_related("lot").order_by("pk"))
    whose, agreed = disposal.owners(job, cells), Owner(job.removed_owner)
    by_cell = {one.cell.pk: one for one in told(cells)}
    things: list[Thing] = [*cells, *job.items.waiting()]
    heaps: dict[tuple[Contents, Condition, Owner, bool], list[Thing]] = {}
    for thing in things:
        contents, condition = contents_of(thing), Condition(thing.condition)
        owner, measured = agreed, True
        if isinstance(thing, Cell) and condition is Condition.INTACT:
            owner, measured = whose[thing.pk], by_cell[thing.pk].measured
        elif disposal.his_own(thing):
            owner = Owner.CUSTOMER
        heaps.setdefault((contents, condition, owner, measured), []).append(thing)
    both = len({*whose.values(), *(owner for _, _, owner, _ in heaps)}) > 1
    return [
        Heap(
            condition,
            owner,
            heap,
            owner is agreed,
            both and condition is Condition.INTACT,
            measured,
            [by_cell[thing.pk] for thing in heap if isinstance(thing, Cell)],
            contents,
        )
        for (contents, condition, owner, measured), heap in sorted(
            heaps.items(), key=lambda one: _place(one[0], agreed)
        )
    ]


def _place(heap: tuple[Contents, Condition, Owner, bool], agreed: Owner) -> tuple[int, int, bool, bool]:
    contents, condition, owner, measured = heap
    return list(Contents).index(contents), ORDER.index(condition), owner is not agreed, not measured


def gone(job: Job) -> list[Gone]:
    """Return where removed things went, those that went together told together."""
    cells = list(Cell.objects.taken_off_by(job).exclude(place=Place.BENCH.value).select_related("container"))
    items = job.items.gone().select_related("container")
    by_cell = {one.cell.pk: one for one in told(cells)}
    things: list[Thing] = [*sorted(cells, key=lambda cell: cell.pk), *items]
    return list(_together(things, by_cell))


def _together(things: list[Thing], by_cell: Mapping[int, CellTold]) -> Iterator[Gone]:
    ways = sorted(things, key=lambda thing: (thing.place, thing.container_id or 0))
    for (place, _), found in groupby(ways, key=lambda thing: (thing.place, thing.container_id)):
        same = list(found)
        cells = [by_cell[thing.pk] for thing in same if isinstance(thing, Cell)]
        yield Gone(Place(place), same[0].container, same, cells)
