"""What stands in each kind of place, counted from the book: cells by their model, unopened packs as stated."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, QuerySet

from packs import filling
from packs.filling import Filled, Held, Room
from packs.terms import Area, Bulk, CellFormat, Contents, Place, Stage
from packs.units import Kind, show, ureg
from shop.models import AreaLimit, Cell, CellModel, ChannelRun, Item, ItemKind, Job, Movement, Plan, PlanState, RunState

from . import waste

__all__ = ["Filled", "Held", "Room"]

LEFT = [Place.CUSTOMER.value, Place.CONSIGNED.value]
"""Where nothing stands in the shop any more."""

AT_CHARGE = frozenset({Stage.FIRST_CHARGE, Stage.FINAL_TEST})
"""Stages at which a pack hangs on a charger or a load."""

BESIDE_A_TESTER = [Place.STOCK.value, Place.BENCH.value]
"""Where a cell belongs that is in a channel; one that was thrown away from there hangs in none any more."""

FINISHED = frozenset({Stage.REMOVED, Stage.HAND_OVER})

OF_CELLS: Mapping[Place, Area] = {
    Place.STOCK: Area.STOCK,
    Place.COUNTER: Area.CUSTOMER_PACKS,
    Place.BENCH: Area.HALF_BUILT,
    Place.QUARANTINE: Area.QUARANTINE,
    Place.OUTSIDE: Area.WASTE,
    Place.CONTAINER: Area.WASTE,
}
"""Where single cells are counted; those of open and half-built packs lie on the bench."""


def limits_of(area: Area) -> Mapping[Bulk, Decimal]:
    """Return what a place may hold, as far as the owner entered it."""
    row = AreaLimit.objects.filter(area=area.value).last()
    entered = {bulk: getattr(row, bulk.value, None) for bulk in Bulk}
    return {bulk: Decimal(value) for bulk, value in entered.items() if value is not None}


def filled(area: Area, *, held: Held | None = None, more: Held | None = None) -> tuple[Filled, ...]:
    """Return how full a place is, with ``more`` that is to come."""
    found = standing()[area] if held is None else held
    return filling.against(found + (more or Held()), limits_of(area))


def of_model(model: CellModel, count: int) -> Held:
    """Return what cells of a model hold."""
    return filling.of_cells(
        count,
        name=model.name,
        capacity_mah=model.rated_capacity_mah,
        voltage_mv=Decimal(model.nominal_voltage_mv),
        mass_mg=model.mass_mg,
        volume_mm3=_volume(model),
    )


def _volume(model: CellModel) -> Decimal | None:
    return filling.outer_volume(CellFormat(model.cell_format), model.diameter_um, model.width_um, model.height_um)


def standing() -> dict[Area, Held]:
    """Return what stands in every kind of place, in a number of queries that does not grow with it."""
    found = dict.fromkeys(Area, Held())
    models = CellModel.objects.in_bulk()
    for place, model, count in _loose():
        if area := OF_CELLS.get(Place(place)):
            found[area] += of_model(models[model], count)
    for _, model, count in _in_channels():
        found[Area.CHARGING] += of_model(models[model], count)
    items = list(
        Item.objects.filter(kind__in=[ItemKind.DEVICE.value, ItemKind.PACK.value])
        .select_related("job__device", "job__as_found__cell_model", "job__returns")
        .prefetch_related("job__returns__plans__cell_model")
        .filter(job__in=_jobs_here())
    )
    packs = {item.job_id: item for item in items if item.kind == ItemKind.PACK}
    around = {item.job_id: item for item in items if item.kind == ItemKind.DEVICE} | packs
    built = set[int]()
    for job, stage, parked, model, count in _in_packs():
        built.add(job)
        if area := _area_of_built(around.get(job), Stage(stage), parked=bool(parked)):
            found[area] += of_model(models[model], count)
    out = _taken_out(items)
    for item in items:
        if item.place in LEFT or (item.kind == ItemKind.PACK and item.job_id in built):
            continue
        if item.kind == ItemKind.DEVICE and item.job_id in packs:
            continue  # its pack stands in the book by itself
        removed = out.get(item.job_id, 0) if item.kind == ItemKind.DEVICE else 0
        found[area_of(item, opened=bool(removed))] += of_item(item, removed)
    return found


def _jobs_here() -> Iterable[int]:
    """Return the jobs of which something stands in the shop, or whose pack left and is asked after."""
    here = Item.objects.exclude(place__in=LEFT).values("job")
    in_packs = Cell.objects.filter(place=Place.PACK.value).values("job")
    return [*{*here.values_list("job", flat=True), *in_packs.values_list("job", flat=True)}]


def coming_back(area: Area) -> Held:
    """Return what hangs in channels of testers and comes back to a place afterwards: its room there is not free."""
    models, found = CellModel.objects.in_bulk(), Held()
    for place, model, count in _in_channels():
        if OF_CELLS.get(Place(place)) is area:
            found += of_model(models[model], count)
    return found


def _loose() -> Iterable[tuple[str, int, int]]:
    rows = Cell.objects.exclude(place__in=[*LEFT, Place.PACK.value]).exclude(pk__in=_running()).order_by()
    return rows.values_list("place", "lot__cell_model").annotate(n=Count("pk"))


def _in_channels() -> Iterable[tuple[str, int, int]]:
    rows = Cell.objects.filter(pk__in=_running()).order_by()
    return rows.values_list("place", "lot__cell_model").annotate(n=Count("pk"))


def _running() -> QuerySet[ChannelRun, tuple[int]]:
    """Return the cells that a tester charges and discharges, wherever they belong otherwise."""
    return ChannelRun.objects.filter(state=RunState.RUNNING.value, cell__place__in=BESIDE_A_TESTER).values_list("cell")


def _in_packs() -> Iterable[tuple[int, str, str, int, int]]:
    rows = Cell.objects.filter(place=Place.PACK.value).order_by()
    return rows.values_list("job", "job__stage", "job__parked_in", "lot__cell_model").annotate(n=Count("pk"))


def _area_of_built(around: Item | None, stage: Stage, *, parked: bool) -> Area | None:
    """Return where the cells of a new pack are counted: by what is done on it, afterwards with the item that it is in."""
    if around is not None and (stage in FINISHED or around.kind == ItemKind.PACK):
        return None if around.place in LEFT else area_of(around)
    return Area.CHARGING if stage in AT_CHARGE and not parked else Area.HALF_BUILT


def area_of(item: Item, *, opened: bool = False) -> Area:
    """Return where a device or pack is counted; an opened one lies among the half-built."""
    place = Place(item.place)
    if place is Place.BENCH and opened:
        return Area.HALF_BUILT
    if place is Place.COUNTER and item.kind == ItemKind.PACK:
        return Area.WASTE  # left here for good
    return {Place.BENCH: Area.CUSTOMER_PACKS}.get(place) or OF_CELLS[place]


def _taken_out(items: Iterable[Item]) -> dict[int, int]:
    """Return how many cells left the old pack of each job."""
    jobs = [item.job_id for item in items]
    left = Movement.objects.filter(
        job__in=jobs, cell__isnull=False, to_place=Place.BENCH.value, from_place__in=["", Place.CUSTOMER.value]
    )
    return dict(left.order_by().values_list("job").annotate(n=Count("cell", distinct=True)))


def of_item(item: Item, removed: int = 0) -> Held:
    """Return what a device or pack holds: as stated, as the nameplate says or as found, whichever is most.

    Of one that is opened only the cells that are still in it count; what is not known is named.
    """
    if item.contents is not Contents.CELLS:
        return Held()
    found, built = getattr(item.job, "as_found", None), _built_before(item.job)
    counted = item.cell_count if item.kind == ItemKind.PACK or not found else None
    total = found.cell_count if found and counted is None else counted
    left = _left(item.job, total, removed)
    if not left:
        return Held()
    energy = waste.facts(item).energy_mwh
    count = None if total is None else Decimal(total) * left
    model = found.cell_model if found else built.cell_model if built else None
    cells = of_model(model, int(count)) if model and count is not None else Held()
    known = {
        Bulk.ENERGY: _most(None if energy is None else energy * left, cells.amounts.get(Bulk.ENERGY)),
        Bulk.MASS: cells.amounts.get(Bulk.MASS) if item.mass_mg is None else item.mass_mg * left,
        Bulk.VOLUME: _most(None if item.volume_mm3 is None else item.volume_mm3 * left, cells.amounts.get(Bulk.VOLUME)),
    }
    words = (f"{item.job.code} {item}",)
    return Held(
        {bulk: value for bulk, value in known.items() if value is not None},
        {bulk: words for bulk, value in known.items() if value is None},
    )


def _built_before(job: Job) -> Plan | None:
    """Return the plan by which a pack was built here that came back; None of a pack of somebody else's."""
    if job.returns is None:
        return None
    return next((plan for plan in job.returns.plans.all() if plan.state == PlanState.BUILT), None)


