"""Repair of a group: what is named, what stays, what is held against what; the pack is the line's 4s2p with group 2 bad."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Condition, DocumentKind, Heard, JobKind, JointMethod, Measure, Outcome, Owner, Place, Stage
from shop import models
from shop.bridge import layouts, matching, rules, searching, standing, to_level, waste
from shop.operations import (
    disposal,
    documents,
    examination,
    giving_up,
    planning,
    quoting,
    rebuild,
    returns,
    stock,
)
from shop.selectors import audit, removed
from tests import line
from tests.factories import CellFactory, CellModelFactory, SettingsFactory
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db

KIND = JobKind.GROUP_REPAIR
KNOWN = {1: Decimal(5000), 3: Decimal(4800), 4: Decimal(4900)}
"""What three old groups gave, invented: group 3 is the weakest."""


@pytest.fixture(autouse=True)
def workshop() -> None:
    SettingsFactory()
    line.technician()


def repair(stage: Stage, **options: Any) -> models.Job:
    return line.job_at(stage, kind=KIND, **options)


def known(stage: Stage, capacities: dict[int, Decimal] = KNOWN) -> models.Job:
    """Return a repair at a stage of which the capacities of the old groups are known."""
    job = repair(Stage.TARGET)
    line.state_target(job, group_capacities_mah=capacities)
    job.refresh_from_db()
    while job.stage != stage:
        line.WAY[Stage(job.stage)](job)
        job.refresh_from_db()
    return job


def plan_of(job: models.Job) -> models.Plan:
    plan = job.plans.select_related("cell_model", "job__device").last()
    assert plan is not None
    return plan


def balanced() -> bool:
    return list(audit.differences()) == []


# --- which groups


def test_what_cannot_be_replaced_is_refused_beside_its_field() -> None:
    job = repair(Stage.TARGET)
    for replaced, code in (
        ((), "no_group_named"),
        ((0,), "no_such_group"),
        ((5,), "no_such_group"),
        ((2, 2), "group_twice"),
        ((1, 2, 3, 4), "all_groups"),
    ):
        with refused(code, field="replaced"):
            line.state_target(job, replaced=replaced)
    for changed, field in (
        ({"series": 5}, "arrangement"),
        ({"parallel": 3}, "arrangement"),
        ({"cell_model": CellModelFactory(name="Round 3.0")}, "cell_model"),
    ):
        with refused("not_as_found", field=field):
            planning.state_target(job=job, target=line.target(replaced=(2,), **changed), by=line.technician())


@pytest.mark.parametrize("replaced", [(1,), (4,), (3, 1, 2)], ids=["first", "last", "all but one"])
def test_every_group_of_the_pack_can_be_replaced_but_not_all(replaced: tuple[int, ...]) -> None:
    job = repair(Stage.TARGET)
    line.state_target(job, replaced=replaced)
    plan = plan_of(job)
    assert plan.open_groups == tuple(sorted(replaced))
    assert (plan.new_cells, plan.cell_count) == (2 * len(replaced), 8)
    assert {*plan.open_groups, *plan.standing_groups} == {1, 2, 3, 4}


def test_a_rebuild_names_no_groups() -> None:
    job = line.job_at(Stage.TARGET)
    with refused("whole_pack", field="replaced"):
        line.state_target(job, replaced=(2,))


def test_a_repair_rests_on_the_voltage_of_every_group() -> None:
    job = repair(Stage.EXAMINE)
    found = {"cell_model": CellModelFactory(), "series": 4, "parallel": 2, "joint_method": JointMethod.SPOT_WELD}
    with refused("groups_not_measured", field="group_voltages"):
        examination.examine(job=job, by=line.technician(), **found)
    group_mv = [Decimal(3300), Decimal(0), Decimal(1990), Decimal(3300)]
    examination.examine(job=job, by=line.technician(), group_voltages_mv=group_mv, **found)
    job.refresh_from_db()
    with held_by("cell.recovery_voltage"):  # group 3 rests below 2.0 V: it does not stay
        line.state_target(job)
    line.state_target(job, replaced=(2, 3))


def test_the_groups_that_were_begun_are_the_ones_that_are_replaced() -> None:
    job = repair(Stage.PLACE)
    planning.release(job=job, reason="other cells", by=line.technician())
    job.refresh_from_db()
    with refused("groups_begun", field="replaced"):
        line.state_target(job, replaced=(2, 3))
    line.state_target(job)


def test_the_capacity_of_a_group_that_stays_is_a_reading() -> None:
    job = repair(Stage.TARGET)
    for given in ({2: Decimal(4800)}, {5: Decimal(4800)}, {1: Decimal(0)}):
        with refused("impossible_value", field=f"capacity_{next(iter(given))}"):
            line.state_target(job, group_capacities_mah=given)
    for _ in range(2):  # stated again with the same figures nothing new was measured
        line.state_target(job, group_capacities_mah=KNOWN)
    read = job.readings.filter(stage=Stage.TARGET.value, measure=Measure.CAPACITY.value)
    assert {row.point: row.value for row in read} == {f"group {number}": mah for number, mah in KNOWN.items()}
    assert {row.method for row in read} == {"discharge of the group alone"}
    for wrong in ({2: Decimal(9800)}, {1: Decimal(0)}):
        with refused("impossible_value", field=f"resistance_{next(iter(wrong))}"):
            line.state_target(job, group_resistances_uohm=wrong)
    for _ in range(2):
        line.state_target(job, group_resistances_uohm={1: Decimal(9800)})
    assert [(row.point, row.value) for row in job.readings.filter(measure=Measure.DC_RESISTANCE.value)] == [
        ("group 1", Decimal(9800))
    ]
    assert [group.resistance_uohm for group in standing.groups(plan_of(job))] == [Decimal(9800), None, None]


# --- which cells


def test_without_a_known_capacity_the_new_group_holds_what_the_stock_gives() -> None:
    """The two strongest of the line's eight: 2600 and 2590 mAh."""
    job = repair(Stage.MATCH)
    line.stock()
    pack = matching.propose(plan_of(job))
    assert [(group.number, group.capacity.m_as("mAh")) for group in pack.groups] == [(2, pytest.approx(5190))]
    assert pack.mixed is not None
    assert (pack.mixed.limits, pack.mixed.unmeasured, pack.falls_short) == (None, (1, 3, 4), False)
    assert not pack.groups[0].weakest
    assert [(one.group, one.rest.m_as("mV"), one.target.m_as("mV")) for one in pack.to_level if one.target] == [
        (2, pytest.approx(3620), pytest.approx(3300))
    ]


