"""What was removed: back to stock, to the customer, into a container, out with a carrier."""

from collections.abc import Sequence
from datetime import date, datetime

from packs.terms import Condition, Owner, Place, Stage
from shop.bridge import rules
from shop.errors import Held, ShopError
from shop.models import Cell, Container, Item, Job, PlanPosition, User

from . import book, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .possible import require_code, require_not_ahead

Thing = Cell | Item


@verb(*BENCH)
def open_container(
    *, code: str, condition: Condition, started_on: date, by: User, now: datetime | None = None
) -> Container:
    """A waste container takes one condition of cells and has a start date from its first day."""
    at = moment(now)
    require_not_ahead(started_on, at, "The start date lies ahead.", field="started_on")
    if condition == Condition.REACTIVE:
        raise ShopError("reactive", "No container takes what is liable to react. Call the emergency number.")
    container = save(Container(code=require_code(code), condition=condition.value, started_on=started_on))
    log.record("container opened", by=by, at=at, container=container.code)
    return container


@verb(*BENCH)
def to_stock(
    *, job: Job, cells: Sequence[Cell], by: User, version: int | None = None, now: datetime | None = None
) -> None:
    """Only whole cells that belong to the shop go back to stock, as reclaimed; they are tested before use."""
    job = lock_job(job, version)
    _require_some(cells)
    for cell in _owned(job, cells, Owner.SHOP):
        _require_intact(cell)
        book.move(cell, Place.STOCK, by=by, at=moment(now), note="reclaimed, not tested yet")
    log.record("cells reclaimed", by=by, at=moment(now), job=job, cells=[cell.code for cell in cells])


@verb(*BENCH)
def to_customer(
    *, job: Job, cells: Sequence[Cell], by: User, version: int | None = None, now: datetime | None = None
) -> None:
    """A customer gets his own whole cells back, ends insulated; damaged ones are not handed out."""
    job = lock_job(job, version)
    _require_some(cells)
    for cell in _owned(job, cells, Owner.CUSTOMER):
        _require_intact(cell)
        book.move(cell, Place.CUSTOMER, by=by, at=moment(now), job=job, note="handed back")
    log.record("cells handed back", by=by, at=moment(now), job=job, cells=[cell.code for cell in cells])


@verb(*BENCH)
def to_container(
    *,
    job: Job,
    container: Container,
    insulated: bool,
    by: User,
    cells: Sequence[Cell] = (),
    items: Sequence[Item] = (),
    version: int | None = None,
    now: datetime | None = None,
) -> None:
    """Into a container goes what has its condition, with every terminal insulated first."""
    at = moment(now)
    job = lock_job(job, version)
    container = Container.objects.select_for_update().get(pk=container.pk)
    if container.consigned_at is not None:
        raise ShopError("container_gone", f"Container {container.code} has left the shop.", field="container")
    if not insulated:
        raise ShopError("not_insulated", "Insulate every terminal first, then confirm it.", field="insulated")
    things: list[Thing] = [*_on_the_bench(job, cells), *_waiting_items(job, items)]
    _require_some(things)
    for thing in things:
        _require_fit(thing, container)
        book.move(thing, Place.CONTAINER, by=by, at=at, job=job, container=container)
    log.record(
        "into container", by=by, at=at, job=job, container=container.code, things=[str(thing) for thing in things]
    )


@verb(*BENCH)
def to_emergency_route(
    *, job: Job, thing: Thing, receiver: str, by: User, version: int | None = None, now: datetime | None = None
) -> None:
    """What is liable to react leaves only with the emergency service or whom it names, never with a usual carrier."""
    job = lock_job(job, version)
    thing = (_on_the_bench(job, [thing]) if isinstance(thing, Cell) else _waiting_items(job, [thing]))[0]
    if thing.condition != Condition.REACTIVE:
        raise ShopError("not_reactive", f"{thing} is not liable to react; it goes into a container.")
    if not receiver.strip():
        raise ShopError("receiver_missing", "Say who took it.", field="receiver")
    book.move(thing, Place.CONSIGNED, by=by, at=moment(now), job=job, note=f"emergency route: {receiver.strip()}")
    log.record("handed to emergency route", by=by, at=moment(now), job=job, thing=str(thing), receiver=receiver)


