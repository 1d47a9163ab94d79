"""The story of a job: every stage with its state and what there is to tell of it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from packs.terms import Condition, DangerSign, JointMethod, Measure, Outcome, Place, Severity, Stage
from shop.bridge import rules
from shop.bridge.standing import named
from shop.models import Job, Step, cells_due_out

from . import joblog
from .record import Record, read
from .removed import EMERGENCY_WAY


@dataclass(frozen=True)
class StoryLine:
    """One stage as the sheet tells it: ``state`` is done, now, ahead, fail (the last try was stopped) or none.

    ``remarks`` are the stored findings with which the stage was passed all the same.
    """

    stage: Stage
    state: str
    facts: str = ""
    at: datetime | None = None
    by: str = ""
    remarks: tuple[dict[str, Any], ...] = ()


def outline(job: Job) -> list[StoryLine]:
    """Return the stages of a job with their states alone; asks the database nothing."""
    return [StoryLine(stage, _state(job, stage)) for stage in job.route]


def story(job: Job, *, locale: str = "en") -> list[StoryLine]:
    """Return the job stage by stage, with what was found, by whom and when."""
    record = read(job, locale=locale)
    return [_line(record, line) for line in outline(job)]


def stopping(step: Step | None) -> list[dict[str, Any]]:
    """Return the stored findings that stopped the last try of a step, those known to fail first."""
    return rules.stored_stops(step.findings) if step and not step.done else []


def stopped_by(step: Step | None) -> str:
    """Say what stopped the last try of a step; nothing where it was not stopped."""
    stops = stopping(step)
    return f"{stops[0]['message']}{_and_more(stops)}" if stops else ""


def remarks(findings: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the stored findings that do not hold and stop nothing: of each rule the first, with how many more."""
    failed = [found for found in findings if _passed_all_the_same(found)]
    asked = dict.fromkeys(found["rule_id"] for found in failed)
    return [_first([found for found in failed if found["rule_id"] == rule]) for rule in asked]


def _passed_all_the_same(found: dict[str, Any]) -> bool:
    warned = found["outcome"] == Outcome.FAIL and found["severity"] != Severity.STOP
    return bool(warned or found["outcome"] == Outcome.ACCEPTED)


def _first(alike: list[dict[str, Any]]) -> dict[str, Any]:
    return alike[0] | {"message": f"{alike[0]['message']}{_and_more(alike)}"}


def _and_more(alike: list[dict[str, Any]]) -> str:
    return f" And {len(alike) - 1} more." if len(alike) > 1 else ""


def _state(job: Job, stage: Stage) -> str:
    reached, position = job.route.index(Stage(job.stage)), job.route.index(stage)
    if job.closed_at is not None:
        return "done" if position < reached or Stage(job.stage) is job.route[-1] else "none"
    return "done" if position < reached else "now" if position == reached else "ahead"


def _line(record: Record, line: StoryLine) -> StoryLine:
    if line.state in ("ahead", "none"):
        return line
    step = record.steps.get(line.stage.value)
    if line.state == "now" and (stops := stopped_by(step)):
        return StoryLine(line.stage, "fail", stops)
    at, by = _done(record, line.stage, step)
    told = f"{FACTS[line.stage](record)}{_tries(step)}"
    return StoryLine(line.stage, line.state, told, at, by, _remarks(record, line.stage, step))


def _tries(step: Step | None) -> str:
    """Say that a step was done only after other tries; nothing where the first one did it."""
    return f" Done at try {step.number}; what stopped the earlier ones is kept." if step and step.number > 1 else ""


def _remarks(record: Record, stage: Stage, step: Step | None) -> tuple[dict[str, Any], ...]:
    if step is not None:
        return tuple(remarks(step.findings if step.done else []))
    planned = record.plan.findings if record.plan else []
    return tuple(remarks(found for found in planned if found["stage"] == stage.value))


