"""What was removed: back to stock, to the customer, into a container, or out on the emergency route."""

from collections.abc import Sequence
from datetime import datetime

from packs.terms import Area, Condition, Contents, Owner, Place, Stage
from shop.bridge import possible, rules, waste
from shop.errors import Held, ShopError
from shop.models import Cell, Container, CountBasis, Item, ItemKind, Job, PlanPosition, User

from . import areas, book, contents, danger_at_work, log
from .base import BENCH, advance, lock_job, moment, require_stage, save, verb
from .conditions import require_free, require_measured
from .contents import Readiness
from .opening import CellCount
from .possible import refuse, require_stated

Thing = Cell | Item

ADDED_AT = (Stage.REMOVED, Stage.HAND_OVER)
"""Stages at which something else is set apart as waste: absorbent and gloves come up last."""


@verb(*BENCH)
def to_stock(
    *, job: Job, cells: Sequence[Cell], by: User, version: int | None = None, now: datetime | None = None
) -> None:
    """Only whole, measured cells that belong to the shop go back to stock, as reclaimed; they are tested before use."""
    job = lock_job(job, version)
    _require_some(cells)
    owned = _owned(job, cells, Owner.SHOP)
    for cell in owned:
        _require_intact(cell)
    require_measured(owned)
    for cell in owned:
        book.move(cell, Place.STOCK, by=by, at=moment(now), note="reclaimed, not tested yet")
    areas.require_room(Area.STOCK)
    log.record("cells reclaimed", by=by, at=moment(now), job=job, cells=[cell.code for cell in cells])


@verb(*BENCH)
def to_customer(
    *,
    job: Job,
    cells: Sequence[Cell],
    insulated: bool,
    by: User,
    items: Sequence[Item] = (),
    version: int | None = None,
    now: datetime | None = None,
) -> None:
    """A customer gets his own whole cells back, and what stayed of his pack, once every terminal is insulated.

    Damaged ones are not handed out.
    """
    job = lock_job(job, version)
    _require_some([*cells, *items])
    owned = _owned(job, cells, Owner.CUSTOMER)
    for cell in owned:
        _require_intact(cell)
    rests = _waiting_items(job, items)
    for item in rests:
        _require_his_own(item)
    everything: list[contents.Thing] = [*owned, *rests]
    contents.require_insulated(everything, insulated=insulated)
    for thing in everything:
        book.move(thing, Place.CUSTOMER, by=by, at=moment(now), job=job, note="handed back, ends insulated")
    for item in rests:
        log.record("rest of the pack handed back", by=by, at=moment(now), job=job, item=str(item))
    if cells:
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
    packed_alone: bool = False,
    casings_closed: bool = False,
    version: int | None = None,
    now: datetime | None = None,
) -> None:
    """Into a container goes what it is for, every terminal insulated first, each damaged one in a packaging of its own."""
    at = moment(now)
    job = lock_job(job, version)
    things: list[Thing] = [*_on_the_bench(job, cells), *_waiting_items(job, items)]
    _require_some(things)
    ready = Readiness(insulated=insulated, packed_alone=packed_alone, casings_closed=casings_closed)
    _put_into(container, things, ready, job=job, by=by, at=at)


@verb(*BENCH)
def discard(
    *,
    cell: Cell,
    by: User,
    container: Container | None = None,
    insulated: bool = False,
    packed_alone: bool = False,
    casings_closed: bool = False,
    receiver: str = "",
    now: datetime | None = None,
) -> Cell:
    """A cell of the stock goes into a container for its condition; what may react leaves with the emergency service."""
    at = moment(now)
    cell = Cell.objects.select_for_update().select_related("lot").get(pk=cell.pk)
    if cell.place != Place.STOCK:
        raise ShopError("not_in_stock", f"Cell {cell.code} is {Place(cell.place).label}, not in stock.", cell=cell.code)
    require_free(cell)
    if cell.lot.owner != Owner.SHOP and cell.condition == Condition.INTACT:
        raise ShopError("wrong_owner", f"Cell {cell.code} is whole and belongs to {cell.lot.customer}.", cell=cell.code)
    if cell.condition == Condition.REACTIVE:
        _by_emergency_route(cell, receiver, job=None, by=by, at=at)
    elif container is None:
        raise ShopError("container_missing", "Say into which container it goes.", field="container")
    else:
        ready = Readiness(insulated=insulated, packed_alone=packed_alone, casings_closed=casings_closed)
        _put_into(container, [cell], ready, job=None, by=by, at=at)
    return cell


@verb(*BENCH)
def to_emergency_route(
    *, job: Job, thing: Thing, receiver: str, by: User, version: int | None = None, now: datetime | None = None
) -> None:
    """What is liable to react leaves only with the emergency service or whom it names, never with a usual carrier."""
    job = lock_job(job, version, frozen_too=True)
    thing = (_on_the_bench(job, [thing]) if isinstance(thing, Cell) else _waiting_items(job, [thing]))[0]
    if thing.condition != Condition.REACTIVE:
        raise ShopError("not_reactive", f"{thing} is not liable to react; it goes into a container.")
    _by_emergency_route(thing, receiver, job=job, by=by, at=moment(now))


