"""Removed cells and items of a job: what waits, by condition, and where the rest went."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from packs.terms import Condition, Place
from shop.models import Cell, Container, Item, Job

Thing = Cell | Item

ORDER = (Condition.REACTIVE, Condition.DAMAGED, Condition.INTACT)
"""What leaves the work area first comes first."""

AWAY = (Place.CONTAINER.value, Place.CONSIGNED.value)


@dataclass(frozen=True)
class Gone:
    """Things that went the same way: a place, and where it is one the container."""

    place: Place
    container: Container | None
    things: list[Thing]


def waiting(job: Job) -> dict[Condition, list[Thing]]:
    """Return what still waits on the bench or outside, by condition."""
    cells = Cell.objects.filter(lot__donor_job=job, place=Place.BENCH.value).order_by("pk")
    things: list[Thing] = [*cells, *job.items.filter(place=Place.OUTSIDE.value)]
    by_condition = {condition: [thing for thing in things if thing.condition == condition.value] for condition in ORDER}
    return {condition: found for condition, found in by_condition.items() if found}


def gone(job: Job) -> list[Gone]:
    """Return where removed things went, those that went together told together."""
    cells = Cell.objects.filter(lot__donor_job=job).exclude(place=Place.BENCH.value).select_related("container")
    items = job.items.filter(place__in=AWAY).select_related("container")
    things: list[Thing] = [*cells.order_by("pk"), *items]
    return list(_together(things))


def _together(things: list[Thing]) -> Iterator[Gone]:
    ways = sorted(things, key=lambda thing: (thing.place, thing.container_id or 0))
    for (place, _), found in groupby(ways, key=lambda thing: (thing.place, thing.container_id)):
        same = list(found)
        yield Gone(Place(place), same[0].container, same)