def _done(record: Record, stage: Stage, step: Step | None) -> tuple[datetime | None, str]:
    job, found, plan = record.job, record.found, record.plan
    if stage is Stage.TAKE_IN:
        return job.opened_at, str(job.opened_by)
    if stage is Stage.EXAMINE and found:
        return found.examined_at, str(found.examined_by)
    if stage is Stage.TARGET and plan:
        return plan.stated_at, str(plan.stated_by)
    if stage is Stage.MATCH and plan:
        return plan.accepted_at, ""
    if stage is record.job.route[-1]:
        return job.closed_at, ""
    return (step.ended_at, str(step.by)) if step and step.done else (None, "")


def _sentence(*parts: str) -> str:
    told = ", ".join(part for part in parts if part)
    return f"{told[:1].upper()}{told[1:]}." if told else ""


def _taken_in(record: Record) -> str:
    job = record.job
    complaint = f"“{job.complaint.strip()}” " if job.complaint.strip() else ""
    signs = _sentence(", ".join(DangerSign(sign).label for sign in job.danger_signs) or "no danger sign")
    recalled = f" Recalled: {job.recall_result}." if job.recalled else ""
    cleared = f" Cleared by {job.cleared_by}: {job.findings}" if job.cleared_by else ""
    return f"{complaint}{signs}{recalled}{cleared}"


def _examined(record: Record) -> str:
    found = record.found
    if found is None:
        return ""
    rest = record.at(Stage.EXAMINE, Measure.REST_VOLTAGE, "pack")
    return _sentence(
        f"{found.arrangement} of {found.cell_model}",
        JointMethod(found.joint_method).label if found.joint_method else "",
        f"{rest} at rest" if rest else "",
    )


def _target(record: Record) -> str:
    plan = record.plan
    if plan is None:
        return ""
    current = record.words(Measure.CURRENT, plan.continuous_current_ma)
    charger = record.words(Measure.VOLTAGE, plan.charger_voltage_mv)
    return _sentence(
        f"{plan.series}s{plan.parallel}p of {plan.cell_model}",
        f"{named(plan.replaced)} replaced" if plan.replaced else "",
        f"for {current} and a charger of {charger}",
    )


def _matched(record: Record) -> str:
    plan = record.plan
    return f"{plan.new_cells} cells reserved." if plan and plan.accepted_at else ""


def _dismantled(record: Record) -> str:
    total = record.conditions.total()
    if not total:
        return ""
    counted = cells_due_out(record.job) if record.found else total
    found = [(condition.label, record.conditions[condition]) for condition in Condition]
    if record.unmeasured:
        whole = (Condition.INTACT.label, record.conditions[Condition.INTACT] - record.unmeasured)
        found = [whole, ("not measured", record.unmeasured), *found[1:]]
    parts = (f"{count} {word}" for word, count in found if count)
    return f"{total} of {counted} cells out: {', '.join(parts)}."


def _placed(record: Record) -> str:
    return f"{record.placed} of {record.plan.new_cells} cells placed." if record.plan and record.placed else ""


def _joined(record: Record) -> str:
    joints = record.joints
    again = f"{joints.failed} made a second time" if joints.failed else ""
    if not joints.made or record.plan is None:
        return ""
    step = record.steps.get(Stage.JOIN.value)
    said = step.said if step else []
    return _sentence(
        f"{joints.made} joints on {joints.strips} {JointMethod(record.plan.joint_method).conductor}s", again, *said
    )


def _tapped(record: Record) -> str:
    span = record.span(Stage.LADDER, Measure.VOLTAGE, "tap")
    over, under = (record.at(Stage.LADDER, Measure.VOLTAGE, f"{trip} trip") for trip in ("overcharge", "undervoltage"))
    tried = f"board trips at {over} and {under}" if over and under else ""
    step = record.steps.get(Stage.LADDER.value)
    return _sentence(f"taps {span}" if span else "", tried, *(step.said if step else []))


