"""Rules of the steps up to the joined pack."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from packs import joints, network
from packs.rules import Context, Finding, check
from packs.terms import LITHIUM_ION, NICKEL, Chemistry, JointMethod, Measure, Outcome, Stage
from packs.units import Quantity, of
from shop.bridge import cells, figures, layouts
from shop.models import Cell, CellModel, Instrument, Plan, PlanPosition

from .asking import DATA_SHEET, METERS, asking, volts

Ask = Callable[..., Finding]
Voltages = Mapping[str, Decimal | None]
Bolts = Mapping[Measure, Mapping[str, Decimal]]


def dismantled(recorded: int, counted: int) -> list[Finding]:
    """Whether as many cells are in the book as were counted in the old pack."""
    return [check("dismantle.all_recorded", recorded, limit=counted, limit_source="count when examined")]


def placed(plan: Plan, cell: Cell) -> list[Finding]:
    """Whether a cell may go into a pack at all: above its recovery voltage, and not dead."""
    known, where = figures.of_cells([cell]).get(cell.pk, {}), f"cell {cell.code}"
    capacity = known.get(Measure.CAPACITY)
    return [
        _recovery(asking(plan), plan.cell_model, known.get(Measure.REST_VOLTAGE), where),
        asking(plan)("cell.holds_charge", None if capacity is None else capacity > 0, where=where),
    ]


def lowest_reusable(model: CellModel) -> Quantity | None:
    """Return the rest voltage below which a cell is not used again; None where its chemistry sets no such end."""
    return cells.limits(model).reject_below if model.chemistry in LITHIUM_ION else None


def rejection(model: CellModel, rest_mv: Decimal) -> str:
    """Say why a cell that rests at a voltage is not used again; nothing where it may be, or its chemistry sets no end."""
    if lowest_reusable(model) is None:
        return ""
    found = _recovery(partial(check, context=Context(chemistry=Chemistry(model.chemistry))), model, rest_mv, "")
    return f"Rejected: {found.message[0].lower()}{found.message[1:]}" if found.outcome is Outcome.FAIL else ""


def all_placed(count: int, needed: int) -> list[Finding]:
    """Whether every position holds its cell."""
    return [check("place.all_placed", count, limit=needed, limit_source="target pack")]


def before_joining(plan: Plan, rest_mv: Voltages) -> list[Finding]:
    """Whether every cell was measured, and none would see too much current from the group it joins."""
    ask = asking(plan)
    measured = sum(value is not None for value in rest_mv.values())
    positions = list(plan.positions.select_related("cell"))
    known = figures.of_cells([position.cell for position in positions])
    findings = [ask("measure.all_measured", measured, limit=plan.cell_count, limit_source="target pack")]
    findings += [_recovery(ask, plan.cell_model, rest_mv[place.name], f"position {place.name}") for place in positions]
    if plan.cell_model.chemistry in NICKEL:
        rests = ((place.name, rest_mv[place.name]) for place in positions)
        findings += [
            ask("measure.not_reversed", volts(mv), limit=volts(0), where=f"position {name}") for name, mv in rests
        ]
    for group in range(1, plan.series + 1):
        members = [position for position in positions if position.group == group]
        findings += _joining(ask, plan, group, members, rest_mv, known)
    return findings


@dataclass(frozen=True, kw_only=True)
class SecondLook:
    """Whether somebody looked again; after which pause where it was the same person, None where it was another."""

    done: bool
    by_another: bool
    pause: Quantity | None = None


def joined(
    plan: Plan, *, made: int, look: SecondLook, clean_faces: bool | None, bolts: Bolts, samples: Sequence[Finding]
) -> list[Finding]:
    """Whether every cell end is on its strip or bar, and what has to come first came first."""
    ask = asking(plan)
    layout = layouts.of_plan(plan)
    again = [ask("join.second_look_pause", look.pause)] if look.done and not look.by_another else []
    return [
        *samples,
        ask("join.clean_faces", clean_faces),
        ask("join.polarity_second_look", look.done),
        *again,
        ask("join.joints", made, limit=layout.joint_count(), limit_source="drawing of the target pack"),
        *(finding for strip in layout.strips for finding in _bolted(ask, plan, f"bar {strip.number}", bolts)),
    ]


def _bolted(ask: Ask, plan: Plan, bar: str, bolts: Bolts) -> list[Finding]:
    """Ask about the bolts of one bar; nothing to ask where the joints are not bolted."""
    if plan.joint_method != JointMethod.BOLTED:
        return []
    torque, contact = bolts[Measure.TORQUE].get(bar), bolts[Measure.CONTACT_RESISTANCE].get(bar)
    return [
        ask(
            "join.torque",
            None if torque is None else of(Measure.TORQUE, torque),
            limit=torque_window(plan),
            limit_source=DATA_SHEET,
            where=bar,
        ),
        ask(
            "join.contact_resistance",
            None if contact is None else of(Measure.CONTACT_RESISTANCE, contact),
            where=bar,
        ),
    ]


def torque_window(plan: Plan) -> tuple[Quantity, Quantity] | None:
    """Return between which torques the bolts of a plan's cells have to be, or None where the data sheet names none."""
    sheet = plan.cell_model.terminal_torque_mnm
    return None if sheet is None else joints.torque_window(of(Measure.TORQUE, sheet))


