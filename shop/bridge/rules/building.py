"""Rules of the steps up to the joined pack."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial
from itertools import pairwise
from math import floor

from packs import joints, levelling, network
from packs.rules import Context, Finding, RuleSet
from packs.terms import LITHIUM_ION, NICKEL, Chemistry, Condition, JointMethod, Measure, Outcome, Place, Stage
from packs.units import Quantity, of, ureg
from shop.bridge import cells, figures, grading, layouts, standing
from shop.models import (
    Cell,
    CellModel,
    Instrument,
    Job,
    Joint,
    JointState,
    Movement,
    PackAsFound,
    Plan,
    PlanPosition,
    Reading,
)

from . import origin
from .asking import CHARGED, DATA_SHEET, METERS, asking, volts
from .limits import counted_window, in_force, own_limit, single

Ask = Callable[..., Finding]
Voltages = Mapping[str, Decimal | None]
TENTH_AROUND_SHEET = "a tenth around the torque on the data sheet of the cell"
LOOKED_BY, SAME_PERSON = "second look by ", "the same person after a pause"
"""How a second look is kept: by another person's name, or by the same one."""
NOT_CONFIRMED = " (named by whoever joined, not confirmed by that person)"
"""What stands behind another person's name: nobody else signed for it."""
OF_THE_BOOK = frozenset({"dismantle.all_recorded", "dismantle.within_the_hour"})
"""What is asked once the old pack is apart."""
IN_THEIR_PLACES = (Stage.PLACE, Stage.MEASURE, Stage.JOIN)
"""Stages at which photographs show the cells in their places, before the strips lie over them."""
MOST_TRIES, COOLED = "most tries at one joint: ", "join.cooled"
"""How tries at a joint that was made again are kept."""
EQUAL_CHARGE = "measure.equal_charge"
Bolts = Mapping[Measure, Mapping[str, Decimal]]


def dismantled(found: PackAsFound, recorded: int, due: int) -> list[Finding]:
    """Whether as many cells are in the book as are ``due`` to leave the old pack: all that were counted, or a part."""
    ask = asking(found)
    source = "count when examined" if due == found.cell_count else "groups that are replaced"
    return [
        ask("dismantle.all_recorded", recorded, limit=due, limit_source=source),
        ask("dismantle.within_the_hour", _longest_wait(found.job)),
    ]


def _longest_wait(job: Job) -> Quantity | None:
    """Return the longest time between two bookings; None while no cell is in the book.

    A cell is booked as it is cut. It begins when the pack was ready to be cut, where that was asked, else with the first.
    """
    removed = Cell.objects.removed_from_pack_of(job)
    booked = Movement.objects.filter(job=job, cell__in=removed, to_place=Place.BENCH.value).values_list("at", flat=True)
    ready = job.log.filter(verb="dismantling prepared", facts__stops=[]).values_list("at", flat=True)
    at = sorted({*booked})
    if not at:
        return None
    moments = [*(moment for moment in list(ready)[-1:] if moment <= at[0]), *at]
    longest = max((later - earlier for earlier, later in pairwise(moments)), default=timedelta())
    return ureg.Quantity(longest.total_seconds() / 60, "minute")


def placed(plan: Plan, *placed_cells: Cell) -> list[Finding]:
    """Whether cells may go into a pack at all: above their recovery voltage, not dead, and of a lot that may serve it."""
    ask, figures_of = asking(plan), figures.of_cells(placed_cells)
    findings = []
    for cell in placed_cells:
        known, where = figures_of.get(cell.pk, {}), f"cell {cell.code}"
        capacity = known.get(Measure.CAPACITY)
        findings += [
            *at_rest(ask, plan.cell_model, known.get(Measure.REST_VOLTAGE), where),
            ask("cell.holds_charge", None if capacity is None else capacity > 0, where=where),
        ]
    return [
        *findings,
        undamaged(plan, placed_cells),
        *keeping_charge(plan, placed_cells),
        *origin.may_serve(plan, placed_cells),
    ]