@pytest.mark.parametrize(
    ("least", "new", "limits", "short"),
    [
        (4800, 5070, (3,), False),  # the two weakest, 2530 and 2540, are enough
        (5070, 5070, (2, 3), False),
        (5185, 5190, (3,), False),
        (5191, 5190, (2,), True),  # the two strongest fall short: the new group will limit
    ],
)
def test_the_new_group_is_matched_to_the_weakest_that_stays(
    least: int, new: int, limits: tuple[int, ...], short: bool
) -> None:
    """Weakest-group arithmetic: common practice, no source; the other old groups hold 5200 mAh, invented."""
    job = known(Stage.MATCH, {1: Decimal(5200), 3: Decimal(least), 4: Decimal(5200)})
    line.stock()
    pack = matching.propose(plan_of(job))
    assert round(pack.weakest.m_as("mAh")) == new
    assert pack.mixed is not None
    assert pack.mixed.limits is not None
    assert (pack.mixed.limits.groups, pack.falls_short) == (limits, short)
    assert pack.mixed.limits.capacity_mah == min(least, new)


def test_a_longer_search_takes_the_weakest_cells_that_can_too_and_the_resistance_decides_between_them() -> None:
    """By hand: 4800 asked; 2530 + 2540 is the most thrifty, and of all its like the 40 mΩ pair is 20 mΩ beside 15 mΩ.

    2531 + 2541 mAh the tests cannot tell from it; at 30 mΩ each it has the 15 mΩ of the groups that stay. Invented.
    """
    job = known(Stage.MATCH, {1: Decimal(5200), 3: Decimal(4800), 4: Decimal(5200)})
    line.stock()
    plan = plan_of(job)
    written = searching.asked(matching.NO_LIMITS, 1) | {"seconds": 0.01}
    *_, (_, best) = searching.longer(plan, written)
    assert (best["groups"], best["weakest"], best["beside"]) == ([["S007", "S008"]], "5070.0", True)
    for number in (1, 3, 4):
        job.readings.create(
            stage=Stage.TARGET.value, point=f"group {number}", measure=Measure.DC_RESISTANCE.value,
            value=Decimal(15000), measured_at=job.opened_at, by=line.technician(),
        )  # fmt: skip
    for code, mah in (("R1", 2531), ("R2", 2541)):
        CellFactory(
            code=code, readings={Measure.CAPACITY: mah, Measure.DC_RESISTANCE: 30000, Measure.REST_VOLTAGE: 3620}
        )
    assert [group.codes for group in matching.propose(plan).groups] == [("R1", "R2")]
    *_, (_, best) = searching.longer(plan, written)
    assert best["groups"] == [["R1", "R2"]]


