"""The hand-over: nothing leaves before papers are out and every removed thing is accounted for."""

import pytest

from packs.terms import Chemistry, Condition, DangerSign, DocumentKind, Owner, Place, Stage
from shop import models
from shop.operations import closeout, consignments, containers, disposal, documents, intake
from shop.selectors import audit, joblog
from tests import line
from tests.factories import MORNING
from tests.operations.calls import removed
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


def hand_over(job: models.Job, received_by: str = "Ida Moor") -> models.Job:
    return closeout.hand_over(job=job, received_by=received_by, by=line.technician(), now=MORNING)


def issue(job: models.Job, kind: DocumentKind) -> None:
    documents.issue(job=job, kind=kind, by=line.technician())


class TestRebuilt:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.HAND_OVER)

    def test_everything_goes_home(self, job: models.Job) -> None:
        line.issue_papers(job)
        job = hand_over(job)
        assert (job.closed_at, job.items.get().place) == (MORNING, Place.CUSTOMER)
        plan = job.plans.get()
        assert plan.state == "built"
        assert set(plan.positions.values_list("open", "cell__place")) == {(False, "customer")}
        told = job.log.last().facts
        assert (told["to"], told["travels"]) == ("Ida Moor", "taken")
        assert list(audit.differences()) == []

    @pytest.mark.parametrize("name", ["", "  "])
    def test_to_somebody_with_a_name(self, job: models.Job, name: str) -> None:
        line.issue_papers(job)
        with refused("receiver_missing", field="received_by"):
            hand_over(job, name)

    def test_papers_come_first(self, job: models.Job) -> None:
        with held_by("handover.report", "handover.label", "handover.disposal_note"):
            hand_over(job)
        issue(job, DocumentKind.DISPOSAL_NOTE)
        with held_by("handover.report", "handover.label"):
            hand_over(job)
        issue(job, DocumentKind.TEST_REPORT)
        with held_by("handover.label"):
            hand_over(job)
        issue(job, DocumentKind.PACK_LABEL)
        assert hand_over(job).closed_at

    def test_no_note_where_nothing_was_thrown_away(self) -> None:
        job = line.job_at(Stage.REMOVED, removed_owner=Owner.CUSTOMER)
        models.Cell.objects.filter(lot__donor_job=job).update(condition="intact")
        disposal.to_customer(job=job, cells=removed(job, Condition.INTACT), insulated=True, by=line.technician())
        disposal.finish_removed(job=job, by=line.technician())
        issue(job, DocumentKind.TEST_REPORT)
        issue(job, DocumentKind.PACK_LABEL)
        assert hand_over(job).closed_at

    def test_the_note_names_all_that_went(self) -> None:
        """A note that was issued before the last cell went doesn't cover it."""
        job = line.job_at(Stage.REMOVED)
        whole, damaged = line.containers()
        put_into(damaged, job, removed(job, Condition.DAMAGED))
        issue(job, DocumentKind.DISPOSAL_NOTE)
        put_into(whole, job, removed(job, Condition.INTACT))
        disposal.finish_removed(job=job, by=line.technician())
        issue(job, DocumentKind.TEST_REPORT)
        issue(job, DocumentKind.PACK_LABEL)
        with held_by("handover.disposal_note"):
            hand_over(job)
        issue(job, DocumentKind.DISPOSAL_NOTE)
        assert hand_over(job).closed_at

    def test_a_container_that_left_meanwhile_needs_no_new_note(self, job: models.Job) -> None:
        line.issue_papers(job)
        line.consigned(line.containers()[1])
        assert hand_over(job).closed_at

    def test_a_closed_job_gets_a_note_of_who_took_its_waste(self, job: models.Job) -> None:
        line.issue_papers(job)
        job = hand_over(job)
        assert not closeout.note_behind(job)
        line.consigned(line.containers()[1])
        assert closeout.note_behind(job)
        with refused("closed"):
            issue(job, DocumentKind.TEST_REPORT)
        issue(job, DocumentKind.DISPOSAL_NOTE)
        assert not closeout.note_behind(job)
        note = job.documents.filter(kind=DocumentKind.DISPOSAL_NOTE.value).order_by("pk").last()
        assert note is not None
        assert [way["carrier"] for way in note.content["ways"]] == ["Vale Haulage"]

    def test_a_cell_that_came_back_to_the_bench_holds_it_up(self, job: models.Job) -> None:
        line.issue_papers(job)
        cell = removed(job, Condition.INTACT)[0]
        models.Cell.objects.filter(pk=cell.pk).update(place="bench", job=job)
        with held_by("handover.accounted"):
            hand_over(job)

    def test_once(self, job: models.Job) -> None:
        line.issue_papers(job)
        hand_over(job)
        with refused("closed"):
            hand_over(job)


def put_into(container: models.Container, job: models.Job, cells: list[models.Cell]) -> None:
    disposal.to_container(
        job=job, container=container, cells=cells, insulated=True, packed_alone=True, by=line.technician()
    )


class TestRed:
    """A red pack is never handed back; its job closes when it is gone and its note is out."""

    @pytest.fixture
    def job(self) -> models.Job:
        job = line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
        disposal.to_container(
            job=job,
            container=line.containers()[1],
            items=list(job.items.all()),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
        return disposal.finish_removed(job=job, by=line.technician())

    def test_it_closes_by_disposal(self, job: models.Job) -> None:
        with held_by("handover.disposal_note"):
            hand_over(job, "")
        issue(job, DocumentKind.DISPOSAL_NOTE)
        job = hand_over(job, "")
        assert (job.closed_at, job.items.get().place) == (MORNING, Place.CONTAINER)
        assert joblog.lines(job)[0].sentence == "Closed: the pack is put aside for disposal, in container W-DAMAGED"
        assert list(audit.differences()) == []

    def test_only_what_left_the_shop_is_said_to_have_left(self, job: models.Job) -> None:
        container = models.Container.objects.get(code="W-DAMAGED")
        by = line.technician()
        models.Device.objects.update(chemistry=Chemistry.NMC.value)
        containers.close_container(
            container=container, gross_mass_mg=9_000_000, secured=True, lid_vents=True, approved_packaging=True, by=by
        )
        consignments.consign(
            containers=[container], carrier="Ferry & Sons", receiver="Works 3", taken_by="Bo Ferry", by=by
        )
        issue(job, DocumentKind.DISPOSAL_NOTE)
        hand_over(job, "")
        assert joblog.lines(job)[0].sentence == "Closed: the pack left the shop for disposal"

    def test_the_device_is_not_given_back_to_whoever_asks(self, job: models.Job) -> None:
        issue(job, DocumentKind.DISPOSAL_NOTE)
        hand_over(job, "Ida Moor")
        assert job.items.get().place == Place.CONTAINER
        assert not models.Movement.objects.filter(to_place="customer").exists()

    def test_cells_that_were_held_for_it_are_still_the_shops(self) -> None:
        job = line.job_at(Stage.DISMANTLE)
        intake.report_danger(job=job, signs=[DangerSign.SMOKE], by=line.technician())
        disposal.to_emergency_route(job=job, thing=job.items.get(), receiver="fire brigade", by=line.technician())
        disposal.finish_removed(job=job, by=line.technician())
        issue(job, DocumentKind.DISPOSAL_NOTE)
        hand_over(job, "")
        assert models.Cell.objects.free().count() == 8
        assert list(audit.differences()) == []
