"""Every kind of job walked through the operations to its end: each stage of its route, nothing else, books balanced."""

from decimal import Decimal
from functools import partial
from typing import Any

import pytest

from packs.terms import (
    ROUTES,
    STEPS,
    Chemistry,
    Condition,
    DangerSign,
    DeviceClass,
    DocumentKind,
    JobKind,
    Owner,
    Place,
    Stage,
    route,
)
from shop import models
from shop.bridge.stock_table import stock_table
from shop.operations import (
    closeout,
    disposal,
    documents,
    examination,
    giving_up,
    health,
    intake,
    opening,
    rebuild,
    returns,
)
from shop.selectors import audit, removed, sheet, story
from tests import line
from tests.factories import CellModelFactory, SettingsFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop() -> None:
    SettingsFactory()
    line.technician()


def balanced() -> bool:
    return list(audit.differences()) == []


def fresh(job: models.Job) -> models.Job:
    job.refresh_from_db()
    return job


# --- the table of routes


@pytest.mark.parametrize("kind", list(JobKind))
def test_every_kind_has_a_way_from_its_first_stage_to_an_end(kind: JobKind) -> None:
    stages = ROUTES[kind]
    assert len(set(stages)) == len(stages)
    assert stages[-1] in (Stage.HAND_OVER, Stage.INTO_STOCK)
    for given_up in (False, True):
        ways = route(kind, given_up=given_up)
        assert all(stage is Stage.TAKE_IN or stage in sheet.ACTIONS for stage in ways)
        assert all(stage in story.FACTS for stage in ways)
        assert Stage.REMOVED in ways or Stage.DISMANTLE not in ways, "what comes out must go somewhere"


@pytest.mark.parametrize("kind", list(JobKind))
def test_a_danger_sign_leaves_disposal_of_every_kind(kind: JobKind) -> None:
    assert route(kind, red=True) == (Stage.TAKE_IN, Stage.REMOVED, Stage.HAND_OVER)


@pytest.mark.parametrize("kind", list(JobKind))
def test_a_job_of_each_kind_goes_through_its_stages_and_closes(kind: JobKind) -> None:
    job = line.begin(kind)
    seen = [Stage(job.stage)]
    while job.closed_at is None:
        line.WAY[Stage(job.stage)](job)
        job.refresh_from_db()
        seen.append(Stage(job.stage))
    assert list(dict.fromkeys(seen)) == [stage for stage in ROUTES[kind] if stage is not Stage.TAKE_IN]
    assert [told.state for told in story.story(job)] == ["done"] * len(ROUTES[kind])
    assert sheet.next_action(job) is None
    assert balanced()


# --- test only


def test_a_pack_that_is_only_tested_keeps_its_cells() -> None:
    job = line.to_the_end(line.begin(JobKind.TEST_ONLY))
    assert not models.Cell.objects.exists()
    assert job.items.get().place == Place.CUSTOMER
    assert set(job.documents.values_list("kind", flat=True)) == {DocumentKind.HEALTH_REPORT.value}


def test_health_is_the_measured_share_of_the_rated_capacity() -> None:
    """Two cells of 2600 mAh in parallel are rated 5200 mAh; 4160 of them are 80 %: worked out by hand."""
    job = line.job_at(Stage.TEST_PACK)
    line.try_out(job)
    content = documents.issue(job=job, kind=DocumentKind.HEALTH_REPORT, by=line.technician()).content
    assert Decimal(content["tested"]["capacity_mah"]) / Decimal(content["found"]["rating"]["rated_capacity_mah"]) == (
        Decimal("0.8")
    )
    assert content["tested"]["resistance_method"] == "DC pulse 10 s at the leads"


@pytest.mark.parametrize(
    ("given", "code"),
    [
        ({"pack_rest_mv": None}, "no_readings"),
        ({"discharge": health.Discharge(capacity_mah=Decimal(4000))}, "current_missing"),
        ({"resistance_uohm": Decimal(180000)}, "method_missing"),
        ({"groups_mv": [Decimal(16480)]}, "impossible_value"),
    ],
)
def test_a_figure_that_says_nothing_alone_is_refused(given: dict[str, Any], code: str) -> None:
    job = line.job_at(Stage.TEST_PACK)
    asked = {"discharge": health.Discharge(), "pack_rest_mv": Decimal(16480), "groups_mv": []} | given
    with refused(code):
        health.record_pack_test(job=job, by=line.technician(), **asked)
    assert not job.readings.filter(stage=Stage.TEST_PACK.value).exists()


