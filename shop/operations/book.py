"""The cell book: every move of a cell or item is one entry, and the thing says where it stands."""

from collections.abc import Iterable
from datetime import datetime

from packs.terms import Place
from shop.models import Cell, Container, Item, Job, Movement, User

from .base import save


def _movement(
    thing: Cell | Item,
    came_from: str,
    *,
    by: User,
    at: datetime,
    job: Job | None,
    container: Container | None,
    note: str,
) -> Movement:
    return Movement(
        cell=thing if isinstance(thing, Cell) else None,
        item=thing if isinstance(thing, Item) else None,
        from_place=came_from,
        to_place=thing.place,
        job=job,
        container=container,
        at=at,
        by=by,
        note=note,
    )


def bring_in(thing: Cell | Item, *, by: User, at: datetime, job: Job | None = None, note: str = "") -> None:
    """Write the first entry of a saved cell or item that came into the shop."""
    _movement(thing, "", by=by, at=at, job=job, container=None, note=note).save()


def bring_in_all(cells: Iterable[Cell], *, by: User, at: datetime, note: str = "") -> None:
    """Write the first entries of many cells at once."""
    Movement.objects.bulk_create(
        [_movement(cell, "", by=by, at=at, job=None, container=None, note=note) for cell in cells]
    )


def move(
    thing: Cell | Item,
    place: Place,
    *,
    by: User,
    at: datetime,
    job: Job | None = None,
    container: Container | None = None,
    note: str = "",
) -> None:
    """Move a cell or item: it stands in the new place, and the book says so."""
    came_from, thing.place = thing.place, place.value
    thing.container = container
    if isinstance(thing, Cell):
        thing.job = job
    save(thing)
    _movement(thing, came_from, by=by, at=at, job=job, container=container, note=note).save()
