"""The job as a sheet: what has happened, what is next, what lies ahead."""

from dataclasses import dataclass
from datetime import datetime

from packs.terms import STEPS, DangerLevel, DocumentKind, Role, Stage
from shop.models import Job, PackAsFound, Plan, PlanState, Step

BENCH = (Role.TECHNICIAN, Role.LEAD, Role.OWNER)
EVERYONE = tuple(Role)

STORY = (Stage.TAKE_IN, Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)

ACTIONS: dict[Stage, tuple[str, str]] = {
    Stage.EXAMINE: (
        "Record the pack as found",
        "Nothing is cut before the pack is counted, measured and written down.",
    ),
    Stage.TARGET: ("State the target pack", "The pack to be built decides which cells, strips and limits apply."),
    Stage.MATCH: ("Match cells from stock", "Groups that hold the same charge make the pack last."),
    Stage.DISMANTLE: ("Take the old pack apart", "Every cell goes into the book the moment it leaves the pack."),
    Stage.PLACE: ("Place the cells", "Each position takes one cell, by its own code."),
    Stage.MEASURE: ("Measure every cell before joining", "Unequal cells push current through each other once joined."),
    Stage.JOIN: ("Join the cells", "A peel sample and a second look at the polarity come first."),
    Stage.LADDER: ("Check the taps", "Every tap is measured in order before the board is connected."),
    Stage.HOUSING: ("Close the housing", "Cells fixed, groups insulated, wires clear, vent path free."),
    Stage.FIRST_CHARGE: ("Charge for the first time", "Somebody stays beside the pack, by name."),
    Stage.FINAL_TEST: ("Run the final test", "What the pack gives is held against the cells that went in."),
    Stage.REMOVED: ("Say where the removed cells go", "Back to stock, to the customer, or into a container."),
    Stage.HAND_OVER: ("Hand the device over", "Papers out, everything accounted for, a name for who takes it."),
}


@dataclass(frozen=True)
class NextAction:
    """The one thing to do next: words, the page it is done on, why, and who may."""

    label: str
    why: str
    page: str
    stage: Stage
    roles: tuple[Role, ...]
    document: DocumentKind | None = None


@dataclass(frozen=True)
class StoryLine:
    """One stage of the job as the sheet tells it: ``state`` is done, now or ahead."""

    stage: Stage
    state: str
    facts: str = ""
    at: datetime | None = None
    by: str = ""


def next_action(job: Job) -> NextAction | None:
    """Return what has to be done next on a job, or None when it is closed."""
    if job.closed_at is not None:
        return None
    stage = Stage(job.stage)
    if job.held:
        return NextAction(
            "Write down a lead's findings",
            "The pack came in with an amber sign: it stays on the separate bench until a lead has looked at it.",
            "findings",
            stage,
            (Role.LEAD, Role.OWNER),
        )
    if job.danger_level == DangerLevel.RED and stage is Stage.REMOVED:
        return NextAction(
            "Dispose of the pack",
            "A red danger sign: the pack stays outside and is never opened here.",
            "removed",
            stage,
            BENCH,
        )
    label, why = ACTIONS[stage]
    if job.danger_level == DangerLevel.RED:
        return NextAction(
            "Close the job", "The pack is on its way out; its note goes with it.", "hand_over", stage, BENCH
        )
    pages = {Stage.REMOVED: "removed", Stage.HAND_OVER: "hand_over"}
    page = "step" if stage in STEPS else pages.get(stage, stage.value)
    return NextAction(label, why, page, stage, EVERYONE if stage is Stage.HAND_OVER else BENCH)


def standing_plan(job: Job) -> Plan | None:
    """Return the plan that counts for a job."""
    return (
        Plan.objects.filter(job=job)
        .exclude(state=PlanState.ABANDONED.value)
        .select_related("cell_model", "job__device")
        .first()
    )


def story(job: Job) -> list[StoryLine]:
    """Return the job stage by stage."""
    found = PackAsFound.objects.filter(job=job).select_related("cell_model", "examined_by").first()
    plan = standing_plan(job)
    steps = {step.stage: step for step in job.steps.select_related("done_by")}
    current = STORY.index(Stage(job.stage)) if job.closed_at is None else len(STORY)
    if job.danger_level == DangerLevel.RED:
        told = [stage for stage in STORY if stage in (Stage.TAKE_IN, Stage.REMOVED, Stage.HAND_OVER)]
    else:
        told = list(STORY)
    return [_line(job, stage, current, found, plan, steps.get(stage.value)) for stage in told]


def _line(
    job: Job, stage: Stage, current: int, found: PackAsFound | None, plan: Plan | None, step: Step | None
) -> StoryLine:
    position = STORY.index(stage)
    state = "done" if position < current else "now" if position == current else "ahead"
    if stage is Stage.TAKE_IN:
        signs = DangerLevel(job.danger_level).label
        return StoryLine(stage, "done", job.complaint or signs, job.opened_at, str(job.opened_by))
    if stage is Stage.EXAMINE and found:
        facts = f"{found.series}s{found.parallel}p of {found.cell_model}"
        return StoryLine(stage, state, facts, found.examined_at, str(found.examined_by))
    if stage is Stage.TARGET and plan:
        return StoryLine(stage, state, f"{plan.series}s{plan.parallel}p of {plan.cell_model}", plan.stated_at)
    if stage is Stage.MATCH and plan and plan.accepted_at:
        return StoryLine(stage, state, f"{plan.cell_count} cells reserved", plan.accepted_at)
    if step and step.done_at:
        return StoryLine(stage, "done", "", step.done_at, str(step.done_by))
    return StoryLine(stage, state)
