"""Cautions of every stage: there is one, it says what it rests on, it defers, and it promises nothing."""

import re
from itertools import product

import pytest

from packs.cautions import cautions, pierced, preparing, while_searching
from packs.terms import ROUTES, STEPS, JobKind, JointMethod, Stage, Unpowered, route


@pytest.mark.parametrize(("stage", "high_voltage"), list(product(Stage, [False, True])))
def test_every_stage_has_cautions_that_say_what_they_rest_on(stage: Stage, high_voltage: bool) -> None:
    shown = cautions(stage, high_voltage=high_voltage)
    assert len(shown) >= 2
    assert len({caution.text for caution in shown}) == len(shown)
    for caution in shown:
        assert caution.text.endswith(".")
        assert caution.rests_on
        assert caution.evidence


@pytest.mark.parametrize(("high_voltage", "part_stays"), list(product([False, True], repeat=2)))
def test_a_pierced_can_has_cautions_of_its_own(high_voltage: bool, part_stays: bool) -> None:
    """The danger first, then what else is live: all of it where groups stay, by people who may above 60 V DC."""
    texts = [caution.text for caution in pierced(high_voltage=high_voltage, part_stays=part_stays)]
    assert "keep the item outside" in texts[0]
    assert any("only people qualified" in text for text in texts) is high_voltage
    assert any("What stays of the old pack stays live" in text for text in texts) is part_stays
    assert "neither training nor the data sheet" in texts[-1]
    assert not FORBIDDEN.search(" ".join(texts))


def test_grinding_and_wrapping_have_cautions_of_their_own() -> None:
    texts = [caution.text for caution in preparing()]
    assert any("without heat" in text for text in texts)
    assert "neither training nor the data sheet" in texts[-1]
    assert not FORBIDDEN.search(" ".join(texts))


@pytest.mark.parametrize("stage", Stage)
def test_every_stage_defers(stage: Stage) -> None:
    last = str(cautions(stage)[-1])
    assert all(word in last for word in ("training", "data sheet", "local codes"))


# Emergency Response Guidebook, guide 147: re-ignition up to weeks later; no official number of days of observation.
# Fire services reserve class D powder for lithium metal; hydrogen fluoride guidance rules out silica.
FORBIDDEN = re.compile(
    r"safe after|\d+ (days|hours)|guarantee|is safe|no danger|class d|\bsand\b|vermiculite", re.IGNORECASE
)


@pytest.mark.parametrize("stage", Stage)
def test_nothing_is_promised(stage: Stage) -> None:
    words = " ".join(str(caution) for caution in cautions(stage, high_voltage=True))
    assert not FORBIDDEN.search(words)


def test_search_for_promises_finds_them() -> None:
    for promise in ("It is safe after 3 days.", "Wait 24 hours.", "Cover it with sand."):
        assert FORBIDDEN.search(promise)


# US Fire Administration and Emergency Response Guidebook, guide 147: do not fight it, leave, call, 25 m.
@pytest.mark.parametrize("stage", [Stage.TAKE_IN, Stage.FIRST_CHARGE])
def test_fire(stage: Stage) -> None:
    words = " ".join(str(caution) for caution in cautions(stage))
    assert all(part in words for part in ("do not fight it", "emergency number", "25 m", "again"))


# US Fire Administration: charging not below 0 °C nor above 40 °C.
@pytest.mark.parametrize("stage", [Stage.MATCH, Stage.FIRST_CHARGE, Stage.FINAL_TEST])
def test_charging_temperatures(stage: Stage) -> None:
    words = " ".join(str(caution) for caution in cautions(stage))
    assert "below 0 °C or above 40 °C; where this step names closer limits, those count" in words


def test_high_voltage_is_for_qualified_people_at_every_step() -> None:
    for stage in STEPS:
        assert "qualified" in str(cautions(stage, high_voltage=True)[0])
        assert "High voltage" not in " ".join(str(caution) for caution in cautions(stage))


# Common practice, no source: a customer is told what was done to this pack, and nothing else.
ENDS = {
    "rebuilt": (ROUTES[JobKind.REBUILD], "what was done to the pack", ("was not rebuilt", "nothing in the pack")),
    "tested": (ROUTES[JobKind.TEST_ONLY], "nothing in the pack was changed", ("what was done", "Removed cells")),
    "given up": (route(JobKind.REBUILD, given_up=True), "the pack was not rebuilt", ("how to charge", "what was done")),
    "red": (route(JobKind.REBUILD, red=True), "does not come back", ("how to charge", "what was done", "rebuilt")),
    "taken back": (ROUTES[JobKind.TAKE_BACK], "does not come back", ("how to charge", "what was done", "rebuilt")),
    "goes back": (
        route(JobKind.REBUILD, goes_back_from=Stage.TARGET),
        "nothing was done to the pack",
        ("how to charge", "what was done", "Removed cells", "its cells are"),
    ),
    "stock": (route(JobKind.FOR_STOCK, given_up=True), "authorised carrier", ("customer",)),
}


@pytest.mark.parametrize(("stages", "told", "not_told"), ENDS.values(), ids=ENDS)
def test_the_end_is_worded_by_what_came_of_the_job(
    stages: tuple[Stage, ...], told: str, not_told: tuple[str, ...]
) -> None:
    words = " ".join(str(caution) for caution in cautions(Stage.HAND_OVER, route=stages))
    assert told in words
    assert not [word for word in not_told if word in words]
    assert not FORBIDDEN.search(words)


# Common practice, no source: a board that lost its supply is woken before it is charged, one that locks never loses it.
@pytest.mark.parametrize(
    ("unpowered", "stage", "said"),
    [
        (Unpowered.NEEDS_WAKING, Stage.FIRST_CHARGE, "needs waking"),
        (Unpowered.NEEDS_WAKING, Stage.FINAL_TEST, "needs waking"),
        (Unpowered.LOCKS, Stage.DISMANTLE, "locks for good"),
    ],
)
def test_what_a_board_does_without_supply_is_remembered_where_it_counts(
    unpowered: Unpowered, stage: Stage, said: str
) -> None:
    assert any(said in str(caution) for caution in cautions(stage, unpowered=unpowered))
    assert not any(said in str(caution) for caution in cautions(stage))
    assert not any(said in str(caution) for caution in cautions(Stage.EXAMINE, unpowered=unpowered))


@pytest.mark.parametrize(
    ("method", "said", "not_said"),
    [
        (JointMethod.BOLTED, "spanner", "weld"),
        (JointMethod.SPOT_WELD, "electrodes", "spanner"),
        (JointMethod.SOLDERED_TAB, "Solder only on tabs", "electrodes"),
        (None, "electrodes", "spanner"),
    ],
)
def test_joining_is_cautioned_by_how_the_cells_are_joined(method: JointMethod | None, said: str, not_said: str) -> None:
    text = " ".join(map(str, cautions(Stage.JOIN, joint_method=method)))
    assert said in text
    assert not_said not in text


def test_a_load_of_a_search_has_its_cautions_and_the_charger_more() -> None:
    """What to stop at, never alone, what does not burn: common practice, no source; each defers at the end."""
    load, charged = (" ".join(map(str, while_searching(charger=charger))) for charger in (False, True))
    for words in (
        "load gets hot",
        "Insulated leads",
        "smell, heat",
        "falls fast",
        "Never leave it alone",
        "does not burn",
    ):
        assert words in load
    assert "no charging below 0 °C" in charged
    assert "no charging below 0 °C" not in load
    assert "neither training" in load
