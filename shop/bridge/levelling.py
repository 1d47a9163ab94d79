"""Which cells to level before they are joined, to what, and how."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from packs import chemistry, network
from packs.errors import MissingFact
from packs.terms import LITHIUM_ION, Chemistry, Measure, Stage
from packs.units import Quantity, of, ureg
from shop.models import Plan, PlanPosition

from . import cells, figures, rules, standing

GENTLE = Decimal("0.1")
"""Of the rated capacity an hour: so fast a single cell is brought up or down on the bench; common practice, no source."""
NO_CURRENT = ureg.Quantity(0.0, "ampere")


@dataclass(frozen=True)
class ToLevel:
    """One cell that lies too far from where all of them belong.

    ``to`` is None where cells are brought to equal charge instead; ``charge`` where no curve says how much lies between.
    ``resistor`` and ``over`` are for a cell that has to come down.
    """

    position: str
    code: str
    rests: Quantity
    to: Quantity | None
    up: bool
    current: Quantity
    charge: Quantity | None = None
    resistor: Quantity | None = None
    over: network.Discharging | None = None


def to_level(plan: Plan) -> tuple[ToLevel, ...]:
    """Return the cells to level by what was measured last; none where every one is where it belongs.

    What rests too low or too high to be used again is neither charged nor discharged here.
    """
    rest = figures.of_points(plan.job, Stage.MEASURE, Measure.REST_VOLTAGE)
    positions = [place for place in plan.positions.select_related("cell__lot") if place.name in rest]
    if not positions:
        return ()
    known = figures.of_cells([place.cell for place in positions])
    belongs, within = _target(plan, rest, positions), _within(plan, positions, known)
    far = [
        place
        for place in positions
        if abs(rest[place.name] - belongs) > within and not rules.rejection(plan.cell_model, rest[place.name])
    ]
    return tuple(_way(plan, place, rest[place.name], belongs, known.get(place.cell_id, {})) for place in far)


def _target(plan: Plan, rest: Mapping[str, Decimal], positions: list[PlanPosition]) -> Decimal:
    """Return where all belong [mV]: beside the groups that stay, else in the middle of the cells."""
    stay = standing.level_mv({number: rest.get(standing.point_of(number)) for number in plan.standing_groups})
    return median(rest[place.name] for place in positions) if stay is None else stay


def _within(plan: Plan, positions: list[PlanPosition], known: Mapping[int, figures.Figures]) -> Decimal:
    """Return how far from there a cell may lie [mV]: two at opposite ends still keep the spread and the current.

    The current counts against the lowest resistance of all, as if the rest of the group had none.
    """
    apart = rules.own_limit("measure.rest_spread", rules.in_force(plan.job))
    ohms = [
        read[Measure.DC_RESISTANCE] for place in positions if Measure.DC_RESISTANCE in (read := known[place.cell_id])
    ]
    most = cells.model(plan.cell_model).max_charge_current
    if ohms and most is not None:
        apart = min(apart, (most * of(Measure.DC_RESISTANCE, min(ohms))).to("mV"))
    return Decimal(repr(float(apart.m_as("mV")))) / 2


def _way(plan: Plan, place: PlanPosition, rest_mv: Decimal, belongs_mv: Decimal, read: figures.Figures) -> ToLevel:
    rated = plan.cell_model.rated_capacity_mah
    at, to, up = of(Measure.REST_VOLTAGE, rest_mv), of(Measure.REST_VOLTAGE, belongs_mv), rest_mv < belongs_mv
    gentle = of(Measure.CURRENT, rated * GENTLE)
    if standing.by_charge(plan):
        return ToLevel(place.name, place.cell.code, at, None, True, gentle)
    charge = _between(plan, at, to, of(Measure.CAPACITY, read.get(Measure.CAPACITY, rated)))
    if up:
        return ToLevel(place.name, place.cell.code, at, to, up, gentle, charge)
    resistor = network.levelling_resistor(at, gentle)
    over = None if charge is None else network.discharge_over(resistor, (at, to), charge)
    return ToLevel(place.name, place.cell.code, at, to, up, gentle, charge, resistor, over)


def _between(plan: Plan, one: Quantity, other: Quantity, capacity: Quantity) -> Quantity | None:
    """Return the most charge that lies between two rest voltages, by the curves of the chemistry; None without one."""
    if plan.cell_model.chemistry not in LITHIUM_ION:
        return None
    try:
        curves = chemistry.curves_of(Chemistry(plan.cell_model.chemistry))
    except MissingFact:
        return None
    shares = [abs(curve.state(one) - curve.state(other)) for curve in curves]
    return capacity * max(shares) if shares and max(shares) > 0 else None
