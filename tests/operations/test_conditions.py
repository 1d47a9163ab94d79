"""What a rest voltage makes of a cell, what a person may say of one, and the way of a cell out of stock."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Condition, JobKind, Measure, Owner, Place, Stage
from shop import models
from shop.operations import conditions, disposal, giving_up, rebuild, stock
from shop.selectors import audit
from tests import line
from tests.factories import CellFactory, CellModelFactory, CustomerFactory, LotFactory
from tests.operations.calls import removed
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def remove(job: models.Job, mv: Any, condition: Condition = Condition.INTACT, **given: Any) -> models.Cell:
    volts = None if mv is None else Decimal(mv)
    return rebuild.record_removed(
        sure=True, job=job, condition=condition, rest_voltage_mv=volts, by=line.technician(), **given
    )[0]


def read(cell: models.Cell, mv: Any) -> models.Reading:
    cell.refresh_from_db()
    return stock.record_reading(cell=cell, measure=Measure.REST_VOLTAGE, value=Decimal(mv), by=line.technician())


def correct(reading: models.Reading, mv: Any) -> models.Reading:
    return stock.correct_reading(reading=reading, value=Decimal(mv), reason="digits", by=line.technician())


def changes(cell: models.Cell) -> list[tuple[str, str]]:
    return list(cell.condition_changes.values_list("before", "after"))


def condition(cell: models.Cell) -> str:
    cell.refresh_from_db()
    return cell.condition


REJECTED = [("intact", "damaged")]


class TestTakenOut:
    """Below 2.0 V a lithium-ion cell is not charged again: a cell specification of an 18650, 8-1; the margin is practice."""

    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.DISMANTLE)

    @pytest.mark.parametrize(
        ("mv", "whole"),
        [(2000, True), ("1999.999", False), (0, False), (4250, True), ("4250.001", False), (None, True)],
    )
    def test_a_cell_that_rests_too_low_or_too_high_is_not_intact(self, job: models.Job, mv: Any, whole: bool) -> None:
        cell = remove(job, mv)
        assert condition(cell) == ("intact" if whole else "damaged")
        assert changes(cell) == ([] if whole else REJECTED)
        assert job.log.filter(verb="cells removed").last().facts["condition"] == cell.condition

    def test_the_change_names_the_reading_and_its_limit(self, job: models.Job) -> None:
        cell = remove(job, 0)
        change = cell.condition_changes.get()
        assert change.reading == cell.readings.get()
        assert change.by == line.technician()
        words = change.reason.replace("\N{NARROW NO-BREAK SPACE}", " ")
        assert words == "Rejected: rest voltage of the cell is 0.00 V; at least 2.00 V is needed."

    def test_several_alike_are_rejected_one_by_one(self, job: models.Job) -> None:
        remove(job, 400, count=3)
        assert models.ConditionChange.objects.count() == 3

    @pytest.mark.parametrize("said", [Condition.DAMAGED, Condition.REACTIVE])
    def test_what_looks_worse_stays_as_it_looks(self, job: models.Job, said: Condition) -> None:
        cell = remove(job, 0, said)
        assert (condition(cell), changes(cell)) == (said, [])

    def test_nickel_has_no_such_end(self) -> None:
        """A nickel cell is discharged to 0.9 V and stored empty; no recovery voltage is known for it."""
        job = line.job_at(Stage.TARGET)
        model = CellModelFactory(
            name="Sub C 3.0",
            chemistry="nimh",
            nominal_voltage_mv=1200,
            charge_limit_mv=1500,
            end_of_discharge_mv=1000,
        )
        models.PackAsFound.objects.filter(job=job).update(cell_model=model)
        models.Job.objects.update(stage=Stage.DISMANTLE.value)
        assert condition(remove(models.Job.objects.get(), 300)) == "intact"

    def test_a_typing_error_is_mended_with_its_reading(self, job: models.Job) -> None:
        cell = remove(job, 331)
        correct(correct(cell.readings.get(), 332), 3320)
        assert condition(cell) == "intact"
        assert changes(cell) == [*REJECTED, ("damaged", "intact")]
        assert list(audit.differences()) == []

    def test_a_cell_that_was_charged_again_stays_rejected(self, job: models.Job) -> None:
        """What it was, it stays: only a correction says that it never rested so low."""
        cell = remove(job, 300)
        correct(read(cell, 3590), 3600)
        assert (condition(cell), changes(cell)) == ("damaged", REJECTED)

    def test_a_correction_can_reject(self, job: models.Job) -> None:
        cell = remove(job, 3300)
        correct(cell.readings.get(), 330)
        assert (condition(cell), changes(cell)) == ("damaged", REJECTED)


class TestToStock:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.REMOVED)

    def to_stock(self, job: models.Job, *cells: models.Cell) -> None:
        disposal.to_stock(job=job, cells=cells, by=line.technician())

    def unmeasured(self, job: models.Job) -> models.Cell:
        """A whole cell whose voltage nobody took."""
        columns = {"place": Place.BENCH.value, "job": job, "condition": "intact"}
        return CellFactory(code="U1", lot=removed(job, Condition.INTACT)[0].lot, readings={}, **columns)

    def test_not_before_it_is_measured(self, job: models.Job) -> None:
        cell = self.unmeasured(job)
        with refused("not_measured"):
            self.to_stock(job, *removed(job, Condition.INTACT))
        read(cell, 3300)
        self.to_stock(job, *removed(job, Condition.INTACT))
        assert {cell.place for cell in removed(job, Condition.INTACT)} == {Place.STOCK}

    def test_unmeasured_it_goes_into_a_container_or_to_its_owner(self, job: models.Job) -> None:
        cell = self.unmeasured(job)
        into = line.containers()[0]
        disposal.to_container(job=job, container=into, cells=[cell], insulated=True, by=line.technician())
        cell.refresh_from_db()
        assert cell.place == Place.CONTAINER
        models.Job.objects.update(removed_owner=Owner.CUSTOMER.value)
        other = CellFactory(code="U2", lot=cell.lot, readings={}, place=Place.BENCH.value, job=job)
        disposal.to_customer(job=models.Job.objects.get(), cells=[other], insulated=True, by=line.technician())
        other.refresh_from_db()
        assert other.place == Place.CUSTOMER

    def test_one_that_was_written_down_as_intact_before_anybody_asked_is_found(self, job: models.Job) -> None:
        cell = removed(job, Condition.INTACT)[0]
        models.Reading.objects.create(
            cell=cell,
            measure=Measure.REST_VOLTAGE.value,
            value=Decimal(300),
            measured_at=models.Movement.objects.latest("at").at,
            by=line.technician(),
        )
        with refused("rejected"):
            self.to_stock(job, cell)

    def test_a_voltage_from_before_the_customer_had_it_does_not_count(self) -> None:
        job = line.begin(JobKind.WARRANTY)
        while job.stage != Stage.DISMANTLE:
            line.WAY[Stage(job.stage)](job)
            job.refresh_from_db()
        cell = remove(job, None)
        assert cell.readings.filter(measure=Measure.REST_VOLTAGE.value).exists()
        with refused("not_measured"):
            self.to_stock(job, cell)


class TestInStock:
    def test_a_reading_that_is_too_low_takes_a_cell_out_of_what_is_free(self) -> None:
        cell = CellFactory(code="R1")
        assert models.Cell.objects.free().count() == 1
        read(cell, "1999.9")
        assert (condition(cell), changes(cell)) == ("damaged", REJECTED)
        assert not models.Cell.objects.free().exists()

    def test_a_table_of_tested_cells_is_judged_too(self) -> None:
        rows = [
            stock.CellRow(line=n, code=f"N{n}", readings={Measure.REST_VOLTAGE: Decimal(mv)})
            for n, mv in ((1, 3600), (2, 1500))
        ]
        first, second = stock.import_cells(lot=LotFactory(), rows=rows, by=line.technician())
        assert (condition(first), condition(second)) == ("intact", "damaged")

    def test_cells_of_a_build_that_was_given_up_are_judged_when_they_are_back(self) -> None:
        job = line.job_at(Stage.MEASURE)
        low = dict.fromkeys(line.names(), Decimal(3620)) | {"1.1": Decimal(1500)}
        rebuild.measure_before_joining(job=job, rest_voltages_mv=low, by=line.technician())
        cell = job.plans.get().positions.get(group=1, place=1).cell
        assert condition(cell) == "damaged", "placed already, and rejected for good"
        job.refresh_from_db()
        giving_up.give_up(job=job, reason="a cell is low", damaged=["S002"], by=line.technician())
        assert (condition(cell), changes(cell)) == ("damaged", REJECTED)
        assert changes(models.Cell.objects.get(code="S002")) == REJECTED
        assert list(audit.differences()) == []


class TestLowered:
    @pytest.fixture
    def cell(self) -> models.Cell:
        return CellFactory(code="R1")

    def lower(self, cell: models.Cell, to: Condition = Condition.DAMAGED, reason: str = "dented") -> None:
        conditions.lower_condition(cell=cell, condition=to, reason=reason, by=line.technician())

    def test_step_by_step_with_its_reasons(self, cell: models.Cell) -> None:
        self.lower(cell, reason=" dented ")
        self.lower(cell, Condition.REACTIVE, "hisses")
        assert changes(cell) == [("intact", "damaged"), ("damaged", "reactive")]
        assert list(cell.condition_changes.values_list("reason", flat=True)) == ["dented", "hisses"]
        assert condition(cell) == "reactive"
        assert not models.Cell.objects.free().exists()

    @pytest.mark.parametrize("to", [Condition.INTACT, Condition.DAMAGED])
    def test_never_up_and_never_to_the_same(self, cell: models.Cell, to: Condition) -> None:
        self.lower(cell)
        with refused("not_lower", field="condition"):
            self.lower(cell, to)

    def test_not_without_a_reason(self, cell: models.Cell) -> None:
        with refused("reason_missing", field="reason"):
            self.lower(cell, reason="  ")

    @pytest.mark.parametrize(("stage", "code"), [(Stage.PLACE, "in_a_plan"), (Stage.MEASURE, "not_here")])
    def test_not_while_a_plan_holds_it(self, stage: Stage, code: str) -> None:
        line.job_at(stage)
        held = models.Cell.objects.get(code="S001")
        with refused(code):
            self.lower(held)

    def test_a_removed_cell_on_the_bench_tells_its_job(self) -> None:
        job = line.job_at(Stage.REMOVED)
        self.lower(removed(job, Condition.INTACT)[0])
        assert job.log.last().verb == "condition lowered"

    @pytest.mark.parametrize("place", [Place.CUSTOMER, Place.CONSIGNED])
    def test_what_is_not_here_stays_as_it_left(self, cell: models.Cell, place: Place) -> None:
        models.Cell.objects.update(place=place.value)
        with refused("not_here"):
            self.lower(cell)


class TestDiscarded:
    @pytest.fixture(autouse=True)
    def two_containers(self) -> None:
        line.containers()

    @pytest.fixture
    def cell(self) -> models.Cell:
        return CellFactory(code="R1")

    def discard(self, cell: models.Cell, which: int | None = 0, **given: Any) -> None:
        container = None if which is None else line.containers()[which]
        standard = {
            "cell": cell,
            "container": container,
            "insulated": True,
            "by": line.technician(),
            "packed_alone": True,
        }
        disposal.discard(**(standard | given))

    def test_a_whole_cell(self, cell: models.Cell) -> None:
        self.discard(cell)
        cell.refresh_from_db()
        assert (cell.place, cell.container.code) == (Place.CONTAINER, "W-INTACT")  # type: ignore[union-attr]
        assert [move.to_place for move in cell.movements.all()][-1] == Place.CONTAINER
        assert list(audit.differences()) == []

    def test_into_the_container_for_its_condition(self, cell: models.Cell) -> None:
        read(cell, 100)
        with refused("wrong_container", field="container"):
            self.discard(cell, 0)
        self.discard(cell, 1)

    def test_with_its_terminals_insulated(self, cell: models.Cell) -> None:
        with refused("not_insulated", field="insulated"):
            self.discard(cell, insulated=False)

    def test_damaged_only_in_a_packaging_of_its_own(self, cell: models.Cell) -> None:
        read(cell, 100)
        with refused("not_packed_alone", field="packed_alone"):
            self.discard(cell, 1, packed_alone=False)

    def test_somewhere(self, cell: models.Cell) -> None:
        with refused("container_missing", field="container"):
            self.discard(cell, None)

    def test_not_while_a_plan_holds_it(self) -> None:
        line.job_at(Stage.PLACE)
        with refused("in_a_plan"):
            self.discard(models.Cell.objects.get(code="S001"))

    def test_not_from_the_bench(self) -> None:
        job = line.job_at(Stage.REMOVED)
        with refused("not_in_stock"):
            self.discard(removed(job, Condition.INTACT)[0])

    def test_not_whole_where_it_belongs_to_a_customer(self) -> None:
        lot = LotFactory(code="C1", owner=Owner.CUSTOMER.value, customer=CustomerFactory())
        cell = CellFactory(code="R2", lot=lot)
        with refused("wrong_owner"):
            self.discard(cell)
        read(cell, 0)
        self.discard(cell, 1)

    def test_what_may_react_leaves_with_the_emergency_service(self, cell: models.Cell) -> None:
        conditions.lower_condition(cell=cell, condition=Condition.REACTIVE, reason="hot", by=line.technician())
        with refused("receiver_missing", field="receiver"):
            self.discard(cell)
        self.discard(cell, receiver="Oberau fire brigade")
        cell.refresh_from_db()
        assert cell.place == Place.CONSIGNED
        assert list(audit.differences()) == []


def test_the_audit_finds_a_condition_that_nobody_changed() -> None:
    cell = CellFactory(code="R1")
    conditions.lower_condition(cell=cell, condition=Condition.DAMAGED, reason="dented", by=line.technician())
    models.Cell.objects.update(condition="intact")
    assert list(audit.differences()) == ["cell R1 is shown as intact, its last change made it damaged"]