def _housed(record: Record) -> str:
    step = record.steps.get(Stage.HOUSING.value)
    confirmed = [rule for rule, held in step.confirmed.items() if held and "." in rule] if step else []
    return f"{len(confirmed)} points confirmed." if step and step.done else ""


def _charged(record: Record) -> str:
    step = record.steps.get(Stage.FIRST_CHARGE.value)
    watched = [words for words, held in step.confirmed.items() if held] if step else []
    warm = record.span(Stage.FIRST_CHARGE, Measure.TEMPERATURE)
    groups = record.span(Stage.FIRST_CHARGE, Measure.VOLTAGE, "group")
    return _sentence(*watched, warm, f"groups {groups}" if groups else "")


def _pack_tested(record: Record) -> str:
    capacity = record.at(Stage.TEST_PACK, Measure.CAPACITY, "pack")
    groups = record.span(Stage.TEST_PACK, Measure.REST_VOLTAGE, "group")
    return _sentence(f"{capacity} delivered" if capacity else "", f"groups {groups} at rest" if groups else "")


def _tested(record: Record) -> str:
    capacity = record.at(Stage.FINAL_TEST, Measure.CAPACITY, "pack")
    rest = record.at(Stage.FINAL_TEST, Measure.REST_VOLTAGE, "pack")
    step = record.steps.get(Stage.FINAL_TEST.value)
    said = [words for words in step.said if words.startswith(rules.TOO_SOON)] if step else []
    return _sentence(f"{capacity} delivered" if capacity else "", f"{rest} at rest" if rest else "", *said)


def _sent_on(record: Record) -> str:
    return _sentence(*(f"{count} {words}" for words, count in _places(record)))


def _places(record: Record) -> list[tuple[str, int]]:
    """Return where the removed cells are, in words, in the order in which they go there."""
    places = [(place, by_emergency) for place in Place for by_emergency in (False, True)]
    told = [(place, by_emergency, record.places[place, by_emergency]) for place, by_emergency in places]
    return [(_whereto(place, by_emergency), count) for place, by_emergency, count in told if count]


def _whereto(place: Place, by_emergency: bool) -> str:
    if place is Place.BENCH:
        return "still on the bench"
    return EMERGENCY_WAY if by_emergency else place.label


def _measured(record: Record) -> str:
    cells = record.span(Stage.MEASURE, Measure.REST_VOLTAGE, but="group")
    stay = record.span(Stage.MEASURE, Measure.REST_VOLTAGE, "group")
    step = record.steps.get(Stage.MEASURE.value)
    said = step.said if step else []
    return _sentence(f"cells at rest {cells}" if cells else "", f"groups that stay {stay}" if stay else "", *said)


def _span(stage: Stage, measure: Measure, before: str, record: Record) -> str:
    span = record.span(stage, measure)
    return _sentence(f"{before} {span}") if span else ""


def _handed_over(record: Record) -> str:
    """Say who took the device, and of one that goes back what became of the fee for its examination."""
    said = record.job.log.filter(verb="handed over").last() if record.job.closed_at else None
    return f"{joblog.sentence(said.verb, said.facts)}." if said else ""


FACTS: dict[Stage, Callable[[Record], str]] = {
    Stage.TAKE_IN: _taken_in,
    Stage.EXAMINE: _examined,
    Stage.TARGET: _target,
    Stage.MATCH: _matched,
    Stage.DISMANTLE: _dismantled,
    Stage.PLACE: _placed,
    Stage.MEASURE: _measured,
    Stage.JOIN: _joined,
    Stage.LADDER: _tapped,
    Stage.HOUSING: _housed,
    Stage.FIRST_CHARGE: _charged,
    Stage.FINAL_TEST: _tested,
    Stage.TEST_PACK: _pack_tested,
    Stage.REMOVED: _sent_on,
    Stage.INTO_STOCK: lambda record: "",
    Stage.HAND_OVER: _handed_over,
}
