"""What is in a container, and what may go in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import Condition, Contents
from shop.bridge import containers as standing_of
from shop.bridge import waste
from shop.errors import ShopError
from shop.models import Cell, Container, InnerPackaging, Item, User

from .base import save

Thing = Cell | Item


@dataclass(frozen=True, kw_only=True)
class Readiness:
    """What somebody confirmed before anything went into a container."""

    insulated: bool = False
    packed_alone: bool = False
    casings_closed: bool = False


def lock(container: Container) -> Container:
    """Return a container that is still here, locked."""
    row = Container.objects.select_for_update().get(pk=container.pk)
    if row.consigned_at is not None:
        raise ShopError("container_gone", f"Container {row.code} has left the shop.", field="container")
    return row


def held_by(container: Container) -> list[Thing]:
    """Return what is in a container, with what the rules ask about it."""
    items = container.items.select_related("job__device", "job__as_found__cell_model")
    return [*container.cells.select_related("lot__cell_model"), *items]


def require_room(container: Container, things: Sequence[Thing], at: datetime) -> None:
    """Refuse what a container is closed to, is not for, or has no room for."""
    if container.closed_at is not None:
        raise ShopError("container_closed", f"Container {container.code} is closed. Open it again.", field="container")
    for thing in things:
        _require_fit(thing, container)
    _require_number(container, things, at)
    _require_mass(container, things, at)


def require_packed(container: Container, things: Sequence[Thing], ready: Readiness) -> None:
    """Refuse what was not made ready for its container: terminals bare, or damaged ones not each in a packaging of its own."""
    if not container.holds_cells:
        return
    require_insulated(things, insulated=ready.insulated)
    if container.condition == Condition.DAMAGED and not ready.packed_alone:
        raise ShopError("not_packed_alone", PACK_ALONE, field="packed_alone")


def require_insulated(things: Sequence[Thing], *, insulated: bool) -> None:
    """Refuse things whose terminals nobody confirmed to be insulated."""
    if insulated:
        return
    bare = any(isinstance(thing, Cell) for thing in things)
    what = "terminal" if bare else "contact that can be touched from outside"
    raise ShopError("not_insulated", f"Insulate every {what} first, then confirm it.", field="insulated")


PACK_ALONE = "Put each damaged one into an inner packaging of its own first, then confirm it."


def pack_damaged(container: Container, things: Sequence[Thing], ready: Readiness, *, by: User, at: datetime) -> None:
    """Give each damaged cell or item an inner packaging of its own."""
    if not container.holds_cells or container.condition != Condition.DAMAGED:
        return
    last = container.inner_packagings.count()
    for number, thing in enumerate(things, start=last + 1):
        save(
            InnerPackaging(
                container=container,
                number=number,
                cell=thing if isinstance(thing, Cell) else None,
                item=thing if isinstance(thing, Item) else None,
                casing_closed=ready.casings_closed,
                packed_at=at,
                packed_by=by,
            )
        )


def contents_of(thing: Thing) -> Contents:
    """Return the contents of the containers that take a thing."""
    return thing.contents if isinstance(thing, Item) else Contents.CELLS


def _require_fit(thing: Thing, container: Container) -> None:
    if thing.condition == Condition.REACTIVE:
        raise ShopError(
            "reactive",
            f"{thing} is liable to react and goes into no container. Keep it outside and call the emergency number.",
        )
    contents = contents_of(thing)
    if contents != container.contents or (contents is Contents.CELLS and thing.condition != container.condition):
        is_what = Condition(thing.condition).label if contents is Contents.CELLS else contents.label
        raise ShopError(
            "wrong_container",
            f"{thing} is {is_what}; container {container.code} takes what is {container.takes}.",
            field="container",
        )


def _require_number(container: Container, things: Sequence[Thing], at: datetime) -> None:
    inside = [*held_by(container), *things]
    most = waste.most_items(container, max((_mass(thing) for thing in inside), default=None), waste.here(at))
    if most is not None and len(inside) > most:
        raise ShopError(
            "container_full",
            f"Each package takes {most} of these here, and container {container.code} would hold more. Use one for each.",
            field="container",
        )


def _require_mass(container: Container, things: Sequence[Thing], at: datetime) -> None:
    if not container.holds_cells:
        return
    known = standing_of.mass_of(container) + sum((_mass(thing) for thing in things), Decimal())
    held = waste.package(container, known, waste.here(at))
    if held.margin is waste.Margin.REACHED:
        raise ShopError(
            "container_full",
            f"Container {container.code} would hold more than {held.limit_kg} kg, too much for packaging that is not "
            "UN-approved. Use another.",
            field="container",
        )


def require_chemistry(things: Sequence[Thing]) -> None:
    """Refuse to let a pack leave whose chemistry nobody wrote down: no UN number can be named for it."""
    if nameless := waste.without_chemistry(things):
        named = ", ".join(f"{item} ({item.job.code})" for item in nameless)
        raise ShopError(
            "chemistry_unknown",
            f"The chemistry of {named} is not known, so no UN number can be named. Read it off the pack or ask the "
            "maker, and write it down on the page of its job first.",
            jobs=[item.job.code for item in nameless],
        )


def _mass(thing: Thing) -> Decimal:
    if isinstance(thing, Cell):
        return Decimal(thing.lot.cell_model.mass_mg or 0)
    return Decimal(thing.mass_mg or 0)