def undamaged(plan: Plan, cells_asked: Iterable[Cell]) -> Finding:
    """Whether no cell is damaged or was rejected: one that was too low once stays out, whatever it was charged to since."""
    bad = sorted(one.code for one in cells_asked if one.condition != Condition.INTACT)
    return asking(plan)("cell.undamaged", not bad, where=f"cell {origin.some(bad)}" if bad else "")


def keeping_charge(plan: Plan, cells_asked: Iterable[Cell]) -> list[Finding]:
    """Whether no cell is known to lose its charge at rest; where one does, what tells it stands beside its code."""
    asked = list(cells_asked)
    ask, lost = asking(plan), grading.losing(asked)
    leaking = [
        ask("cell.keeps_charge", False, where=f"cell {one.code}, {lost[one.pk]}") for one in asked if one.pk in lost
    ]
    return leaking or [ask("cell.keeps_charge", True)]


def reusable(model: CellModel) -> tuple[Quantity, Quantity] | None:
    """Return between which rest voltages a cell is used again; None where its chemistry sets no such ends."""
    lowest = cells.limits(model).reject_below
    if model.chemistry not in LITHIUM_ION or lowest is None:
        return None
    ends = {"cell.recovery_voltage": lowest, "cell.overcharged": cells.highest_charged(model)}
    low, high = (single(in_force().limit(rule, end), rule) for rule, end in ends.items())
    return low, high


def rejection(model: CellModel, rest_mv: Decimal, rules: RuleSet | None = None) -> str:
    """Say why a cell that rests at a voltage is not used again; nothing where it may be, or its chemistry sets no end.

    ``rules`` are those in force, for whoever asks about many cells.
    """
    if model.chemistry not in LITHIUM_ION or cells.limits(model).reject_below is None:
        return ""
    check = partial((rules or in_force()).check, context=Context(chemistry=Chemistry(model.chemistry)))
    failing = [one for one in at_rest(check, model, rest_mv, "") if one.outcome is Outcome.FAIL]
    return f"Rejected: {failing[0].message[0].lower()}{failing[0].message[1:]}" if failing else ""


def right_cell(position: PlanPosition | None) -> list[Finding]:
    """Whether a cell that was scanned has a position in the plan."""
    return [in_force().check("place.right_cell", position is not None)]


def all_placed(plan: Plan) -> list[Finding]:
    """Whether every position holds its cell, and each may be in a pack."""
    filled = list(plan.positions.filter(placed_at__isnull=False).select_related("cell__lot__cell_model"))
    ask = asking(plan)
    findings = [ask("place.all_placed", len(filled), limit=plan.new_cells, limit_source="target pack")]
    findings += [ask("place.right_cell", True, where=f"position {position.name}") for position in filled]
    return findings + placed(plan, *(position.cell for position in filled))


def before_joining(plan: Plan, rest_mv: Voltages, *, equal_charge: bool | None = None) -> list[Finding]:
    """Whether every cell was measured, and none would see too much current from the group it joins.

    ``equal_charge`` is what somebody confirmed where the voltage says too little about it.
    """
    ask = asking(plan)
    positions = list(plan.positions.select_related("cell__lot__cell_model"))
    measured = sum(rest_mv[place.name] is not None for place in positions)
    known = figures.of_cells([position.cell for position in positions])
    findings = [ask("measure.all_measured", measured, limit=plan.new_cells, limit_source="target pack")]
    findings += keeping_charge(plan, [place.cell for place in positions])
    findings.append(undamaged(plan, [place.cell for place in positions]))
    findings += _may_serve_still(plan, [place.cell for place in positions])
    findings.append(origin.prepared(plan, [place.cell for place in positions]))
    for place in positions:
        findings += _resting(ask, plan, rest_mv[place.name], f"position {place.name}")
    for group in plan.open_groups:
        members = [position for position in positions if position.group == group]
        findings += _joining(ask, plan, group, members, rest_mv, known)
    findings += _equally_charged(plan, rest_mv, equal_charge)
    return [*findings, *_groups_apart(plan, positions, rest_mv), *_level(ask, plan, positions, rest_mv)]