def expected_taps_mv(plan: Plan) -> list[Decimal]:
    """Return the voltage due at each tap from the negative end, from the readings taken before joining."""
    rest = figures.of_points(plan.job, Stage.MEASURE, Measure.REST_VOLTAGE)
    places = range(1, plan.parallel + 1)
    groups = [[rest[f"{group}.{place}"] for place in places] for group in range(1, plan.series + 1)]
    return network.expected_taps_mv(groups)


def ladder(plan: Plan, taps_mv: Sequence[Decimal | None], instrument: Instrument | None) -> list[Finding]:
    """Whether every tap, and with the last one the whole stack, shows what its groups add up to."""
    ask = asking(plan)
    expected = expected_taps_mv(plan)
    given = [*taps_mv, *[None] * (len(expected) - len(taps_mv))]
    return [
        ask(
            "ladder.rest_agreement" if tap == len(expected) else "ladder.tap",
            None if value is None else volts(abs(value - due)),
            limit=agreement_limit(due, instrument),
            limit_source=METERS,
            where=f"tap {tap}",
        )
        for tap, (due, value) in enumerate(zip(expected, given, strict=False), start=1)
    ]


@dataclass(frozen=True, kw_only=True)
class BoardTried:
    """What a board did on a bench ladder of resistors before it was fitted; None where it was not tried."""

    suits: bool | None = None
    overcharge_mv: Decimal | None = None
    undervoltage_mv: Decimal | None = None


def board_tried(plan: Plan, board: BoardTried) -> list[Finding]:
    """Whether the board may be connected: for this pack, and with trips that spare the cells."""
    ask = asking(plan)
    highest, source = cells.highest_ever(plan.cell_model)
    lowest = of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv)
    return [
        ask("ladder.board_suits", board.suits),
        ask("ladder.overcharge_trip", volts(board.overcharge_mv), limit=highest, limit_source=source),
        ask("ladder.undervoltage_trip", volts(board.undervoltage_mv), limit=lowest, limit_source=DATA_SHEET),
    ]


def trips(plan: Plan) -> tuple[Quantity, Quantity] | None:
    """Return the highest overcharge and the lowest undervoltage trip; None where no such board belongs to the cells."""
    highest, _ = cells.highest_ever(plan.cell_model)
    return None if highest is None else (highest, of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv))


def agreement_limit(voltage_mv: Decimal, instrument: Instrument | None) -> Quantity:
    """Return how far two readings of the same voltage with this meter may lie apart."""
    if instrument is None:
        return network.agreement_limit([])
    error = voltage_mv * instrument.error_ppm / 1_000_000 + Decimal(instrument.error_uv) / 1000
    return network.agreement_limit([of(Measure.VOLTAGE, error)] * 2)


def _recovery(ask: Ask, model: CellModel, voltage_mv: Decimal | None, where: str) -> Finding:
    lowest = cells.limits(model).reject_below
    return ask("cell.recovery_voltage", volts(voltage_mv), limit=lowest, limit_source="chemistry", where=where)


def _joining(
    ask: Ask,
    plan: Plan,
    group: int,
    members: Sequence[PlanPosition],
    rest_mv: Voltages,
    known: Mapping[int, figures.Figures],
) -> list[Finding]:
    """Ask about one group; with a voltage or a resistance missing nothing is known of it."""
    voltages = [volts(value) for place in members if (value := rest_mv[place.name]) is not None]
    figures_of = [known.get(place.cell_id, {}) for place in members]
    resistances = [
        of(Measure.DC_RESISTANCE, found[Measure.DC_RESISTANCE])
        for found in figures_of
        if Measure.DC_RESISTANCE in found
    ]
    rested = [volt for volt in voltages if volt is not None]
    complete = len(rested) == len(members)
    current = None
    if complete and len(resistances) == len(members):
        current = network.largest_joining_current(rested, resistances).current
    return [
        ask(
            "measure.joining_current",
            current,
            limit=cells.model(plan.cell_model).max_charge_current,
            limit_source="charging current of the data sheet",
            where=f"group {group}",
        ),
        ask("measure.rest_spread", max(rested) - min(rested) if complete else None, where=f"group {group}"),
    ]