def test_cells_are_reserved_for_the_groups_that_are_replaced() -> None:
    job = repair(Stage.MATCH)
    codes = [cell.code for cell in line.stock()]
    with refused("wrong_shape"):
        planning.accept(job=job, groups=[codes[:2], codes[2:4]], by=line.technician())
    line.accept_old_beside_new(job)
    planning.accept(job=job, groups=[codes[:2]], by=line.technician())
    assert [position.name for position in plan_of(job).positions.all()] == ["2.1", "2.2"]


# --- the bench


def test_only_cells_of_the_group_come_out() -> None:
    job = repair(Stage.DISMANTLE)
    with refused("too_many_cells"):
        rebuild.record_removed(job=job, condition=Condition.DAMAGED, count=3, by=line.technician())
    rebuild.record_removed(job=job, condition=Condition.DAMAGED, by=line.technician())
    assert not rebuild.finish_dismantling(job=job, by=line.technician()).done
    rebuild.record_removed(job=job, condition=Condition.DAMAGED, by=line.technician())
    assert rebuild.finish_dismantling(job=job, by=line.technician()).done


@pytest.mark.parametrize(
    ("replaced", "strips"),
    [
        ([1], {1: 2, 2: 2}),
        ([2], {2: 2, 3: 2}),
        ([4], {4: 2, 5: 2}),
        ([2, 3], {2: 2, 3: 4, 4: 2}),
        ([1, 3], {1: 2, 2: 2, 3: 2, 4: 2}),
    ],
)
def test_a_group_lies_between_two_strips_and_both_are_touched(replaced: list[int], strips: dict[int, int]) -> None:
    """Group g lies between strips g and g + 1: counted by hand, two cells to a group."""
    plan = models.Plan(series=4, parallel=2, replaced=replaced, cell_model=CellModelFactory.build())
    assert {strip.number: len(strip.joints) for strip in layouts.to_join(plan)} == strips
    assert layouts.joints_to_make(plan) == 4 * len(replaced)


def test_a_strip_that_is_not_touched_takes_no_joints() -> None:
    job = repair(Stage.JOIN)
    looked = {"weld": line.WELD, "second_look": True, "second_look_by": "Jon Adler", "by": line.technician()}
    with refused("no_such_strip"):
        rebuild.join(job=job, strips=[rebuild.StripJoined(strip=1, spots=4)], **looked)
    one = rebuild.join(job=job, strips=[rebuild.StripJoined(strip=2, spots=4)], **looked)
    assert [found.rule_id for found in rules.stopping(one.findings)] == ["join.joints"]
    both = [rebuild.StripJoined(strip=number, spots=4) for number in (2, 3)]
    assert rebuild.join(job=job, strips=both, **looked).done
    assert models.Joint.objects.filter(state="made").count() == 4


def levelled(plan: models.Plan, new_mv: float, **stay: float | None) -> dict[str, Any]:
    """Return outcome by rule and place of a new group beside three old ones at 3.29, 3.30 and 3.35 V."""
    old = {"group 1": 3290.0, "group 3": 3300.0, "group 4": 3350.0} | {
        name.replace("_", " "): mv for name, mv in stay.items()
    }
    rest = {"2.1": new_mv, "2.2": new_mv} | old
    voltages = {name: None if mv is None else Decimal(str(mv)) for name, mv in rest.items()}
    return {
        found.rule_id: found
        for found in rules.before_joining(plan, voltages)
        if found.rule_id in ("measure.group_level", "measure.standing_spread")
    }