def _equally_charged(plan: Plan, rest_mv: Voltages, confirmed: bool | None) -> list[Finding]:
    """Ask of flat chemistries whether all cells, and groups that stay, hold the same charge; a lone cell does by itself."""
    if not standing.by_charge(plan) or len(rest_mv) < 2:
        return []
    voltages = [of(Measure.REST_VOLTAGE, mv) for mv in rest_mv.values() if mv is not None]
    equal = confirmed
    if len(voltages) == len(rest_mv):
        chemistry = Chemistry(plan.cell_model.chemistry)
        if levelling.equally_charged(chemistry, voltages):
            equal = True
        elif levelling.unequally_charged(chemistry, voltages):
            equal = False
    return [asking(plan)(EQUAL_CHARGE, equal)]


def _groups_apart(plan: Plan, positions: Sequence[PlanPosition], rest_mv: Voltages) -> list[Finding]:
    """Ask how far the groups lie apart before they are in series; beside groups that stay each has its own window."""
    if plan.standing_groups or plan.series == 1:
        return []
    by_group = [[rest_mv[one.name] for one in positions if one.group == group] for group in plan.open_groups]
    known = [mean for mean in map(_mean, by_group) if mean is not None]
    apart = max(known) - min(known) if len(known) == plan.series else None
    rule = "measure.groups_apart_flat" if standing.by_charge(plan) else "measure.groups_apart"
    return [asking(plan)(rule, volts(apart))]


def spread_rule(plan: Plan) -> str:
    """Return the rule on how far cells of a group may rest apart: by what the voltage of their chemistry tells."""
    return "measure.rest_spread_flat" if standing.by_charge(plan) else "measure.rest_spread"


def measured_lately(plan: Plan, at: datetime) -> list[Finding]:
    """Ask how old the voltages are that joining leans on; nothing once cells hang together and have one voltage."""
    if Joint.objects.filter(position__plan=plan).exclude(state=JointState.UNDONE.value).exists():
        return []
    rows = Reading.objects.standing().filter(job=plan.job, stage=Stage.MEASURE.value)
    read = list(rows.values_list("measured_at", flat=True))
    # What was joined before the last cell was measured was joined unmeasured.
    known = bool(read) and read[-1] <= at
    age = ureg.Quantity((at - read[0]).total_seconds() / 60, "minute") if known else None
    return [asking(plan)("join.measured_lately", age)]


def welding_charge(plan: Plan) -> Quantity | None:
    """Return the highest rest voltage at which a cell is welded: as for storage, else the nominal one."""
    known = cells.limits(plan.cell_model)
    return known.storage_high or known.nominal_voltage


def rest_before_joining(plan: Plan) -> tuple[Quantity, Quantity] | None:
    """Return between which rest voltages a cell is joined: as it is used again, and none nearly full where it is welded."""
    window = reusable(plan.cell_model)
    if window is None or plan.joint_method != JointMethod.SPOT_WELD:
        return window
    rule = "measure.charge_for_welding"
    highest = welding_charge(plan)
    most = None if highest is None else single(in_force(plan.job).limit(rule, highest), rule)
    if most is None:
        return window
    whole = ureg.Quantity(floor(most.m_as("mV")), "mV")  # so that whoever keeps to what is shown is inside
    return window[0], min(window[1], whole.to("V"))


def groups_apart_rule(plan: Plan) -> str:
    """Return the rule on how far the groups may lie apart before they are in series; nothing where none asks.

    Beside groups that stay each new one has its own window.
    """
    if plan.standing_groups or plan.series == 1 or plan.cell_model.chemistry not in LITHIUM_ION:
        return ""
    return "measure.groups_apart_flat" if standing.by_charge(plan) else "measure.groups_apart"


def _resting(ask: Ask, plan: Plan, rest_mv: Decimal | None, where: str) -> list[Finding]:
    """Ask about one cell before it is joined; one of nickel must not have been reversed."""
    found = at_rest(ask, plan.cell_model, rest_mv, where)
    limit = welding_charge(plan)
    found.append(ask("measure.charge_for_welding", volts(rest_mv), limit=limit, limit_source="chemistry", where=where))
    if plan.cell_model.chemistry in NICKEL:
        found.append(ask("measure.not_reversed", volts(rest_mv), limit=volts(0), where=where))
    return found