def _most(*amounts: Decimal | None) -> Decimal | None:
    return max((amount for amount in amounts if amount is not None), default=None)


def _left(job: Job, total: int | None, removed: int) -> Decimal:
    """Return the share of a pack that was not taken out yet."""
    if not removed:
        return Decimal(1)
    if total is None:
        return Decimal(1) if Stage(job.stage) is Stage.DISMANTLE else Decimal()
    return max(Decimal(total - removed) / total, Decimal())


KINDS: Mapping[Bulk, tuple[Kind, str]] = {
    Bulk.ENERGY: (Kind.ENERGY, "milliwatt*hour"),
    Bulk.MASS: (Kind.MASS, "milligram"),
    Bulk.VOLUME: (Kind.VOLUME, "millimeter**3"),
}


def shown(bulk: Bulk, amount: Decimal) -> str:
    """Return an amount as the shop writes it."""
    kind, unit = KINDS[bulk]
    return str(show(ureg.Quantity(float(amount), unit), kind))


def sentence(one: Filled) -> str:
    """Return how full a place is by one bulk, with what could not be counted."""
    held = f"{shown(one.bulk, one.amount)} of {one.bulk.label}"
    if one.limit is None:
        said = held
    elif one.room is Room.OVER:
        said = f"{held}, {shown(one.bulk, one.amount - one.limit)} more than the {shown(one.bulk, one.limit)} it may"
    else:
        said = f"{one.bulk.label} {shown(one.bulk, one.amount)} of at most {shown(one.bulk, one.limit)}"
    return f"{said} (not counted: {', '.join(one.uncounted)})" if one.uncounted and one.amount else said


@dataclass(frozen=True)
class Told:
    """One bulk of a place as pages write it: its name, what is held, the limit, the share, and what is not counted."""

    bulk: Bulk
    held: str
    limit: str
    share: str
    room: Room
    uncounted: tuple[str, ...]


def told(area: Area, held: Held) -> list[Told]:
    """Return how full a place is, as pages and API write it."""
    return [_told(one) for one in filled(area, held=held)]


def _told(one: Filled) -> Told:
    share = "" if one.share is None else str(show(ureg.Quantity(float(one.share) * 100, "percent"), Kind.FRACTION))
    limit = "" if one.limit is None else shown(one.bulk, one.limit)
    return Told(one.bulk, shown(one.bulk, one.amount), limit, share, one.room, one.uncounted)


def limits_told(row: AreaLimit) -> str:
    """Return the limits of one row in words."""
    return in_words({bulk.value: getattr(row, bulk.value) for bulk in Bulk})


def in_words(amounts: Mapping[str, int | None]) -> str:
    """Return limits by the names of their columns in words."""
    said = [f"{bulk.label} {shown(bulk, Decimal(value))}" for bulk in Bulk if (value := amounts.get(bulk.value))]
    return ", ".join(said) or "no limit"