def test_the_new_group_is_level_with_the_middle_of_those_that_stay() -> None:
    """Middle 3.300 V, 50 mV to either side: common practice, no source; the same limit as between groups at the end."""
    plan = plan_of(repair(Stage.MEASURE))
    outcomes = {mv: levelled(plan, mv)["measure.group_level"].outcome for mv in (3249.999, 3250, 3350, 3350.001)}
    assert list(outcomes.values()) == [Outcome.FAIL, Outcome.PASS, Outcome.PASS, Outcome.FAIL]
    high = levelled(plan, 3620)["measure.group_level"]
    assert high.stops
    assert (high.where, high.measured, high.limit) == ("group 2", "3.62\u202fV", "3.25\u202fV to 3.35\u202fV")
    assert "Bring the cells of the group into these bounds" in high.message
    unknown = levelled(plan, 3300, group_4=None)
    assert unknown["measure.group_level"].stops
    assert {found.outcome for found in unknown.values()} == {Outcome.UNKNOWN}


@pytest.mark.parametrize(("top", "outcome"), [(3339.999, "pass"), (3340, "pass"), (3340.001, "fail")])
def test_old_groups_out_of_level_are_told(top: float, outcome: str) -> None:
    spread = levelled(plan_of(repair(Stage.MEASURE)), 3300, group_4=top)["measure.standing_spread"]
    assert (spread.outcome, spread.stops) == (outcome, False)


def test_what_was_levelled_is_measured_again_and_the_taps_are_held_against_it() -> None:
    """Taps by Kirchhoff: 3300, 3300 + 3320, + 3310, + 3300 mV; 3320 is the mean of the new cells."""
    job = repair(Stage.MEASURE)
    rest = {"2.1": Decimal(3620), "2.2": Decimal(3620), "group 1": Decimal(3300)}
    stopped = rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, by=line.technician())
    assert {found.rule_id for found in rules.stopping(stopped.findings)} >= {"measure.group_level"}
    rest |= {"2.1": Decimal(3325), "2.2": Decimal(3315), "group 3": Decimal(3310), "group 4": Decimal(3300)}
    with refused("no_such_position"):
        rebuild.measure_before_joining(job=job, rest_voltages_mv=rest | {"group 2": rest["2.1"]}, by=line.technician())
    told = {"since": "levelled", "by": line.technician()}
    assert rebuild.measure_before_joining(job=job, rest_voltages_mv=rest, **told).done
    assert rules.expected_taps_mv(plan_of(job)) == [3300, 6620, 9930, 13230]


def test_levelling_goes_by_what_the_groups_that_stay_showed_last() -> None:
    """As found 3300 mV; read at 3400 mV before the pack was cut; a cell at 3620 mV that was levelled is off the list."""
    job = repair(Stage.PLACE)
    assert [(one.code, one.target.m_as("mV")) for one in to_level.of_chosen(plan_of(job)) if one.target] == [("", 3300)]
    for number in (1, 3, 4):
        job.readings.create(
            stage=Stage.DISMANTLE.value, point=f"group {number}", measure=Measure.REST_VOLTAGE.value,
            value=Decimal(3400), measured_at=job.opened_at, by=line.technician(),
        )  # fmt: skip
    card = documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician()).content
    assert [(one["code"], one["rest_mv"], one["target_mv"]) for one in card["to_level"]] == [("", "3620", "3400")]
    first = plan_of(job).positions.select_related("cell").first()
    stock.record_reading(cell=first.cell, measure=Measure.REST_VOLTAGE, value=Decimal(3405), by=line.technician())
    left = plan_of(job).positions.exclude(pk=first.pk).get().cell.code
    assert [(one.group, one.code) for one in to_level.of_chosen(plan_of(job))] == [(2, left)]


