"""The steps of the job card: what must hold at each, and what is ticked and written down by hand."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from packs.documents import Blank, CardStep, Limit, Slots
from packs.rules import RULES
from packs.terms import LITHIUM_ION, STEPS, Condition, JointMethod, Measure, Severity, Stage, Unpowered
from packs.units import Quantity, measure_unit, show, to
from shop.bridge import cautions, cells, layouts, rules, standing
from shop.models import PackAsFound, Plan, cells_due_out

LOOKS = 6
"""How many looks at the first charge the card has room for."""

VOLTS = Blank("", measure_unit(Measure.VOLTAGE))


@dataclass(frozen=True)
class _Work:
    """What one step holds."""

    limits: tuple[Limit | None, ...] = ()
    ticks: tuple[str, ...] = ()
    slots: tuple[Slots, ...] = field(default=())


def card_steps(plan: Plan) -> tuple[CardStep, ...]:
    """Return the steps of the job card in working order."""
    highest_mv = plan.cell_model.charge_limit_mv * plan.series
    steps = [stage for stage in plan.job.route if stage in STEPS]
    board = cautions.board_of(plan.job)
    return tuple(_card_step(plan, number, stage, highest_mv, board) for number, stage in enumerate(steps, start=1))


def _card_step(plan: Plan, number: int, stage: Stage, highest_mv: int, board: Unpowered) -> CardStep:
    said = cautions.for_stage(
        stage,
        highest_mv=highest_mv,
        unpowered=board,
        part_stays=bool(plan.replaced),
        joint_method=plan.joint_method,
    )
    work = _WORK[stage](plan)
    return CardStep(
        number=number,
        stage=stage,
        limits=tuple(limit for limit in work.limits if limit is not None),
        ticks=work.ticks,
        slots=work.slots,
        cautions=tuple(map(str, said)),
    )


def _dismantle(plan: Plan) -> _Work:
    found = plan.job.as_found
    counted, low = cells_due_out(plan.job), _low_charge(found)
    return _Work(
        limits=(_count("dismantle.all_recorded", counted),),
        ticks=(*low, *(rules.opening_words(found, rule) for rule in rules.opening_questions(found))),
        slots=(
            *([Slots(tuple(map(standing.point_of, range(1, found.series + 1))), (VOLTS,))] if low else ()),
            Slots(tuple(f"cell {number}" for number in range(1, counted + 1)), (VOLTS,)),
            Slots(tuple(condition.label for condition in Condition), (Blank("", "cells"),)),
        ),
    )


def _low_charge(found: PackAsFound) -> tuple[str, ...]:
    """Return how empty a lithium-ion pack has to be; a nickel cell does not tell its charge by its voltage."""
    if found.cell_model.chemistry not in LITHIUM_ION:
        return ()
    most = rules.own_limit("dismantle.charge_low").m_as("percent")
    rests = rules.rest_at_most(found.cell_model)
    reached = f": it rests at or below {show(rests)}" if rests is not None else ""
    return (f"At most {most:.0f} % of the charge is left in every group, rested for an hour{reached}.",)


def _place(plan: Plan) -> _Work:
    return _Work(
        limits=(_count("place.all_placed", plan.new_cells), _at_rest(plan)),
        ticks=(RULES["place.right_cell"].holds_words,),
    )


def _measure(plan: Plan) -> _Work:
    places = tuple(f"{group}.{place}" for group, place in _places(plan))
    apart = rules.groups_apart_rule(plan)
    return _Work(
        limits=(
            _count("measure.all_measured", plan.new_cells),
            _window("cell.recovery_voltage", Measure.VOLTAGE, *(rules.rest_before_joining(plan) or (None, None))),
            _at_most("measure.joining_current", Measure.CURRENT, _joining(plan)),
            _at_most(rules.spread_rule(plan), Measure.VOLTAGE, rules.own_limit(rules.spread_rule(plan))),
            _at_most(apart, Measure.VOLTAGE, rules.own_limit(apart)) if apart else None,
            *_levels(plan),
        ),
        ticks=(RULES[rules.EQUAL_CHARGE].holds_words,) if standing.by_charge(plan) else (),
        slots=(
            Slots(places, (VOLTS,)),
            *([Slots(tuple(map(standing.point_of, plan.standing_groups)), (VOLTS,))] if plan.standing_groups else ()),
        ),
    )


def _levels(plan: Plan) -> tuple[Limit | None, ...]:
    """Return what new groups and those that stay are held to before they are in series; nothing where none stays."""
    if not plan.standing_groups:
        return ()
    apart = rules.own_limit("final.group_spread")
    return (
        _at_most("measure.standing_spread", Measure.VOLTAGE, rules.own_limit("measure.standing_spread")),
        Limit(
            "from the middle of the groups that stay to a new group", Measure.VOLTAGE, None, to(Measure.VOLTAGE, apart)
        ),
    )


_AGAIN = Blank("", "made again")
_JOINING: dict[JointMethod, tuple[tuple[str, ...], tuple[Blank, ...]]] = {
    JointMethod.SPOT_WELD: (("join.peel_sample",), (Blank("", "spots each"), _AGAIN)),
    JointMethod.BOLTED: (("join.clean_faces",), (Blank("", "N·m"), Blank("worst", "mΩ"), _AGAIN)),
}
"""What comes first and what is written down for each strip or bar, by joint method."""


SECOND_LOOK = (
    "By another person, or by the same one after a pause and with photographs; write down which, and how long."
)


def _join(plan: Plan) -> _Work:
    first, blanks = _JOINING.get(JointMethod(plan.joint_method), ((), (_AGAIN,)))
    word = JointMethod(plan.joint_method).conductor
    strips = tuple(f"{word} {strip.number}" for strip in layouts.working_order(plan))
    sample = tuple(RULES[rule].holds_words for rule in first)
    return _Work(
        limits=(
            _count("join.joints", layouts.joints_to_make(plan)),
            Limit(RULES["join.attempts"].quantity, Measure.COUNT, None, Decimal(rules.MOST_TRIES)),
            *_bolts(plan),
        ),
        ticks=(*sample, RULES["join.polarity_second_look"].holds_words, SECOND_LOOK),
        slots=(Slots(strips, blanks),),
    )


def _bolts(plan: Plan) -> tuple[Limit | None, ...]:
    """Return what the bolts of a bolted pack are held to; nothing for other joints."""
    if plan.joint_method != JointMethod.BOLTED:
        return ()
    return (
        _window("join.torque", Measure.TORQUE, *(rules.torque_window(plan) or (None, None))),
        _at_most("join.contact_resistance", Measure.CONTACT_RESISTANCE, rules.own_limit("join.contact_resistance")),
    )


def _ladder(plan: Plan) -> _Work:
    taps = tuple(f"tap {tap}" for tap in range(1, plan.series + 1))
    high, low = rules.trips(plan) or (None, None)
    board = (Slots(("overcharge trip", "undervoltage trip"), (VOLTS,)),) if high else ()
    return _Work(
        limits=(
            _at_most("ladder.tap", Measure.VOLTAGE, rules.tolerance("ladder.tap")),
            _at_most("ladder.overcharge_trip", Measure.VOLTAGE, high),
            _at_least("ladder.undervoltage_trip", Measure.VOLTAGE, low),
        ),
        ticks=(rules.words_of("ladder.board_suits"),) if high else (),
        slots=(
            *board,
            Slots(taps, (Blank("due", "V"), Blank("read", "V"))),
        ),
    )


def _housing(plan: Plan) -> _Work:
    return _Work(ticks=tuple(words for _, words in rules.housing_questions(plan)))


def _first_charge(plan: Plan) -> _Work:
    most, middle = rules.charge_limits(plan), rules.own_limit("first_charge.mid_spread")
    minutes = rules.look_interval(plan).m_as("minute")
    looks = tuple(f"look {look}" for look in range(1, LOOKS + 1))
    return _Work(
        limits=(
            _at_most("first_charge.charger_voltage", Measure.VOLTAGE, most.charger),
            _at_most("first_charge.pack_voltage", Measure.VOLTAGE, most.pack),
            _at_most("first_charge.group_voltage", Measure.VOLTAGE, most.group),
            _at_most("first_charge.current", Measure.CURRENT, most.current),
            _at_most("first_charge.mid_spread", Measure.VOLTAGE, middle) if rules.has_mid_groups(plan) else None,
            _window("first_charge.temperature", Measure.TEMPERATURE, *(most.temperature or (None, None))),
        ),
        ticks=(f"Read at the start, at least every {minutes:.0f} min, in the middle and at the end.",),
        slots=(
            Slots(("beside the pack",), (Blank("", "name"),)),
            Slots(("charger, no load",), (VOLTS,)),
            Slots(looks, (Blank("", "min"), VOLTS, Blank("", "A"), Blank("hottest", "°C"))),
            Slots(_groups(plan), (*((Blank("middle", "V"),) if rules.has_mid_groups(plan) else ()), Blank("end", "V"))),
        ),
    )


def _final_test(plan: Plan) -> _Work:
    outlet = rules.outlet_window(plan)
    ticks = tuple(rules.words_of(rule) for rule in rules.final_questions(plan))
    pack = (Blank("", "mAh"), Blank("at rest", "V"), *((Blank("outlet", "V"),) if outlet else ()))
    return _Work(
        limits=(
            _at_least("final.capacity", Measure.CAPACITY, rules.least_final_capacity(plan)),
            _at_most("final.rest_agreement", Measure.VOLTAGE, rules.tolerance("final.rest_agreement")),
            _at_most("final.group_spread", Measure.VOLTAGE, rules.own_limit("final.group_spread")),
            _at_most("final.rest_hold", Measure.VOLTAGE, rules.own_limit("final.rest_hold")),
            _at_most("final.resistance", Measure.DC_RESISTANCE, rules.most_resistance(plan)),
            _at_most("final.joint_drop", Measure.CONTACT_RESISTANCE, rules.own_limit("final.joint_drop")),
            _at_most("final.temperature", Measure.TEMPERATURE, rules.own_limit("final.temperature")),
            _window("final.outlet", Measure.VOLTAGE, *outlet) if outlet else None,
        ),
        ticks=ticks,
        slots=(
            Slots(("pack",), pack),
            Slots(("tested at",), (Blank("", "A"), Blank("down to", "V"), Blank("at", "°C"))),
            Slots(_groups(plan), (VOLTS, Blank("after a day", "V"))),
            Slots(
                ("under load",),
                (Blank("", "A"), Blank("pack after 10 s", "V"), Blank("worst joint", "mV"), Blank("hottest", "°C")),
            ),
        ),
    )


_WORK: dict[Stage, Callable[[Plan], _Work]] = {
    Stage.DISMANTLE: _dismantle,
    Stage.PLACE: _place,
    Stage.MEASURE: _measure,
    Stage.JOIN: _join,
    Stage.LADDER: _ladder,
    Stage.HOUSING: _housing,
    Stage.FIRST_CHARGE: _first_charge,
    Stage.FINAL_TEST: _final_test,
}


def _places(plan: Plan) -> Iterator[tuple[int, int]]:
    for group in plan.open_groups:
        for place in range(1, plan.parallel + 1):
            yield group, place


def _groups(plan: Plan) -> tuple[str, ...]:
    return tuple(f"group {group}" for group in range(1, plan.series + 1))


def _counted(plan: Plan, rule: str, outside: Quantity | None) -> Quantity | None:
    return rules.counted(rules.in_force(plan.job), rule, outside)


def _joining(plan: Plan) -> Quantity | None:
    return _counted(plan, "measure.joining_current", cells.model(plan.cell_model).max_charge_current)


def _at_rest(plan: Plan) -> Limit | None:
    return _window("cell.recovery_voltage", Measure.VOLTAGE, *(rules.reusable(plan.cell_model) or (None, None)))


def _count(rule: str, number: int) -> Limit:
    return Limit(RULES[rule].quantity, Measure.COUNT, Decimal(number), Decimal(number))


def _at_most(rule: str, measure: Measure, high: Quantity | None) -> Limit | None:
    warns = RULES[rule].severity is not Severity.STOP
    return None if high is None else Limit(RULES[rule].quantity, measure, None, to(measure, high), warns)


def _at_least(rule: str, measure: Measure, low: Quantity | None) -> Limit | None:
    return None if low is None else Limit(RULES[rule].quantity, measure, to(measure, low), None)


def _window(rule: str, measure: Measure, low: Quantity | None, high: Quantity | None) -> Limit | None:
    if low is None or high is None:
        return None
    return Limit(RULES[rule].quantity, measure, to(measure, low), to(measure, high))
