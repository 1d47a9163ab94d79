"""The stages of a job, and which of them each kind of job goes through."""

from collections.abc import Mapping
from types import MappingProxyType

from packs.terms.term import Term


class Stage(Term):
    """The stages of jobs, in working order. Those from DISMANTLE to FINAL_TEST are the steps of the job card."""

    TAKE_IN = "take_in", "Take in"
    EXAMINE = "examine", "Examine"
    TEST_PACK = "test_pack", "Test the pack"
    TARGET = "target", "State the target pack"
    MATCH = "match", "Match cells"
    DISMANTLE = "dismantle", "Dismantle"
    PLACE = "place", "Place the cells"
    MEASURE = "measure", "Measure before joining"
    JOIN = "join", "Join"
    LADDER = "ladder", "Check the taps"
    HOUSING = "housing", "Close the housing"
    FIRST_CHARGE = "first_charge", "First charge"
    FINAL_TEST = "final_test", "Final test"
    REMOVED = "removed", "Removed items"
    INTO_STOCK = "into_stock", "Into stock"
    HAND_OVER = "hand_over", "Hand over"


STEPS = (
    Stage.DISMANTLE,
    Stage.PLACE,
    Stage.MEASURE,
    Stage.JOIN,
    Stage.LADDER,
    Stage.HOUSING,
    Stage.FIRST_CHARGE,
    Stage.FINAL_TEST,
)


class JobKind(Term):
    """What a job is for; decides which stages it goes through."""

    REBUILD = "rebuild", "rebuild"
    TEST_ONLY = "test_only", "test only"
    FOR_STOCK = "for_stock", "build for stock"
    WARRANTY = "warranty", "warranty return"
    TAKE_BACK = "take_back", "take-back"
    GROUP_REPAIR = "group_repair", "repair of a group"


DISPOSAL = (Stage.TAKE_IN, Stage.REMOVED, Stage.HAND_OVER)
"""The way of a pack that is not opened here, of every kind of job."""

_REBUILD = (Stage.TAKE_IN, Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)

ROUTES: Mapping[JobKind, tuple[Stage, ...]] = MappingProxyType(
    {
        JobKind.REBUILD: _REBUILD,
        JobKind.TEST_ONLY: (Stage.TAKE_IN, Stage.EXAMINE, Stage.TEST_PACK, Stage.HAND_OVER),
        JobKind.FOR_STOCK: (Stage.TARGET, Stage.MATCH, *STEPS[1:], Stage.INTO_STOCK),
        JobKind.WARRANTY: _REBUILD,
        JobKind.TAKE_BACK: DISPOSAL,
        JobKind.GROUP_REPAIR: _REBUILD,
    }
)
"""The stages of each kind of job, in their order."""

PART_STAYS = frozenset({JobKind.GROUP_REPAIR})
"""Kinds of job that leave a part of the old pack as it is: their plan names the groups that are replaced."""

OWNER_AGREED = frozenset({JobKind.REBUILD, JobKind.GROUP_REPAIR})
"""Kinds of job that begin at the counter with an agreement on whose the removed cells will be."""


def route(
    kind: JobKind, *, red: bool = False, given_up: bool = False, goes_back_from: Stage | None = None
) -> tuple[Stage, ...]:
    """Return the stages of a job. A danger sign leaves disposal; a build that was given up ends with what was removed.

    A device that goes back as it came is handed over after the stages before the one at which that was decided.

    References
    ----------
    Common practice, no source.
    """
    if red:
        return DISPOSAL
    if goes_back_from is not None:
        return (*ROUTES[kind][: ROUTES[kind].index(goes_back_from)], Stage.HAND_OVER)
    if given_up:
        begun = [stage for stage in ROUTES[kind] if stage in (Stage.TAKE_IN, Stage.EXAMINE, Stage.DISMANTLE)]
        return (*begun, Stage.REMOVED, Stage.HAND_OVER)
    return ROUTES[kind]


UNOPENED = MappingProxyType({Stage.REMOVED: "Pack for disposal", Stage.HAND_OVER: "Close the job"})
"""What the stages of a pack that is not opened are called: nothing is removed from it, nothing is handed back."""


def stage_label(stage: Stage, stages: tuple[Stage, ...]) -> str:
    """Return what a stage is called on the way that a job goes.

    References
    ----------
    Common practice, no source.
    """
    return UNOPENED.get(stage, stage.label) if stages == DISPOSAL else stage.label