@pytest.mark.parametrize(("mv", "stage"), [(3630, Stage.HOUSING), (3680, Stage.MEASURE)])
def test_a_corrected_voltage_of_old_groups_asks_the_new_one_again(mv: int, stage: Stage) -> None:
    """The new group rests at 3620 mV; with two of three old groups at 3680 mV their middle is 60 mV away."""
    job = repair(Stage.HOUSING)
    for point in ("group 1", "group 3"):
        read = job.readings.standing().filter(stage=Stage.MEASURE.value, point=point).get()
        stock.correct_reading(reading=read, value=Decimal(mv), reason="misread", by=line.technician())
    job.refresh_from_db()
    assert job.stage == stage


# --- the proof


def proved(job: models.Job, capacity_mah: int | None) -> dict[str, Any]:
    plan = plan_of(job)
    found = rules.final_test(
        plan,
        capacity_mah=None if capacity_mah is None else Decimal(capacity_mah),
        pack_rest_mv=Decimal(16560),
        groups_mv=[Decimal(4140)] * 4,
        outlet_mv=None,
        instrument=None,
    )
    return {one.rule_id: one for one in found}


def test_a_pack_of_unknown_groups_is_held_against_nothing_but_is_measured() -> None:
    job = repair(Stage.FINAL_TEST)
    found = proved(job, 3000)
    assert found["final.capacity"].outcome is Outcome.NOT_APPLICABLE
    assert "not known" in found["final.capacity"].message
    assert found["final.capacity_on_record"].outcome is Outcome.PASS
    assert proved(job, None)["final.capacity_on_record"].stops
    assert rules.forecast_mah(plan_of(job)) is None


@pytest.mark.parametrize(("mah", "outcome"), [(4559, "fail"), (4560, "pass"), (4561, "pass")])
def test_a_pack_of_known_groups_gives_what_its_weakest_does(mah: int, outcome: str) -> None:
    """95 % of 4800 mAh are 4560: worked out by hand."""
    assert proved(known(Stage.FINAL_TEST), mah)["final.capacity"].outcome == outcome


def test_the_report_says_what_is_new_what_is_old_and_claims_no_rebuilt_pack() -> None:
    job = repair(Stage.REMOVED)
    report = documents.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician()).content
    mixed = report["mixed"]
    assert (mixed["replaced"], mixed["stay"], mixed["unmeasured"]) == ([2], [1, 3, 4], [1, 3, 4])
    assert (mixed["limit_mah"], report["proof"]["forecast_mah"]) == (None, None)
    assert report["market"]["claim"] is None
    assert not report["market"]["bin_asked"]
    old = report["groups"][0]
    assert (old["stays"], old["cells"], old["found_mv"], old["before_mv"]) == (True, [], "3310.000", "3620.000")
    assert [len(group["cells"]) for group in report["groups"]] == [0, 2, 0, 0]


def test_known_groups_name_the_one_that_limits() -> None:
    report = documents.issue(job=known(Stage.REMOVED), kind=DocumentKind.TEST_REPORT, by=line.technician()).content
    assert (report["mixed"]["limiting"], Decimal(report["mixed"]["limit_mah"])) == ([3], 4800)
    assert [group["weakest"] for group in report["groups"]] == [False, False, True, False]


def test_the_card_asks_for_the_old_groups_and_for_the_strips_that_are_touched() -> None:
    card = documents.issue(job=repair(Stage.PLACE), kind=DocumentKind.JOB_CARD, by=line.technician()).content
    slots = {step["stage"]: [row for slot in step["slots"] for row in slot["rows"]] for step in card["steps"]}
    assert slots["dismantle"][:6] == [*(f"group {n}" for n in range(1, 5)), "cell 1", "cell 2"]
    assert slots["measure"] == ["2.1", "2.2", "group 1", "group 3", "group 4"]
    assert sorted(slots["join"]) == ["strip 2", "strip 3"]
    assert slots["ladder"] == ["overcharge trip", "undervoltage trip", *(f"tap {n}" for n in range(1, 5))]
    assert [strip["joints"] for strip in card["strips"]] == [2, 2]


# --- money