def test_what_was_not_measured_is_added_until_the_report_is_issued() -> None:
    job = line.job_at(Stage.TEST_PACK)
    empty = {"discharge": health.Discharge(), "pack_rest_mv": None, "groups_mv": [], "by": line.technician()}
    first = health.Discharge(capacity_mah=Decimal(4160), current_ma=Decimal(1040))
    health.record_pack_test(job=job, **empty | {"discharge": first})
    health.record_pack_test(job=job, **empty | {"discharge": first, "pack_rest_mv": Decimal(16480)})
    assert job.readings.filter(stage=Stage.TEST_PACK.value).count() == 3
    with refused("no_readings"):
        health.record_pack_test(job=job, **empty | {"pack_rest_mv": Decimal(16480)})
    with refused("read_already"):
        health.record_pack_test(job=job, **empty | {"pack_rest_mv": Decimal(15000)})
    with refused("method_missing"):
        health.record_pack_test(job=job, **empty, resistance_uohm=Decimal(182_000))
    content = documents.issue(job=job, kind=DocumentKind.HEALTH_REPORT, by=line.technician()).content
    assert Decimal(content["tested"]["pack_rest_mv"]) == 16480
    with refused("out_of_order"):
        health.record_pack_test(job=job, **empty | {"groups_mv": [Decimal(4120)]})
    line.to_the_end(fresh(job))
    assert job.steps.filter(stage=Stage.TEST_PACK.value).count() == 1


def test_nobody_says_of_a_closed_pack_how_its_cells_are_joined() -> None:
    asked = {"cell_model": CellModelFactory(), "series": 4, "parallel": 2, "by": line.technician()}
    tested = line.begin(JobKind.TEST_ONLY)
    assert examination.examine(job=tested, **asked).joint_method == ""
    line.try_out(fresh(tested))
    content = documents.issue(job=tested, kind=DocumentKind.HEALTH_REPORT, by=line.technician()).content
    assert content["found"]["joint_method"] is None
    opened = line.take_in(customer_name="Odd Strand")
    with refused("joint_missing", field="joint_method"):
        examination.examine(job=opened, **asked)


def test_a_test_that_finds_a_low_group_is_done_all_the_same() -> None:
    job = line.job_at(Stage.TEST_PACK)
    groups = [Decimal(4130), Decimal(3300), None, Decimal(4130)]
    result = health.record_pack_test(
        job=job, discharge=health.Discharge(), pack_rest_mv=None, groups_mv=groups, by=line.technician()
    )
    assert result.done
    assert {finding.outcome for finding in result.findings} == {"unknown"}


def test_no_report_before_the_test_and_no_hand_over_without_it() -> None:
    job = line.job_at(Stage.TEST_PACK)
    with refused("not_tested"):
        documents.issue(job=job, kind=DocumentKind.HEALTH_REPORT, by=line.technician())
    line.try_out(job)
    with refused("held"):
        closeout.hand_over(job=fresh(job), received_by="Ida Moor", by=line.technician())


def test_a_tested_pack_that_heats_up_stays_outside() -> None:
    job = line.job_at(Stage.TEST_PACK)
    line.try_out(job)
    intake.report_danger(job=fresh(job), signs=[DangerSign.HOT], by=line.technician())
    assert fresh(job).items.get().place == Place.OUTSIDE
    assert job.stage == Stage.REMOVED


# --- take-back


def taken_back(**given: Any) -> models.Job:
    plate = intake.Nameplate(
        model="Field lantern L-7",
        device_class=DeviceClass.OTHER,
        rated_voltage_mv=14400,
        rated_capacity_mah=Decimal(5200),
        chemistry=Chemistry.NMC,
    )
    asked = {"customer_name": "Otto Brandt", "nameplate": plate, "signs": [], "kind": JobKind.TAKE_BACK} | given
    return intake.take_in(by=line.technician(), **asked)


