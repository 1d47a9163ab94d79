"""Which cells to level before they are joined, to what, and how."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from packs import levelling, network
from packs.terms import Chemistry, Measure, Stage
from packs.units import Quantity, amount, of
from shop.models import Plan, PlanPosition

from . import cells, figures, rules, standing


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
    sound = [place for place in positions if not rules.rejection(plan.cell_model, rest[place.name])]
    belongs = _target(plan, rest, positions)
    if standing.by_charge(plan):
        far = [] if _equally_charged(plan, rest) else sound
    else:
        within = _within(plan, positions, known)
        far = [place for place in sound if abs(rest[place.name] - belongs) > within]
    return tuple(_way(plan, place, rest[place.name], belongs, known.get(place.cell_id, {})) for place in far)


def _equally_charged(plan: Plan, rest: Mapping[str, Decimal]) -> bool:
    """Whether the voltages say that all hold the same charge, where else they say too little."""
    volts = [of(Measure.REST_VOLTAGE, mv) for mv in rest.values()]
    return levelling.equally_charged(Chemistry(plan.cell_model.chemistry), volts)


def _target(plan: Plan, rest: Mapping[str, Decimal], positions: list[PlanPosition]) -> Decimal:
    """Return where all belong [mV]: beside the groups that stay, else in the middle of the cells."""
    stay = standing.level_mv({number: rest.get(standing.point_of(number)) for number in plan.standing_groups})
    if stay is not None:
        return stay
    return amount(levelling.middle([of(Measure.REST_VOLTAGE, rest[place.name]) for place in positions]), "mV")


def _within(plan: Plan, positions: list[PlanPosition], known: Mapping[int, figures.Figures]) -> Decimal:
    """Return how far from there a cell may lie [mV]."""
    spread = rules.own_limit(rules.spread_rule(plan), rules.in_force(plan.job))
    ohms = [
        read[Measure.DC_RESISTANCE] for place in positions if Measure.DC_RESISTANCE in (read := known[place.cell_id])
    ]
    lowest = of(Measure.DC_RESISTANCE, min(ohms)) if ohms else None
    return amount(levelling.may_lie_apart(spread, cells.model(plan.cell_model).max_charge_current, lowest), "mV")


def _way(plan: Plan, place: PlanPosition, rest_mv: Decimal, belongs_mv: Decimal, read: figures.Figures) -> ToLevel:
    rated = plan.cell_model.rated_capacity_mah
    at, to, up = of(Measure.REST_VOLTAGE, rest_mv), of(Measure.REST_VOLTAGE, belongs_mv), rest_mv < belongs_mv
    gentle = levelling.gentle_current(of(Measure.CAPACITY, rated))
    if standing.by_charge(plan):
        return ToLevel(place.name, place.cell.code, at, None, True, gentle)
    capacity = of(Measure.CAPACITY, read.get(Measure.CAPACITY, rated))
    charge = levelling.charge_between(Chemistry(plan.cell_model.chemistry), at, to, capacity)
    if up:
        return ToLevel(place.name, place.cell.code, at, to, up, gentle, charge)
    resistor = network.preferred(network.levelling_resistor(at, gentle))
    over = None if charge is None else network.discharge_over(resistor, (at, to), charge)
    return ToLevel(place.name, place.cell.code, at, to, up, gentle, charge, resistor, over)
