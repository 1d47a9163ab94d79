"""Waste containers: opened for one kind of thing, closed when weighed and secured, opened again before they leave."""

from datetime import date, datetime
from decimal import Decimal

from packs.terms import Condition, Contents
from shop.bridge import containers as standing_of
from shop.bridge import waste
from shop.errors import ShopError
from shop.models import Container, User

from . import log
from .base import BENCH, moment, save, verb
from .contents import held_by, lock, require_chemistry
from .possible import require_code, require_stated


@verb(*BENCH)
def open_container(
    *,
    code: str,
    condition: Condition,
    started_on: date,
    by: User,
    contents: Contents = Contents.CELLS,
    approved_packaging: bool = False,
    now: datetime | None = None,
) -> Container:
    """A waste container takes one condition of cells, or one kind of other waste, and has a start date from its first day."""
    at = moment(now)
    if started_on > waste.here(at).on:
        raise ShopError("future_date", "The start date lies ahead.", field="started_on")
    if condition == Condition.REACTIVE:
        raise ShopError("reactive", "No container takes what is liable to react. Call the emergency number.")
    container = save(
        Container(
            code=require_code(code),
            contents=contents.value,
            condition=(condition if contents is Contents.CELLS else Condition.INTACT).value,
            started_on=started_on,
            approved_packaging=approved_packaging,
        )
    )
    log.record("container opened", by=by, at=at, container=container.code)
    return container


@verb(*BENCH)
def close_container(
    *,
    container: Container,
    gross_mass_mg: int,
    secured: bool,
    lid_vents: bool,
    by: User,
    approved_packaging: bool = False,
    now: datetime | None = None,
) -> Container:
    """A container is closed when it is weighed, and secured with a lid that lets gas out."""
    at = moment(now)
    container = lock(container)
    if container.closed_at is not None:
        raise ShopError("container_closed", f"Container {container.code} is closed already.")
    require_stated({"gross_mass_mg": gross_mass_mg})
    require_chemistry(held_by(container))
    _require_lid(secured=secured, lid_vents=lid_vents)
    container.approved_packaging = container.approved_packaging or approved_packaging
    _require_weight(container, gross_mass_mg, at)
    container.gross_mass_mg, container.closed_at, container.closed_by = gross_mass_mg, at, by
    log.record("container closed", by=by, at=at, container=container.code, gross_mass_mg=gross_mass_mg)
    return save(container)


@verb(*BENCH)
def reopen_container(*, container: Container, by: User, now: datetime | None = None) -> Container:
    """A closed container that is still here is opened again; what it weighed then no longer counts."""
    container = lock(container)
    if container.closed_at is None:
        raise ShopError("container_open", f"Container {container.code} is open.")
    container.gross_mass_mg, container.closed_at, container.closed_by = None, None, None
    log.record("container opened again", by=by, at=moment(now), container=container.code)
    return save(container)


def _require_lid(*, secured: bool, lid_vents: bool) -> None:
    if not secured:
        raise ShopError("not_secured", "Close the lid and secure it, then confirm it.", field="secured")
    if not lid_vents:
        raise ShopError("lid_tight", "Use a lid that lets gas out, then confirm it.", field="lid_vents")


def _require_weight(container: Container, gross_mass_mg: int, at: datetime) -> None:
    things, where = held_by(container), waste.here(at)
    if not things:
        raise ShopError("container_empty", f"Container {container.code} is empty; there is nothing to close in.")
    if gross_mass_mg <= standing_of.mass_of(container):
        raise ShopError("too_light", "That is less than what is in it weighs. Weigh it again.", field="gross_mass_mg")
    if not container.holds_cells or container.approved_packaging:
        return
    if waste.needs_approved_packaging(things, Condition(container.condition), where):
        raise ShopError("packaging_not_approved", UNAPPROVED, field="approved_packaging")
    if waste.package(container, Decimal(gross_mass_mg), where).margin is waste.Margin.REACHED:
        raise ShopError("too_heavy", "Too heavy for packaging that is not UN-approved. Use two.", field="gross_mass_mg")


UNAPPROVED = (
    "What is in it travels only in UN-approved packaging: damaged ones always, and whole ones above the small size. "
    "Put it into such packaging and say so first."
)