def _level(ask: Ask, plan: Plan, positions: Sequence[PlanPosition], rest_mv: Voltages) -> list[Finding]:
    """Ask whether new groups are level with those that stay, before they are in series; nothing where none stays."""
    if not plan.standing_groups:
        return []
    stay = {number: rest_mv.get(standing.point_of(number)) for number in plan.standing_groups}
    known = [value for value in stay.values() if value is not None]
    spread = max(known) - min(known) if len(known) == len(stay) else None
    window = level_window(stay)
    groups = {number: [rest_mv[one.name] for one in positions if one.group == number] for number in plan.open_groups}
    return [
        *(
            found
            for number, value in stay.items()
            for found in at_rest(ask, plan.cell_model, value, standing.point_of(number))
        ),
        ask("measure.standing_spread", volts(spread)),
        *(
            ask(
                "measure.group_level",
                volts(_mean(values)),
                limit=window,
                limit_source="groups that stay, as measured now",
                where=standing.point_of(number),
            )
            for number, values in groups.items()
        ),
    ]


def level_window(stay_mv: Mapping[int, Decimal | None]) -> tuple[Quantity, Quantity] | None:
    """Return where the rest voltage of a new group has to lie: around the middle of those that stay; None if unknown."""
    level = volts(standing.level_mv(stay_mv))
    apart = own_limit("final.group_spread")
    return None if level is None else (level - apart, level + apart)


def _mean(values_mv: Sequence[Decimal | None]) -> Decimal | None:
    """Return where cells of a group settle once they are joined, cells of like resistance; None where one is missing."""
    known = [value for value in values_mv if value is not None]
    return sum(known, Decimal()) / len(known) if known and len(known) == len(values_mv) else None


@dataclass(frozen=True, kw_only=True)
class SecondLook:
    """Whether somebody looked again; after which pause where it was the same person, None where it was another."""

    done: bool
    by_another: bool
    pause: Quantity | None = None


def look_told(look: SecondLook, name: str) -> str:
    """Say who looked a second time, as it is kept and printed."""
    if look.by_another:
        return f"{LOOKED_BY}{name.strip()}{NOT_CONFIRMED}"
    pause = "" if look.pause is None else f" of {look.pause.m_as('minute'):.0f} min"
    return f"{LOOKED_BY}{SAME_PERSON}{pause}"


def looked_by(confirmed: Mapping[str, bool]) -> str:
    """Return the other person who looked a second time, as it was kept with a step; nothing where it was the same one."""
    said = next((words.removeprefix(LOOKED_BY) for words in confirmed if words.startswith(LOOKED_BY)), "")
    return "" if said.startswith(SAME_PERSON) else said.removesuffix(NOT_CONFIRMED)


def look_kept(confirmed: Mapping[str, bool]) -> SecondLook:
    """Return the second look as it was kept with a step."""
    said = next((words.removeprefix(LOOKED_BY) for words in confirmed if words.startswith(LOOKED_BY)), "")
    again = said.startswith(SAME_PERSON)
    minutes = said.removeprefix(SAME_PERSON).removeprefix(" of ").removesuffix(" min") if again else ""
    pause = ureg.Quantity(int(minutes), "minute") if minutes else None
    return SecondLook(done=bool(confirmed.get("second_look")), by_another=bool(said) and not again, pause=pause)


def before_the_joints(
    plan: Plan, cells_asked: Sequence[Cell], *, look: SecondLook, samples: Sequence[Finding], at: datetime
) -> list[Finding]:
    """Whether what has to come first came first: voltages, cells that may serve by now, peel sample, second look."""
    return [
        *measured_lately(plan, at),
        undamaged(plan, cells_asked),
        *_may_serve_still(plan, cells_asked),
        *samples,
        *looked_again(plan, look),
    ]


def _may_serve_still(plan: Plan, cells_asked: Iterable[Cell]) -> list[Finding]:
    """Ask again what was asked when the cells were chosen: a signature may have been narrowed since.

    What does not apply to the device was said then.
    """
    found = origin.may_serve(plan, cells_asked)
    return [one for one in found if one.outcome is not Outcome.NOT_APPLICABLE]


