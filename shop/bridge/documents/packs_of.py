"""The pack of a job on paper: ratings, groups with their cells, limits for its user."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from packs import network, topology
from packs.chemistry import ChemistryLimits
from packs.documents import Group, Limit, Mixed, Outline, PackRating, PlacedCell, RatingChange, rating_change
from packs.terms import CellFormat, Chemistry, LotOrigin, Measure, Packing, Terminals
from packs.units import Quantity, of, to
from shop.bridge import cells, figures, rules, standing
from shop.errors import ShopError
from shop.models import Cell, CellModel, Job, PackAsFound, Plan, PlanPosition, PlanState, Quote


def plan_of(job: Job) -> Plan:
    """Return the plan that counts for a job and has its cells."""
    rows = Plan.objects.filter(job=job, accepted_at__isnull=False).exclude(state=PlanState.ABANDONED.value)
    plan = rows.select_related("cell_model", "job__device").first()
    if plan is None:
        raise ShopError("no_plan", f"Job {job.code} has no target pack with cells yet. Match cells first.")
    return plan


def rating(row: Plan | PackAsFound | Quote) -> PackRating:
    """Return what a pack is rated at, exactly."""
    model, count = row.cell_model, row.cell_count if isinstance(row, PackAsFound) else row.series * row.parallel
    return PackRating(
        arrangement=row.arrangement if isinstance(row, PackAsFound) else f"{row.series}s{row.parallel}p",
        cells=count,
        cell_model=model.name,
        chemistry=Chemistry(model.chemistry),
        nominal_voltage_mv=Decimal(model.nominal_voltage_mv * row.series),
        voltage_low_mv=Decimal(model.end_of_discharge_mv * row.series),
        voltage_high_mv=Decimal(model.charge_limit_mv * row.series),
        rated_capacity_mah=model.rated_capacity_mah * row.parallel,
        rated_energy_mwh=energy_mwh(model, count),
    )


def energy_mwh(model: CellModel, count: int) -> Decimal:
    """Return what so many cells are rated at together [mWh], exactly."""
    return topology.rated_energy_wh(model.rated_capacity_mah, Decimal(model.nominal_voltage_mv), count) * 1000


def change_of(old: PackRating, new: PackRating) -> RatingChange:
    """Return how far what a pack is rated at went from what it was."""
    return rating_change(old.rated_energy_mwh, new.rated_energy_mwh, old.nominal_voltage_mv, new.nominal_voltage_mv)


def outline(plan: Plan) -> Outline:
    """Return what the drawing of a plan's pack is made from."""
    return Outline(
        plan.series,
        plan.parallel,
        CellFormat(plan.cell_model.cell_format),
        Terminals(plan.cell_model.terminals),
        Packing(plan.packing),
        plan.conductor,
    )


Tested = Mapping[str, Decimal]
_NOTHING: Tested = {}


def groups(plan: Plan, *, charged_mv: Tested = _NOTHING, rest_mv: Tested = _NOTHING) -> tuple[Group, ...]:
    """Return the groups of a plan with their cells; what was measured of a group is given by "group 1", "group 2" ..."""
    placed = _placed(plan)
    members = [[cell for cell in placed if cell.group == number] for number in range(1, plan.series + 1)]
    stay = {group.number: group for group in standing.groups(plan)}
    old = {number: group.capacity_mah for number, group in stay.items()}
    capacities = [
        old[number] if number in old else _sum([cell.capacity_mah for cell in group])
        for number, group in enumerate(members, start=1)
    ]
    weakest = _weakest(capacities)
    return tuple(
        Group(
            number=number,
            cells=tuple(group),
            capacity_mah=capacity,
            resistance_uohm=_resistance([cell.dc_resistance_uohm for cell in group]),
            weakest=number in weakest,
            charged_mv=charged_mv.get(f"group {number}"),
            rest_mv=rest_mv.get(f"group {number}"),
            stays=number in stay,
            found_mv=stay[number].found_mv if number in stay else None,
            before_mv=stay[number].rest_mv if number in stay else None,
        )
        for number, (group, capacity) in enumerate(zip(members, capacities, strict=True), start=1)
    )


def mixed(plan: Plan) -> Mixed | None:
    """Return which groups are new and which stay, and which limits the pack; None where none stays."""
    found = standing.mixed(plan, rules.group_capacities(plan))
    if found is None:
        return None
    return Mixed(found.replaced, found.stay, found.unmeasured, found.limiting, found.limit_mah)


def _placed(plan: Plan) -> list[PlacedCell]:
    positions = list(plan.positions.select_related("cell"))
    known = figures.of_cells([position.cell for position in positions])
    repairs = figures.repairs_of([position.cell for position in positions])
    used = set(Cell.objects.filter(positions__plan=plan).reclaimed().values_list("pk", flat=True))
    placed = [_cell(position, known.get(position.cell_id, {}), position.cell_id in used) for position in positions]
    return [replace(cell, repairs=repairs.get(at.cell_id, ())) for at, cell in zip(positions, placed, strict=True)]


def _cell(position: PlanPosition, known: figures.Figures, reclaimed: bool) -> PlacedCell:
    return PlacedCell(
        group=position.group,
        place=position.place,
        code=position.cell.code,
        origin=LotOrigin.DONOR if reclaimed else LotOrigin.BOUGHT,
        capacity_mah=known.get(Measure.CAPACITY),
        dc_resistance_uohm=known.get(Measure.DC_RESISTANCE),
        rest_voltage_mv=known.get(Measure.REST_VOLTAGE),
    )


def _sum(values: Sequence[Decimal | None]) -> Decimal | None:
    known = [value for value in values if value is not None]
    return sum(known, Decimal()) if known and len(known) == len(values) else None


def _weakest(capacities: Sequence[Decimal | None]) -> set[int]:
    """Return the numbers of the weakest groups; none where all are equal or one is not known."""
    known = [of(Measure.CAPACITY, capacity) for capacity in capacities if capacity is not None]
    if len(known) < len(capacities) or not known:
        return set()
    return {index + 1 for index in topology.weakest_groups(known).group_indexes}


def _resistance(values: Sequence[Decimal | None]) -> Decimal | None:
    known = [of(Measure.DC_RESISTANCE, value) for value in values if value is not None]
    if not known or len(known) < len(values):
        return None
    return to(Measure.DC_RESISTANCE, network.group_resistance(known))


def charge_temperature(plan: Plan) -> Limit | None:
    """Return at which temperatures the user may charge: what the shop itself keeps to."""
    window = rules.charge_limits(plan).temperature
    return window and within("temperature while charging", Measure.TEMPERATURE, *window)


def storage(plan: Plan) -> Limit | None:
    """Return the pack voltage at which it is stored, where the chemistry says."""
    known: ChemistryLimits = cells.limits(plan.cell_model)
    if known.storage_low is None or known.storage_high is None:
        return None
    low, high = known.storage_low * plan.series, known.storage_high * plan.series
    return within("pack voltage for storage", Measure.VOLTAGE, low, high)


def within(what: str, measure: Measure, low: Quantity, high: Quantity) -> Limit:
    """Return a window in stored units."""
    return Limit(what, measure, to(measure, low), to(measure, high))