def test_a_pack_taken_back_is_named_on_its_note_by_its_print() -> None:
    """14.4 V times 5.2 Ah are 74.88 Wh. Li-ion cells and packs travel as UN 3480: ADR 2025, table A of chapter 3.2."""
    job = taken_back(count=opening.CellCount(cells=8, basis=models.CountBasis.ESTIMATED))
    line.to_the_end(job)
    unit = job.documents.get(kind=DocumentKind.DISPOSAL_NOTE.value).content["sections"][0]["units"][0]
    assert unit["un_number"] == "UN3480"
    assert Decimal(unit["rated_energy_mwh"]) == 74880
    assert (unit["count"], unit["count_words"]) == (8, "estimated")
    assert balanced()


def test_a_red_pack_is_named_on_its_note_too() -> None:
    """Packs in equipment travel as UN 3481: ADR 2025, table A of chapter 3.2."""
    plate = intake.Nameplate(model="lamp", device_class=DeviceClass.OTHER, chemistry=Chemistry.LFP)
    job = line.to_the_end(
        taken_back(kind=JobKind.REBUILD, nameplate=plate, signs=[DangerSign.SWELLING], removed_owner=Owner.SHOP)
    )
    unit = job.documents.get().content["sections"][0]["units"][0]
    assert (unit["un_number"], unit["chemistry"]) == ("UN3481", "lfp")


def test_an_amber_pack_taken_back_waits_for_nobody_and_goes_as_damaged() -> None:
    job = taken_back(signs=[DangerSign.DROPPED])
    assert not job.held
    assert job.items.get().condition == Condition.DAMAGED
    intact, _ = line.containers()
    with refused("wrong_container"):
        disposal.to_container(
            job=job,
            container=intact,
            items=list(job.items.all()),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
    assert line.to_the_end(job).closed_at


def test_a_pack_at_the_counter_that_begins_to_hiss_goes_outside() -> None:
    job = taken_back()
    intake.report_danger(job=job, signs=[DangerSign.HISSING], by=line.technician())
    item = job.items.get()
    assert (item.place, item.condition) == (Place.OUTSIDE, Condition.REACTIVE)


@pytest.mark.parametrize(
    "count",
    [opening.CellCount(cells=8), opening.CellCount(basis=models.CountBasis.ESTIMATED)],
    ids=["count without basis", "basis without count"],
)
def test_a_count_says_how_well_it_is_known(count: opening.CellCount) -> None:
    with refused("count_basis_missing"):
        taken_back(count=count)
    assert not models.Job.objects.exists()


@pytest.mark.parametrize("kind", [JobKind.FOR_STOCK, JobKind.WARRANTY])
def test_what_does_not_begin_at_the_counter_is_not_taken_in_there(kind: JobKind) -> None:
    with refused("wrong_kind"):
        taken_back(kind=kind)


def test_a_rebuild_agrees_on_the_removed_cells_first() -> None:
    with refused("owner_missing"):
        taken_back(kind=JobKind.REBUILD)


# --- build for stock


def test_a_built_pack_is_one_thing_in_stock_and_its_cells_stay_in_it() -> None:
    """Eight cells of 2.6 Ah and 3.6 V hold 74.88 Wh: worked out by hand."""
    job = line.to_the_end(line.begin(JobKind.FOR_STOCK))
    pack = job.items.get()
    assert (pack.kind, pack.place, pack.cell_count, pack.rated_energy_mwh) == ("pack", "stock", 8, 74880)
    cells = models.Cell.objects.filter(positions__plan__job=job)
    assert {cell.place for cell in cells} == {Place.PACK.value}
    assert not models.Cell.objects.free().exists()
    report = job.documents.get(kind=DocumentKind.TEST_REPORT.value).content
    assert report["found"] is None
    assert balanced()


def test_a_job_card_for_stock_begins_with_placing() -> None:
    job = line.job_at(Stage.PLACE, kind=JobKind.FOR_STOCK)
    card = documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician()).content
    assert [step["stage"] for step in card["steps"]] == [stage.value for stage in STEPS[1:]]


def test_no_pack_goes_into_stock_without_its_report_and_nobody_is_handed_it() -> None:
    from shop.operations import for_stock

    job = line.job_at(Stage.INTO_STOCK)
    with refused("held"):
        for_stock.into_stock(job=job, by=line.technician())
    with refused("nobody_receives"):
        documents.issue(job=job, kind=DocumentKind.HAND_OVER, by=line.technician())


def test_the_shop_is_one_customer_however_many_packs_it_builds() -> None:
    jobs = [line.begin(JobKind.FOR_STOCK) for _ in range(2)]
    assert len({job.device.customer_id for job in jobs}) == 1
    assert jobs[0].device.customer.is_shop