def looked_again(plan: Plan, look: SecondLook) -> list[Finding]:
    """Whether somebody looked a second time; the same person after a pause, and with photographs to look at."""
    ask = asking(plan)
    found = [ask("join.polarity_second_look", look.done)]
    if look.done and not look.by_another:
        shown = plan.job.photographs.standing().filter(stage__in=[stage.value for stage in IN_THEIR_PLACES])
        found.append(ask("join.second_look_pause", look.pause))
        found.append(ask("join.second_look_photographs", shown.exists()))
    return found


@dataclass(frozen=True, kw_only=True)
class MadeAgain:
    """What is said of joints that had to be made again: the most tries at one of them, and whether each cooled first."""

    tries: int | None = None
    cooled: bool | None = None


def tries_told(tries: int) -> str:
    """Say how many tries the joint took that took most, as it is kept and printed."""
    return f"{MOST_TRIES}{tries}"


def tries_before(job: Job) -> int:
    """Return the most tries at one joint that were written down since a cell was last replaced; 0 where none were.

    A strip that is taken off does not take the heat out of the can.
    """
    replaced = job.log.filter(verb__in=["cell replaced", "cell breached"]).last()
    steps = job.steps.filter(stage=Stage.JOIN.value)
    counting = steps if replaced is None else steps.filter(started_at__gt=replaced.at)
    return max((made_again_kept(step.confirmed).tries or 0 for step in counting), default=0)


def made_again_kept(confirmed: Mapping[str, bool]) -> MadeAgain:
    """Return what was said of joints made again as it was kept with a step."""
    said = next((words.removeprefix(MOST_TRIES) for words in confirmed if words.startswith(MOST_TRIES)), "")
    return MadeAgain(tries=int(said) if said else None, cooled=confirmed.get(COOLED))


def joined(
    plan: Plan, *, made: int, failed: int, again: MadeAgain, clean_faces: bool | None, bolts: Bolts
) -> list[Finding]:
    """Whether every cell end is on its strip or bar, each bolt as it has to be; of joints made again, how often."""
    ask = asking(plan)
    strips = layouts.to_join(plan)
    few = None if again.tries is None else again.tries <= joints.MOST_TRIES
    too_many = few is False  # a strip that was taken off since may have no joint made again, and its cell the heat
    burnt = [ask("join.attempts", few)] if failed or too_many else []
    burnt += [ask(COOLED, again.cooled)] if failed else []
    return [
        *burnt,
        ask("join.clean_faces", clean_faces),
        ask("join.joints", made, limit=layouts.joints_to_make(plan), limit_source="drawing of the target pack"),
        *(finding for strip in strips for finding in _bolted(ask, plan, f"bar {strip.number}", bolts)),
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
            limit=_sheet_torque(plan),
            limit_source=TENTH_AROUND_SHEET,
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
    return counted_window(in_force(plan.job), "join.torque", _sheet_torque(plan))


def _sheet_torque(plan: Plan) -> tuple[Quantity, Quantity] | None:
    sheet = plan.cell_model.terminal_torque_mnm
    return None if sheet is None else joints.torque_window(of(Measure.TORQUE, sheet))


def expected_taps_mv(plan: Plan) -> list[Decimal]:
    """Return the voltage due at each tap from the negative end, from the readings taken before joining."""
    rest = figures.of_points(plan.job, Stage.MEASURE, Measure.REST_VOLTAGE)
    stay, places = set(plan.standing_groups), range(1, plan.parallel + 1)
    groups = [
        [rest[standing.point_of(group)]] if group in stay else [rest[f"{group}.{place}"] for place in places]
        for group in range(1, plan.series + 1)
    ]
    return network.expected_taps_mv(groups)


def ladder(plan: Plan, taps_mv: Sequence[Decimal | None], instrument: Instrument | None) -> list[Finding]:
    """Whether every tap, and with the last one the whole stack, shows what its groups add up to."""
    ask, expected = asking(plan), expected_taps_mv(plan)
    given = [*taps_mv, *[None] * (len(expected) - len(taps_mv))]
    return [
        ask(
            tap_rule(tap, len(expected)),
            None if value is None else volts(abs(value - due)),
            limit=meters_error(due, instrument),
            limit_source=METERS,
            where=f"tap {tap}",
        )
        for tap, (due, value) in enumerate(zip(expected, given, strict=False), start=1)
    ]


BOARD_SUITS = "ladder.board_suits"
ANOTHER_BOARD = "another board went in"
"""What a step keeps of it; in words, so that story and report say it."""
OVERCHARGE_TRIP, UNDERVOLTAGE_TRIP = "overcharge trip", "undervoltage trip"
"""Points at which the trips of a board are written down."""


@dataclass(frozen=True, kw_only=True)
class BoardTried:
    """What a board did on a bench ladder of resistors before it was fitted; None where it was not tried."""

    suits: bool | None = None
    overcharge_mv: Decimal | None = None
    undervoltage_mv: Decimal | None = None
    another: bool = False
    """Whether another board goes in than the one that was found."""


def board_tried(plan: Plan, board: BoardTried) -> list[Finding]:
    """Whether the board may be connected: for this pack, and with trips that spare the cells."""
    ask = asking(plan)
    highest, source = cells.highest_ever(plan.cell_model)
    lowest = of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv)
    return [
        ask(BOARD_SUITS, board.suits),
        ask("ladder.overcharge_trip", volts(board.overcharge_mv), limit=highest, limit_source=source),
        ask("ladder.undervoltage_trip", volts(board.undervoltage_mv), limit=lowest, limit_source=DATA_SHEET),
    ]