def test_a_quote_counts_the_cells_of_the_group_and_binds_to_it() -> None:
    job = repair(Stage.TARGET)
    line.state_prices()
    with refused("no_group_named", field="replaced"):
        line.quote(job)
    row = line.quote(job, replaced=(2,))
    assert (row.lines[0]["detail"], row.verdict) == ("2 ×", "repair")
    quoting.approve_quote(job=job, name="Ida Moor", heard=Heard.SIGNED, by=line.technician())
    job.refresh_from_db()
    with refused("beyond_quote"):
        line.state_target(job, replaced=(3,))
    line.state_target(job)


# --- given up


def test_what_stayed_of_a_repair_given_up_is_one_thing_with_its_own_energy() -> None:
    """Six cells of 2.6 Ah and 3.6 V: 56.16 Wh, worked out by hand."""
    job = repair(Stage.JOIN)
    giving_up.give_up(job=job, reason="the case is cracked", by=line.technician())
    job.refresh_from_db()
    rest = job.items.get(kind="pack")
    assert (rest.place, rest.cell_count, rest.rated_energy_mwh) == (Place.BENCH, 6, 56160)
    assert waste.facts(rest).energy_mwh == 56160
    assert disposal.waiting(job) == 5
    assert [(heap.key, len(heap.things)) for heap in removed.waiting(job)] == [
        ("damaged", 1),
        ("intact", 3),
        ("intact-customer", 1),
    ]
    line.sort_removed(job)
    with refused("held"):
        disposal.finish_removed(job=job, by=line.technician())
    disposal.to_customer(job=job, cells=[], items=[rest], insulated=True, by=line.technician())
    disposal.finish_removed(job=job, by=line.technician())
    job.refresh_from_db()
    assert line.to_the_end(job).closed_at
    assert balanced()


@pytest.mark.parametrize(
    ("condition", "place"), [(Condition.DAMAGED, Place.BENCH), (Condition.REACTIVE, Place.OUTSIDE)]
)
def test_a_rest_that_is_not_whole_is_not_handed_back(condition: Condition, place: Place) -> None:
    job = repair(Stage.PLACE)
    giving_up.give_up(job=job, reason="it got warm", standing=condition, by=line.technician())
    job.refresh_from_db()
    rest = job.items.get(kind="pack")
    assert (rest.place, rest.condition) == (place, condition)
    with refused("not_handed_back"):
        disposal.to_customer(job=job, cells=[], items=[rest], insulated=True, by=line.technician())


def test_a_group_half_out_comes_out_whole_before_the_job_ends() -> None:
    job = repair(Stage.DISMANTLE)
    out = {"condition": Condition.INTACT, "rest_voltage_mv": Decimal(3300), "by": line.technician()}
    rebuild.record_removed(job=job, **out)
    giving_up.give_up(job=job, reason="the customer wants it back", by=line.technician())
    job.refresh_from_db()
    assert job.stage == Stage.DISMANTLE
    with refused("too_many_cells"):
        rebuild.record_removed(job=job, count=2, **out)
    rebuild.record_removed(job=job, **out)
    rebuild.finish_dismantling(job=job, by=line.technician())
    job.refresh_from_db()
    assert line.to_the_end(job).closed_at
    assert balanced()


# --- coming back


def test_a_repaired_pack_that_comes_back_gives_up_known_and_unknown_cells() -> None:
    old = line.to_the_end(repair(Stage.HAND_OVER))
    placed = {position.cell.code for position in plan_of(old).positions.all()}
    job = returns.take_in_return(returned=old, signs=[], removed_owner=Owner.SHOP, by=line.technician())
    for stage in (Stage.EXAMINE, Stage.TARGET, Stage.MATCH):
        line.WAY[stage](job)
        job.refresh_from_db()
    by = {"condition": Condition.INTACT, "by": line.technician(), "rest_voltage_mv": Decimal(3300)}
    one = rebuild.record_removed(job=job, code=min(placed), **by)
    rest = rebuild.record_removed(job=job, count=7, **by)
    codes = {cell.code for cell in (*one, *rest)}
    assert placed < codes
    assert len({code for code in codes if code.startswith(job.code)}) == 6
    rebuild.finish_dismantling(job=job, by=line.technician())
    job.refresh_from_db()
    assert line.to_the_end(job).closed_at
    assert balanced()