# --- warranty return


def test_the_cells_of_a_pack_that_comes_back_are_those_placed_then() -> None:
    job = line.job_at(Stage.DISMANTLE, kind=JobKind.WARRANTY)
    assert job.returns is not None
    codes = {position.cell.code for position in job.returns.plans.get().positions.all()}
    with refused("wrong_cell"):
        rebuild.record_removed(job=job, condition=Condition.INTACT, code="S999", by=line.technician())
    one = rebuild.record_removed(job=job, condition=Condition.DAMAGED, code="S003", by=line.technician())
    assert (one[0].code, one[0].place, one[0].condition) == ("S003", Place.BENCH, Condition.DAMAGED)
    rest = rebuild.record_removed(job=job, condition=Condition.INTACT, count=7, by=line.technician())
    assert {cell.code for cell in (*one, *rest)} == codes
    assert not models.Lot.objects.filter(donor_job=job).exists()
    with refused("too_many_cells"):
        rebuild.record_removed(job=job, condition=Condition.INTACT, by=line.technician())


@pytest.mark.parametrize("owner", list(Owner))
def test_returned_cells_go_to_whom_was_agreed(owner: Owner) -> None:
    to_stock, to_customer = disposal.to_stock, partial(disposal.to_customer, insulated=True)
    job = line.job_at(Stage.REMOVED, kind=JobKind.WARRANTY, removed_owner=owner)
    cells = list(models.Cell.objects.on_bench_of(job).filter(condition="intact"))
    way, other = (to_stock, to_customer) if owner is Owner.SHOP else (to_customer, to_stock)
    with refused("wrong_owner"):
        other(job=job, cells=cells, by=line.technician())
    way(job=job, cells=cells, by=line.technician())
    assert balanced()


def test_a_pack_comes_back_once_and_only_from_a_closed_rebuild() -> None:
    job = line.job_at(Stage.HAND_OVER)
    asked = {"signs": [], "removed_owner": Owner.SHOP, "by": line.technician()}
    with refused("not_closed"):
        returns.take_in_return(returned=job, **asked)
    line.hand_over(job)
    again = returns.take_in_return(returned=job, **asked)
    assert (again.returns, again.device) == (job, job.device)
    with refused("returned_already"):
        returns.take_in_return(returned=job, **asked)
    intake.decline(job=again, reason="nothing wrong with it", by=line.technician())
    line.hand_over(fresh(again))
    assert returns.returnable(fresh(job))


def test_only_a_rebuilt_pack_comes_back() -> None:
    job = line.to_the_end(line.begin(JobKind.TEST_ONLY))
    with refused("nothing_rebuilt"):
        returns.take_in_return(returned=job, signs=[], removed_owner=Owner.SHOP, by=line.technician())


def test_another_pack_in_the_device_is_another_job() -> None:
    job = line.begin(JobKind.WARRANTY)
    with refused("another_pack"):
        examination.examine(
            job=job,
            cell_model=CellModelFactory(),
            series=5,
            parallel=2,
            joint_method="spot_weld",
            by=line.technician(),
        )


# --- giving up


@pytest.mark.parametrize("stage", STEPS[1:])
def test_a_build_is_given_up_at_any_step_and_still_ends(stage: Stage) -> None:
    job = line.job_at(stage)
    placed = list(models.Cell.objects.filter(job=job, place=Place.PACK.value))
    damaged = [placed[0].code] if placed else []
    giving_up.give_up(job=job, reason="the case is cracked", damaged=damaged, by=line.technician())
    assert fresh(job).stage == Stage.REMOVED
    assert models.Cell.objects.on_bench_of(job).count() == 8 + len(placed)
    assert models.PlanPosition.objects.filter(open=True).count() == 0
    line.to_the_end(job)
    assert job.items.get().place == Place.CUSTOMER
    assert not job.documents.filter(kind=DocumentKind.TEST_REPORT.value).exists()
    assert [told.state for told in story.story(job)] == ["done"] * 5
    assert balanced()


