"""At the counter: what comes in, what stays outside, what waits for a lead, what goes back."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Condition, DangerLevel, DangerSign, DeviceClass, Owner, Place, Stage
from shop import models
from shop.operations import closeout, disposal, intake, planning, rebuild
from shop.selectors import audit
from tests import line
from tests.factories import MORNING, CustomerFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db

TODAY = MORNING.date()

# OSHA Safety and Health Information Bulletin 06-20-2019 names heat, smoke, hissing, bulging, leaking and odour as signs
# of damage; that a fall, water or an unknown history asks for a closer look is common practice, no source.
SIGNS = {
    DangerSign.HOT: (DangerLevel.RED, Condition.REACTIVE),
    DangerSign.SMOKE: (DangerLevel.RED, Condition.REACTIVE),
    DangerSign.HISSING: (DangerLevel.RED, Condition.REACTIVE),
    DangerSign.SWELLING: (DangerLevel.RED, Condition.DAMAGED),
    DangerSign.LEAK: (DangerLevel.RED, Condition.DAMAGED),
    DangerSign.SMELL: (DangerLevel.RED, Condition.DAMAGED),
    DangerSign.DROPPED: (DangerLevel.AMBER, Condition.DAMAGED),
    DangerSign.WATER: (DangerLevel.AMBER, Condition.DAMAGED),
    DangerSign.NO_SIGN_OF_LIFE: (DangerLevel.AMBER, Condition.DAMAGED),
    DangerSign.UNKNOWN_HISTORY: (DangerLevel.AMBER, Condition.DAMAGED),
}
COMES_IN = {
    DangerLevel.CLEAR: (Stage.EXAMINE, Place.COUNTER),
    DangerLevel.AMBER: (Stage.EXAMINE, Place.QUARANTINE),
    DangerLevel.RED: (Stage.REMOVED, Place.OUTSIDE),
}


def stands(job: models.Job) -> tuple[str, str, str, str]:
    item = job.items.get()
    return job.danger_level, job.stage, item.place, item.condition


class TestTakeIn:
    def test_every_sign_is_asked_here(self) -> None:
        assert set(SIGNS) == set(DangerSign)

    @pytest.mark.parametrize(("sign", "level", "condition"), [(sign, *due) for sign, due in SIGNS.items()])
    def test_one_sign_decides_where_the_pack_goes(
        self, sign: DangerSign, level: DangerLevel, condition: Condition
    ) -> None:
        assert stands(line.take_in(signs=[sign])) == (level, *COMES_IN[level], condition)

    def test_no_sign_no_danger(self) -> None:
        job = line.take_in()
        assert stands(job) == (DangerLevel.CLEAR, Stage.EXAMINE, Place.COUNTER, Condition.INTACT)
        assert not job.held

    def test_the_worst_sign_counts(self) -> None:
        job = line.take_in(signs=[DangerSign.DROPPED, DangerSign.LEAK, DangerSign.LEAK])
        assert stands(job) == (DangerLevel.RED, Stage.REMOVED, Place.OUTSIDE, Condition.DAMAGED)
        assert job.danger_signs == ["dropped", "leak"]

    def test_a_recalled_pack_stays_outside_without_any_sign(self) -> None:
        recall = intake.Recall(source="maker's list", checked_on=TODAY, result="model recalled: fire", recalled=True)
        job = line.take_in(recall=recall)
        assert (job.danger_level, job.stage, job.items.get().place) == ("red", "removed", "outside")

    def test_jobs_are_numbered_one_after_the_other(self) -> None:
        assert [line.take_in().number for _ in range(3)] == [1, 2, 3]

    def test_a_known_customer_is_not_written_down_twice(self) -> None:
        customer = CustomerFactory()
        job = line.take_in(customer=customer, customer_name="")
        assert job.device.customer == customer
        assert models.Customer.objects.count() == 1

    def test_the_device_comes_in_once_in_the_book(self) -> None:
        movement = models.Movement.objects.get(item__job=line.take_in())
        assert (movement.from_place, movement.to_place) == ("", "counter")

    @pytest.mark.parametrize(
        ("given", "code", "field"),
        [
            ({"customer_name": "  "}, "invalid", "name"),
            ({"email": "no address"}, "invalid", "email"),
            (
                {"recall": intake.Recall(source="list", checked_on=TODAY + timedelta(days=1))},
                "future_date",
                "recall_checked_on",
            ),
            ({"recall": intake.Recall(recalled=True)}, "recall_incomplete", "recall_source"),
        ],
    )
    def test_what_is_refused(self, given: dict[str, object], code: str, field: str) -> None:
        line.technician()
        with refused(code, field=field):
            line.take_in(**given)

    def test_a_device_has_a_model(self) -> None:
        by = line.technician()
        with refused("invalid", field="model"):
            intake.take_in(
                customer_name="Ida Moor",
                nameplate=intake.Nameplate(model="", device_class=DeviceClass.TOOL),
                signs=[],
                removed_owner=Owner.SHOP,
                by=by,
            )

    def test_a_recall_looked_up_today_is_kept(self) -> None:
        job = line.take_in(recall=intake.Recall(source="maker's list", checked_on=TODAY, result="none"))
        assert (job.recall_checked_on, job.recalled) == (TODAY, False)


class TestAmber:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.EXAMINE, signs=[DangerSign.DROPPED])

    def test_a_leads_findings_let_it_go_on(self, job: models.Job) -> None:
        lead = line.lead()
        cleared = intake.clear_amber(job=job, findings=" no dent inside, 3.3 V per group ", by=lead, now=MORNING)
        assert not cleared.held
        assert (cleared.findings, cleared.cleared_by, cleared.cleared_at) == (
            "no dent inside, 3.3 V per group",
            lead,
            MORNING,
        )
        assert job.items.get().condition == Condition.INTACT
        line.examine(cleared)

    @pytest.mark.parametrize("findings", ["", "  \n"])
    def test_findings_are_words(self, job: models.Job, findings: str) -> None:
        lead = line.lead()
        with refused("findings_missing", field="findings"):
            intake.clear_amber(job=job, findings=findings, by=lead)

    def test_a_technician_is_no_lead(self, job: models.Job) -> None:
        by = line.technician()
        with refused("not_allowed"):
            intake.clear_amber(job=job, findings="looks fine", by=by)

    def test_it_is_cleared_once(self, job: models.Job) -> None:
        lead = line.lead()
        intake.clear_amber(job=job, findings="dry inside", by=lead)
        with refused("not_held"):
            intake.clear_amber(job=job, findings="dry inside", by=lead)

    def test_a_cleared_pack_stands_at_the_counter(self, job: models.Job) -> None:
        job = intake.clear_amber(job=job, findings="dry inside", by=line.lead())
        assert stands(job) == (DangerLevel.AMBER, Stage.EXAMINE, Place.COUNTER, Condition.INTACT)
        assert list(audit.differences()) == []

    def test_a_lead_may_find_that_it_stays_closed(self, job: models.Job) -> None:
        job = intake.condemn(job=job, findings="a cell is dented", by=line.lead())
        assert stands(job) == (DangerLevel.RED, Stage.REMOVED, Place.OUTSIDE, Condition.DAMAGED)
        assert (job.findings, job.cleared_at) == ("a cell is dented", None)
        assert list(audit.differences()) == []
        with refused("not_held"):
            intake.clear_amber(job=job, findings="not that bad", by=line.lead())

    def test_a_red_pack_is_never_cleared(self) -> None:
        job, lead = line.job_at(Stage.REMOVED, signs=[DangerSign.SMELL]), line.lead()
        with refused("not_held"):
            intake.clear_amber(job=job, findings="smell is gone", by=lead)

    def test_the_database_wants_findings_and_a_name_too(self, job: models.Job) -> None:
        with pytest.raises(IntegrityError, match="job_cleared_by_someone_with_findings"), transaction.atomic():
            models.Job.objects.update(cleared_at=MORNING)


class TestDangerSeenLater:
    @pytest.mark.parametrize("stage", [Stage.EXAMINE, Stage.TARGET, Stage.MATCH, Stage.DISMANTLE])
    def test_the_pack_goes_outside(self, stage: Stage) -> None:
        job = line.job_at(stage)
        job = intake.report_danger(job=job, signs=[DangerSign.SMOKE], by=line.technician())
        assert stands(job) == (DangerLevel.RED, Stage.REMOVED, Place.OUTSIDE, Condition.REACTIVE)
        assert list(audit.differences()) == []

    def test_an_amber_pack_can_turn_red_before_a_lead_comes(self) -> None:
        job = line.job_at(Stage.EXAMINE, signs=[DangerSign.WATER])
        job = intake.report_danger(job=job, signs=[DangerSign.SWELLING], by=line.technician())
        assert (job.danger_level, job.danger_signs) == (DangerLevel.RED, ["swelling", "water"])

    def test_cells_held_for_it_are_free_for_others(self) -> None:
        job = line.job_at(Stage.DISMANTLE)
        assert models.Cell.objects.free().count() == 0
        intake.report_danger(job=job, signs=[DangerSign.SMOKE], by=line.technician())
        assert models.Cell.objects.free().count() == 8
        assert set(job.plans.values_list("state", flat=True)) == {"abandoned"}

    @pytest.mark.parametrize("signs", [[], [DangerSign.DROPPED, DangerSign.WATER]])
    def test_it_takes_a_red_sign(self, signs: list[DangerSign]) -> None:
        job = line.job_at(Stage.EXAMINE)
        with refused("no_red_sign", field="signs"):
            intake.report_danger(job=job, signs=signs, by=line.technician())

    def test_what_is_left_of_an_open_pack_stays_one_piece(self) -> None:
        job = line.job_at(Stage.DISMANTLE)
        rebuild.record_removed(job=job, condition=Condition.INTACT, count=3, by=line.technician())
        job = intake.report_danger(job=job, signs=[DangerSign.HOT], by=line.technician())
        left = job.items.get(kind="pack")
        assert (left.cell_count, left.condition, left.place) == (5, Condition.REACTIVE, Place.OUTSIDE)
        assert (job.stage, job.given_up) == (Stage.REMOVED, "danger sign seen: hot to the touch")
        assert models.Cell.objects.free().count() == 8
        assert list(audit.differences()) == []

    def test_single_cells_on_the_bench_are_no_pack(self) -> None:
        job = line.job_at(Stage.PLACE)
        with refused("single_cells"):
            intake.report_danger(job=job, signs=[DangerSign.HOT], by=line.technician())

    @pytest.mark.parametrize("stage", [Stage.MEASURE, Stage.HOUSING, Stage.HAND_OVER])
    def test_a_new_pack_leaves_in_one_piece_with_its_cells(self, stage: Stage) -> None:
        job = line.job_at(stage)
        job = intake.report_danger(job=job, signs=[DangerSign.HISSING], by=line.technician())
        pack, cells = job.items.get(kind="pack"), models.Cell.objects.filter(place=Place.PACK)
        assert (pack.cell_count, pack.condition, pack.place) == (8, Condition.REACTIVE, Place.OUTSIDE)
        assert set(cells.values_list("condition", flat=True)) == {"reactive"}
        with refused("single_cells"):
            intake.report_danger(job=job, signs=[DangerSign.HOT], by=line.technician())
        disposal.to_emergency_route(job=job, thing=pack, receiver="fire brigade", by=line.technician())
        note = "left with its pack, emergency route: fire brigade"
        assert {cell.movements.last().note for cell in cells} == {note}
        line.to_the_end(job)
        assert job.items.get(kind="device").place == Place.CUSTOMER
        assert list(audit.differences()) == []

    def test_a_new_pack_in_its_device_stays_there(self) -> None:
        job = line.job_at(Stage.FINAL_TEST)
        job = intake.report_danger(job=job, signs=[DangerSign.SWELLING], in_device=True, by=line.technician())
        device = job.items.get()
        assert (device.condition, device.place, device.cell_count) == (Condition.DAMAGED, Place.OUTSIDE, 8)
        line.to_the_end(job)
        assert job.items.get().place == Place.CONTAINER
        assert list(audit.differences()) == []

    def test_a_pack_built_for_stock_too(self) -> None:
        job = line.job_at(Stage.INTO_STOCK)
        job = intake.report_danger(job=job, signs=[DangerSign.LEAK], by=line.technician())
        assert line.to_the_end(job).items.get().place == Place.CONTAINER
        assert list(audit.differences()) == []

    def test_the_database_knows_no_red_pack_at_the_bench(self) -> None:
        line.job_at(Stage.DISMANTLE)
        with pytest.raises(IntegrityError, match="job_red_goes_to_disposal_only"), transaction.atomic():
            models.Job.objects.update(danger_level="red")


class TestDecline:
    @pytest.mark.parametrize("stage", [Stage.EXAMINE, Stage.TARGET, Stage.MATCH])
    def test_the_device_goes_back_unopened(self, stage: Stage) -> None:
        job = line.job_at(stage)
        job = intake.decline(job=job, reason=" costs more than a new one ", by=line.technician(), now=MORNING)
        assert (job.closed_at, job.items.to_give_back().count()) == (None, 1)
        assert (job.stage, job.goes_back_from) == (Stage.HAND_OVER, stage)
        assert set(job.plans.values_list("state", flat=True)) <= {"abandoned"}
        assert job.log.last().facts == {"reason": "costs more than a new one", "freed": []}
        with refused("receiver_missing"):
            closeout.hand_over(job=job, received_by="", by=line.technician())
        closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician(), now=MORNING)
        assert (job.items.get().place, job.items.get().movements.last().note) == (
            Place.CUSTOMER,
            "handed over, not rebuilt",
        )
        assert list(audit.differences()) == []

    def test_a_danger_sign_seen_on_the_shelf_takes_it_outside(self) -> None:
        job = intake.decline(job=line.job_at(Stage.TARGET), reason="too dear", by=line.technician())
        job = intake.report_danger(job=job, signs=[DangerSign.HOT], by=line.technician())
        assert (job.stage, job.goes_back_from, job.items.get().place) == (Stage.REMOVED, "", Place.OUTSIDE)

    def test_with_a_reason(self) -> None:
        job = line.job_at(Stage.EXAMINE)
        with refused("reason_missing", field="reason"):
            intake.decline(job=job, reason=" ", by=line.technician())

    def test_a_red_pack_is_not_handed_back(self) -> None:
        job = line.job_at(Stage.REMOVED, signs=[DangerSign.LEAK])
        with refused("red"):
            intake.decline(job=job, reason="customer wants it back", by=line.technician())

    def test_not_once_cells_are_out_of_it(self) -> None:
        """A plan given up after dismantling leads back to matching, but the old pack is in pieces."""
        job = line.job_at(Stage.DISMANTLE)
        rebuild.record_removed(job=job, condition=Condition.INTACT, count=3, by=line.technician())
        job = planning.release(job=job, reason="cells withdrawn", by=line.technician())
        with refused("pack_open"):
            intake.decline(job=job, reason="no cells", by=line.technician())
        assert disposal.waiting(job) == 3
