"""After which stops a step is not simply done again: another number seconds later tells nothing of what was wrong."""

from collections.abc import Mapping
from decimal import Decimal

from packs.terms import Measure, Outcome, Stage
from packs.units import of, show
from shop.models import PackDetails, Plan, Reading, Step, StepOutcome

from .asking import stored_stops
from .building import ANOTHER_BOARD, OVERCHARGE_TRIP, UNDERVOLTAGE_TRIP, BoardTried, board_tried

ASKED_AFTER: Mapping[Stage, frozenset[str]] = {
    Stage.MEASURE: frozenset(
        {
            "measure.joining_current",
            "measure.rest_spread",
            "measure.rest_spread_flat",
            "measure.groups_apart",
            "measure.groups_apart_flat",
            "measure.group_level",
            "measure.standing_spread",
            "measure.equal_charge",
        }
    ),
    Stage.LADDER: frozenset({"ladder.tap", "ladder.rest_agreement"}),
    Stage.FIRST_CHARGE: frozenset(
        {"first_charge.pack_voltage", "first_charge.group_voltage", "first_charge.temperature"}
    ),
}
"""Stops that ask to level cells or to look for a joint, and those by overvoltage or heat; common practice, no source."""

SAME_TRIP_MV = Decimal(25)
"""How far a trip that was tried again may lie from what was stated before; common practice, no source."""


def to_be_told(last: Step | None) -> str:
    """Return what stopped the last try of a step, where the next one says what was found and done; else nothing."""
    if last is None or last.outcome != StepOutcome.STOPPED:
        return ""
    asked = ASKED_AFTER.get(Stage(last.stage), frozenset())
    stops = [one for one in stored_stops(last.findings) if one["outcome"] == Outcome.FAIL and one["rule_id"] in asked]
    if not stops:
        return ""
    where = f"{stops[0]['where'].capitalize()}: " if stops[0]["where"] else ""
    return f"{where}{stops[0]['message']}"


def board_before(plan: Plan, *, another: bool = False) -> dict[str, Decimal]:
    """Return at what the board tripped before: at the last try with it, else as it was found, else as stated."""
    known = {} if another else _as_stated(plan)
    tries = Step.objects.filter(job=plan.job, stage=Stage.LADDER.value).exclude(outcome=StepOutcome.GIVEN_UP.value)
    with_it = [step.pk for step in tries if step.confirmed.get(ANOTHER_BOARD, False) is another]
    read = Reading.objects.filter(step__in=with_it, corrected_by__isnull=True, point__in=_TRIPS)
    known |= dict(read.order_by("step", "measured_at", "pk").values_list("point", "value"))
    return known


def other_board(plan: Plan, board: BoardTried) -> str:
    """Say where a board trips at something else than before; nothing where it is the same board, as far as known."""
    now = {OVERCHARGE_TRIP: board.overcharge_mv, UNDERVOLTAGE_TRIP: board.undervoltage_mv}
    before = board_before(plan, another=board.another)
    differing = [
        f"{point} {_shown(mv)}, before it was {_shown(before[point])}"
        for point, mv in now.items()
        if mv is not None and point in before and _differs(plan, point, before[point], mv)
    ]
    return "; ".join(differing)


_TRIPS = (OVERCHARGE_TRIP, UNDERVOLTAGE_TRIP)


def _as_stated(plan: Plan) -> dict[str, Decimal]:
    """Return the trips of the board that was found, and of the one stated for the target where none was found."""
    known: dict[str, Decimal] = {}
    for row in (plan, PackDetails.objects.filter(job=plan.job).last()):
        for point, name in zip(_TRIPS, ("board_overcharge_mv", "board_undervoltage_mv"), strict=True):
            if row is not None and (mv := getattr(row, name)) is not None:
                known[point] = Decimal(mv)
    return known


def _differs(plan: Plan, point: str, before: Decimal, now: Decimal) -> bool:
    """Whether two trips are not those of one board: too far apart, or the one before would have refused it."""
    if before == now:
        return False
    over = point == OVERCHARGE_TRIP
    asked = board_tried(
        plan, BoardTried(overcharge_mv=before if over else None, undervoltage_mv=None if over else before)
    )
    refused = any(one.outcome is Outcome.FAIL for one in asked)
    return refused or abs(now - before) > SAME_TRIP_MV


def _shown(mv: Decimal) -> str:
    return str(show(of(Measure.VOLTAGE, mv), locale="en"))