def trips(plan: Plan) -> tuple[Quantity, Quantity] | None:
    """Return the highest overcharge and the lowest undervoltage trip; None where no such board belongs to the cells."""
    highest, _ = cells.highest_ever(plan.cell_model)
    if highest is None:
        return None
    lowest, rules = of(Measure.VOLTAGE, plan.cell_model.end_of_discharge_mv), in_force(plan.job)
    ends = {"ladder.overcharge_trip": highest, "ladder.undervoltage_trip": lowest}
    high, low = (single(rules.limit(rule, end), rule) for rule, end in ends.items())
    return high, low


def tap_rule(tap: int, taps: int) -> str:
    """Return the rule of a tap: the last one is the whole pack."""
    return "ladder.rest_agreement" if tap == taps else "ladder.tap"


def agreement_limits(rules: RuleSet, expected_mv: Sequence[Decimal]) -> list[Quantity]:
    """Return how far each tap may lie from what is due there, with a meter whose error is not known yet."""
    return [tolerance(tap_rule(tap, len(expected_mv)), rules) for tap, _ in enumerate(expected_mv, start=1)]


def tolerance(rule_id: str, rules: RuleSet | None = None) -> Quantity:
    """Return how far two readings of the same voltage may lie apart with a meter whose error is not known yet."""
    return single((rules or in_force()).limit(rule_id), rule_id)


def meters_error(voltage_mv: Decimal, instrument: Instrument | None) -> Quantity:
    """Return how far two readings of a voltage with this meter may lie apart by the meter alone."""
    if instrument is None:
        return network.meters_error([])
    error = voltage_mv * instrument.error_ppm / 1_000_000 + Decimal(instrument.error_uv) / 1000
    return network.meters_error([of(Measure.VOLTAGE, error)] * 2)


def at_rest(ask: Ask, model: CellModel, voltage_mv: Decimal | None, where: str) -> list[Finding]:
    """Ask whether a cell, or the cells of a group, were neither too low nor too high, as far as the rest voltage tells."""
    read, lowest, highest = volts(voltage_mv), cells.limits(model).reject_below, cells.highest_charged(model)
    return [
        ask("cell.recovery_voltage", read, limit=lowest, limit_source="chemistry", where=where),
        ask("cell.overcharged", read, limit=highest, limit_source=CHARGED, where=where),
    ]


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
        ask(spread_rule(plan), max(rested) - min(rested) if complete else None, where=f"group {group}"),
    ]