@verb(*BENCH)
def add_item(
    *,
    job: Job,
    kind: ItemKind,
    description: str,
    condition: Condition,
    by: User,
    count: CellCount | None = None,
    rated_energy_mwh: int | None = None,
    mass_mg: int | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Item:
    """Whatever else of a job is waste is written down and set apart: an unopened pack, a board, absorbent, gloves."""
    at, count = moment(now), count or CellCount()
    job = lock_job(job, version)
    require_stage(job, *ADDED_AT)
    item = Item(
        job=job,
        kind=kind.value,
        description=description.strip(),
        cell_count=count.cells,
        count_basis=count.basis.value,
        rated_energy_mwh=rated_energy_mwh,
        mass_mg=mass_mg,
        condition=condition.value,
        place=Place.OUTSIDE.value,
    )
    _require_item(item)
    save(item)
    book.bring_in(item, by=by, at=at, job=job, note="set apart as waste")
    if (
        item.condition == Condition.INTACT and item.contents is Contents.CELLS
    ):  # what is damaged goes outside, room or not
        areas.require_room(Area.WASTE)
    log.record("waste set apart", by=by, at=at, job=job, item=str(item), condition=condition.value)
    return item


@verb(*BENCH)
def finish_removed(*, job: Job, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """The job goes on to the hand-over when nothing that was removed is left on the bench."""
    job = lock_job(job, version)
    require_stage(job, Stage.REMOVED)
    if stops := rules.stopping(rules.removed_gone(job, waiting(job))):
        raise Held(stops)
    advance(job, Stage.HAND_OVER)
    log.record("removed items accounted for", by=by, at=moment(now), job=job)
    return job


def waiting(job: Job) -> int:
    """How many cells on the bench and items of the job have not gone anywhere yet."""
    return Cell.objects.on_bench_of(job).count() + job.items.waiting().count()


def owners(job: Job, cells: Sequence[Cell]) -> dict[int, Owner]:
    """Whose cells on the bench are: placed ones by their lot, those out of the old pack as agreed at the counter."""
    placed = set(PlanPosition.objects.filter(plan__job=job, placed_at__isnull=False).values_list("cell_id", flat=True))
    return {cell.pk: Owner(cell.lot.owner if cell.pk in placed else job.removed_owner) for cell in cells}


def _require_item(item: Item) -> None:
    require_stated({"rated_energy_mwh": item.rated_energy_mwh})
    if item.mass_mg is not None:
        refuse("impossible_value", {"mass_mg": possible.STATED["item_mass_mg"].doubt(item.mass_mg)})
    if item.kind == ItemKind.DEVICE:
        raise ShopError("device_is_known", "The device itself is in the book already.", field="kind")
    if item.contents is not Contents.CELLS and (item.cell_count or item.rated_energy_mwh):
        raise ShopError("no_cells_inside", "Only a pack has cells and a rated energy.", field="kind")
    if (item.cell_count is None) != (item.count_basis == CountBasis.UNKNOWN):
        raise ShopError("count_basis_missing", "Say how many cells, and whether counted or estimated.", field="cells")
    printed = waste.nameplate_mwh(item.job)
    if item.rated_energy_mwh is not None and printed is not None and item.rated_energy_mwh < printed:
        raise ShopError(
            "below_rating",
            f"The nameplate gives {printed / 1000:f} Wh. The rated energy counts, never a lower one.",
            field="rated_energy_mwh",
        )


def _put_into(
    container: Container, things: Sequence[Thing], ready: Readiness, *, job: Job | None, by: User, at: datetime
) -> None:
    """Put things into a container that takes them, made ready for it first."""
    container = contents.lock(container)
    contents.require_room(container, things, at)
    contents.require_packed(container, things, ready)
    contents.pack_damaged(container, things, ready, by=by, at=at)
    for thing in things:
        book.move(thing, Place.CONTAINER, by=by, at=at, job=job, container=container)
        _take_its_cells_along(thing, f"container {container.code}", by, at)
    if container.condition == Condition.INTACT:  # what is damaged does not stay on the bench for want of room
        areas.require_room(Area.WASTE)
    log.record(
        "into container", by=by, at=at, job=job, container=container.code, things=[str(thing) for thing in things]
    )


def _by_emergency_route(thing: Thing, receiver: str, *, job: Job | None, by: User, at: datetime) -> None:
    if not receiver.strip():
        raise ShopError("receiver_missing", "Say who took it.", field="receiver")
    route = f"emergency route: {receiver.strip()}"
    book.move(thing, Place.CONSIGNED, by=by, at=at, job=job, note=route)
    _take_its_cells_along(thing, route, by, at)
    log.record("handed to emergency route", by=by, at=at, job=job, thing=str(thing), receiver=receiver)


def _take_its_cells_along(thing: Thing, route: str, by: User, at: datetime) -> None:
    if isinstance(thing, Item):
        danger_at_work.leave_with(thing, route, by=by, at=at)


def _require_some(things: Sequence[Thing]) -> None:
    if not things:
        raise ShopError("nothing_chosen", "Choose at least one cell or item first.")


def _on_the_bench(job: Job, cells: Sequence[Cell]) -> list[Cell]:
    locked = list(
        Cell.objects.select_for_update(of=("self",))
        .select_related("lot__cell_model")
        .filter(pk__in=[cell.pk for cell in cells])
    )
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


def his_own(thing: Thing) -> bool:
    """Whether a thing is the whole rest of the customer's pack, whose repair was given up: it stays his."""
    rest = isinstance(thing, Item) and thing.kind == ItemKind.PACK and thing.place == Place.BENCH
    return rest and thing.condition == Condition.INTACT


def _require_his_own(item: Item) -> None:
    """Refuse what is no whole rest of the customer's pack."""
    if not his_own(item):
        raise ShopError("not_handed_back", f"{item} is not handed back; it goes into a container.")


def _require_intact(cell: Cell) -> None:
    if cell.condition != Condition.INTACT:
        raise ShopError(
            "not_intact",
            f"Cell {cell.code} is {Condition(cell.condition).label}; it can only go into a container for such cells.",
            cell=cell.code,
        )