@verb(*BENCH)
def finish_removed(*, job: Job, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """The job goes on to the hand-over when nothing that was removed is left on the bench."""
    job = lock_job(job, version)
    require_stage(job, Stage.REMOVED)
    if stops := rules.stopping(rules.removed_gone(waiting(job))):
        raise Held(stops)
    advance(job, Stage.HAND_OVER)
    log.record("removed items accounted for", by=by, at=moment(now), job=job)
    return job


@verb(*BENCH)
def consign(*, container: Container, carrier: str, receiver: str, by: User, now: datetime | None = None) -> Container:
    """A container leaves with a named carrier for a named receiver, and everything in it leaves with it."""
    at = moment(now)
    container = Container.objects.select_for_update().get(pk=container.pk)
    if container.consigned_at is not None:
        raise ShopError("container_gone", f"Container {container.code} has left the shop already.")
    container.carrier, container.receiver, container.consigned_at = carrier.strip(), receiver.strip(), at
    save(container)
    things: list[Thing] = [*container.cells.all(), *container.items.all()]
    if not things:
        raise ShopError("container_empty", f"Container {container.code} is empty; there is nothing to consign.")
    for thing in things:
        book.move(thing, Place.CONSIGNED, by=by, at=at, container=container, note=receiver)
    log.record("consigned", by=by, at=at, container=container.code, carrier=carrier, receiver=receiver)
    return container


def waiting(job: Job) -> int:
    """How many cells on the bench and items of the job have not gone anywhere yet."""
    return Cell.objects.on_bench_of(job).count() + job.items.waiting().count()


def owners(job: Job, cells: Sequence[Cell]) -> dict[int, Owner]:
    """Whose cells on the bench are: placed ones by their lot, those out of the old pack as agreed at the counter."""
    placed = set(PlanPosition.objects.filter(plan__job=job, placed_at__isnull=False).values_list("cell_id", flat=True))
    return {cell.pk: Owner(cell.lot.owner if cell.pk in placed else job.removed_owner) for cell in cells}


def _require_some(things: Sequence[Thing]) -> None:
    if not things:
        raise ShopError("nothing_chosen", "Choose at least one cell or item first.")


def _on_the_bench(job: Job, cells: Sequence[Cell]) -> list[Cell]:
    locked = list(Cell.objects.select_for_update().select_related("lot").filter(pk__in=[cell.pk for cell in cells]))
    for cell in locked:
        if cell.job_id != job.pk or cell.place != Place.BENCH:
            raise ShopError("not_on_bench", f"Cell {cell.code} is not waiting on the bench of job {job.code}.")
    return locked


def _waiting_items(job: Job, items: Sequence[Item]) -> list[Item]:
    locked = list(Item.objects.select_for_update().filter(pk__in=[item.pk for item in items]))
    waiting = set(job.items.waiting().values_list("pk", flat=True))
    for item in locked:
        if item.pk not in waiting:
            raise ShopError("not_waiting", f"{item} does not wait for disposal.")
    return locked


def _owned(job: Job, cells: Sequence[Cell], owner: Owner) -> list[Cell]:
    locked = _on_the_bench(job, cells)
    for pk, whose in owners(job, locked).items():
        if whose is not owner:
            code = next(cell.code for cell in locked if cell.pk == pk)
            raise ShopError("wrong_owner", f"Cell {code} belongs to {whose.label}.", cell=code)
    return locked


def _require_intact(cell: Cell) -> None:
    if cell.condition != Condition.INTACT:
        raise ShopError(
            "not_intact",
            f"Cell {cell.code} is {Condition(cell.condition).label}; it can only go into a container for such cells.",
            cell=cell.code,
        )


def _require_fit(thing: Thing, container: Container) -> None:
    if thing.condition == Condition.REACTIVE:
        raise ShopError(
            "reactive",
            f"{thing} is liable to react and goes into no container. Keep it outside and call the emergency number.",
        )
    if thing.condition != container.condition:
        raise ShopError(
            "wrong_container",
            f"{thing} is {Condition(thing.condition).label}; container {container.code} takes what is "
            f"{Condition(container.condition).label}.",
            field="container",
        )