def test_a_pack_half_taken_apart_is_taken_apart_to_its_end() -> None:
    job = line.job_at(Stage.DISMANTLE)
    whole = {"condition": Condition.INTACT, "rest_voltage_mv": Decimal(3300), "by": line.technician()}
    rebuild.record_removed(job=job, count=3, **whole)
    giving_up.give_up(job=job, reason="the customer wants it back", by=line.technician())
    assert fresh(job).stage == Stage.DISMANTLE
    with refused("given_up_already"):
        giving_up.give_up(job=job, reason="again", by=line.technician())
    rebuild.record_removed(job=job, count=5, **whole)
    rebuild.finish_dismantling(job=job, by=line.technician())
    assert line.to_the_end(fresh(job)).closed_at
    assert balanced()


def test_a_build_for_stock_is_given_up_and_closes_with_nobody_to_receive_it() -> None:
    job = line.job_at(Stage.JOIN, kind=JobKind.FOR_STOCK)
    giving_up.give_up(job=job, reason="the strip was the wrong one", by=line.technician())
    disposal.to_stock(job=job, cells=list(models.Cell.objects.on_bench_of(job)), by=line.technician())
    disposal.finish_removed(job=fresh(job), by=line.technician())
    closeout.hand_over(job=job, received_by="", by=line.technician())
    assert fresh(job).closed_at
    assert balanced()


def test_matching_that_leads_nowhere_after_dismantling_is_no_dead_end() -> None:
    from shop.operations import planning

    job = line.job_at(Stage.PLACE)
    planning.release(job=job, reason="the customer wants 5s2p", by=line.technician())
    with refused("pack_open"):
        intake.decline(job=fresh(job), reason="no cells", by=line.technician())
    giving_up.give_up(job=job, reason="no cells", by=line.technician())
    assert line.to_the_end(fresh(job)).closed_at


def test_an_unopened_pack_goes_back_as_it_came_and_is_not_given_up() -> None:
    job = line.job_at(Stage.DISMANTLE)
    with refused("not_opened"):
        giving_up.give_up(job=job, reason="too dear", by=line.technician())
    intake.decline(job=job, reason="too dear", by=line.technician())
    assert models.Cell.objects.free().count() == 8
    assert balanced()


def test_only_cells_of_this_job_can_have_come_to_harm() -> None:
    job = line.job_at(Stage.MEASURE)
    with refused("no_such_cell"):
        giving_up.give_up(job=job, reason="it fell", damaged=["S001", "X9"], by=line.technician())
    assert fresh(job).given_up == ""


def test_a_loose_cell_that_may_react_is_named_and_a_joined_pack_is_not_taken_apart() -> None:
    job = line.job_at(Stage.MEASURE)
    giving_up.give_up(job=job, reason="one hisses", damaged=["S002"], reacting=["S001"], by=line.technician())
    worse = models.Cell.objects.on_bench_of(job).filter(code__in=["S001", "S002"]).values_list("condition", flat=True)
    assert list(worse.order_by("code")) == ["reactive", "damaged"]
    joined = line.job_at(Stage.LADDER, customer_name="Odd Strand")
    with refused("joined", field="reacting"):
        giving_up.give_up(job=joined, reason="one hisses", reacting=["S009"], by=line.technician())
    assert balanced()


def test_each_owner_gets_back_his_own() -> None:
    """The old cells are the customer's, the new ones the shop's: two heaps on one bench."""
    job = line.job_at(Stage.JOIN, removed_owner=Owner.CUSTOMER)
    giving_up.give_up(job=job, reason="it fell", by=line.technician())
    heaps = removed.waiting(fresh(job))
    assert [(heap.key, len(heap.things)) for heap in heaps] == [
        ("damaged", 1),
        ("intact", 7),
        ("intact-shop", 8),
    ]
    bench = models.Cell.objects.on_bench_of(job).filter(condition="intact")
    with refused("wrong_owner"):
        disposal.to_stock(job=job, cells=list(bench), by=line.technician())
    disposal.to_stock(job=job, cells=list(bench.filter(code__startswith="S")), by=line.technician())
    disposal.to_customer(job=job, cells=list(bench.filter(code__startswith="J")), insulated=True, by=line.technician())
    assert balanced()


def test_cells_that_came_back_are_matched_again_only_once_they_are_tested_again() -> None:
    job = line.job_at(Stage.MEASURE)
    giving_up.give_up(job=job, reason="it fell", by=line.technician())
    cells = models.Cell.objects.filter(code__startswith="S")
    disposal.to_stock(job=fresh(job), cells=list(cells), by=line.technician())
    table = stock_table(cells)
    assert all(value != value for value in table.capacity_mah), "NaN: not known"
    assert cells.reclaimed().count() == 8
