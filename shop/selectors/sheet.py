"""What a job's sheet stands on: the one thing to do next, and the plan that counts."""

from dataclasses import dataclass

from packs.terms import STEPS, DangerLevel, Role, Stage
from shop.models import Job, Plan, PlanState

BENCH = (Role.TECHNICIAN, Role.LEAD, Role.OWNER)
EVERYONE = tuple(Role)


@dataclass(frozen=True, kw_only=True)
class NextAction:
    """The one thing to do next: what and why, the page it is done on, the button that leads there, and who may."""

    label: str
    why: str
    button: str
    page: str
    stage: Stage
    roles: tuple[Role, ...] = BENCH

    @property
    def who(self) -> str:
        """The sentence for somebody who may not."""
        return f"This is for the {' or '.join(role.label for role in self.roles)}."


ACTIONS: dict[Stage, tuple[str, str, str]] = {
    Stage.EXAMINE: (
        "Record the pack as found",
        "Nothing is cut before the pack is counted, measured and written down.",
        "Examine the pack",
    ),
    Stage.TEST_PACK: (
        "Test the pack",
        "What it gives today, as it is; nothing is taken out of it.",
        "Record the test",
    ),
    Stage.TARGET: (
        "State the target pack",
        "The pack to be built decides which cells, strips and limits apply.",
        "State the target",
    ),
    Stage.MATCH: (
        "Match cells from stock",
        "Groups that hold the same charge make the pack last.",
        "Match the cells",
    ),
    Stage.DISMANTLE: (
        "Take the old pack apart",
        "Every cell goes into the book the moment it leaves the pack.",
        "Dismantle the pack",
    ),
    Stage.PLACE: ("Place the cells", "Each position takes one cell, by its own code.", "Scan the cells"),
    Stage.MEASURE: (
        "Measure every cell before joining",
        "Unequal cells push current through each other once joined.",
        "Measure the cells",
    ),
    Stage.JOIN: ("Join the cells", "A peel sample and a second look at the polarity come first.", "Record the joints"),
    Stage.LADDER: (
        "Check the taps",
        "Every tap is measured in order before the board is connected.",
        "Measure the taps",
    ),
    Stage.HOUSING: (
        "Close the housing",
        "Cells fixed, groups insulated, wires clear, vent path free.",
        "Go through the housing",
    ),
    Stage.FIRST_CHARGE: ("Charge for the first time", "Somebody stays beside the pack, by name.", "Record the charge"),
    Stage.FINAL_TEST: (
        "Run the final test",
        "What the pack gives is held against the cells that went in.",
        "Record the test",
    ),
    Stage.REMOVED: (
        "Say where the removed cells go",
        "Back to stock, to the customer, or into a container.",
        "Sort the removed cells",
    ),
    Stage.INTO_STOCK: (
        "Put the pack into stock",
        "Its test report goes with it.",
        "Go to the papers",
    ),
    Stage.HAND_OVER: (
        "Hand the device over",
        "Papers out, everything accounted for, a name for who takes it.",
        "Go to the hand-over",
    ),
}
OF_A_REPAIR: dict[Stage, tuple[str, str, str]] = {
    Stage.TARGET: (
        "Say which groups are replaced",
        "Only their cells come out; the others stay in the pack, and the weakest of all limits it.",
        "State the target",
    ),
    Stage.DISMANTLE: (
        "Take out the groups that failed",
        "Their cells go into the book the moment they leave; what stays of the pack stays live.",
        "Take the groups out",
    ),
    Stage.FINAL_TEST: (
        "Run the final test",
        "What the pack gives is measured, and held against its weakest group where that is known.",
        "Record the test",
    ),
}
"""What is said otherwise where a part of the old pack stays."""

GOES_BACK = (
    "Hand the device back",
    "It goes back without a rebuild; the job closes with a name for who took it.",
    "Go to the hand-over",
)
PAGES = {Stage.REMOVED: "removed", Stage.HAND_OVER: "hand_over", Stage.INTO_STOCK: "into_stock"} | dict.fromkeys(
    (Stage.TEST_PACK, *STEPS), "step"
)


def next_action(job: Job) -> NextAction | None:
    """Return what has to be done next on a job, or None when it is closed; asks the database nothing."""
    if job.closed_at is not None:
        return None
    stage = Stage(job.stage)
    if job.held:
        return _findings(stage)
    if job.parked:
        return _take_up(job)
    if job.unopened:
        return _dispose(job) if stage is Stage.REMOVED else _close()
    known = ACTIONS | OF_A_REPAIR if job.part_stays else ACTIONS
    label, why, button = GOES_BACK if job.goes_back_from else known[stage]
    roles = EVERYONE if stage is Stage.HAND_OVER else BENCH
    return NextAction(label=label, why=why, button=button, page=PAGES.get(stage, stage.value), stage=stage, roles=roles)


def _take_up(job: Job) -> NextAction:
    return NextAction(
        label="Take the pack up again",
        why=f"It is parked: {job.parked_in}. Its groups are read before anything else is done.",
        button="Measure and go on",
        page="resume",
        stage=Stage(job.stage),
    )


def _findings(stage: Stage) -> NextAction:
    return NextAction(
        label="Write down a lead's findings",
        why="The pack came in with an amber sign: it stays on the separate bench until a lead has looked at it.",
        button="Write the findings",
        page="findings",
        stage=stage,
        roles=(Role.LEAD, Role.OWNER),
    )


def _dispose(job: Job) -> NextAction:
    red = job.danger_level == DangerLevel.RED
    return NextAction(
        label="Dispose of the pack",
        why=f"{'A red danger sign: the pack stays outside and' if red else 'The pack was taken back: it'} is not opened here.",
        button="Say where it goes",
        page="removed",
        stage=Stage.REMOVED,
    )


def _close() -> NextAction:
    return NextAction(
        label="Close the job",
        why="The pack is put aside for disposal; its note goes with it.",
        button="Go to the papers",
        page="hand_over",
        stage=Stage.HAND_OVER,
        roles=EVERYONE,
    )


def standing_plan(job: Job) -> Plan | None:
    """Return the plan that counts for a job."""
    return (
        Plan.objects.filter(job=job)
        .exclude(state=PlanState.ABANDONED.value)
        .select_related("cell_model", "job__device", "stated_by")
        .first()
    )
