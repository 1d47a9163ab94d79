"""The target pack, and cells that are promised to one job only."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Chemistry, Condition, DeviceClass, JobKind, LotOrigin, Measure, Outcome, Owner, Place, Stage
from shop import models
from shop.bridge import accepting, matching
from shop.operations import disposal, giving_up, planning, rebuild
from shop.selectors import audit
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, CustomerFactory, LotFactory
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db


def state(job: models.Job, **changed: Any) -> models.Plan:
    return planning.state_target(job=job, target=line.target(**changed), by=line.technician())


class TestTarget:
    """Invented data sheet: charge limit 4.2 V, discharged at 3.0 V, 5.2 A continuous; 4s2p."""

    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.TARGET)

    # Arithmetic on the data sheet: two cells share a group's current, four groups share the charger's voltage.
    AT_THE_LIMIT = [
        ({"continuous_current_ma": 10_400}, "target.cell_current"),
        ({"charger_voltage_mv": 16_800}, "target.charger_voltage"),
        # A step-down converter gives no more than its input less its dropout: 4 × 3.0 V = 12 V must exceed it.
        ({"outlet_voltage_mv": 11_699, "dropout_mv": 300}, "target.step_down"),
    ]
    BEYOND = [
        ({"continuous_current_ma": 10_401}, "target.cell_current"),
        ({"charger_voltage_mv": 16_801}, "target.charger_voltage"),
        ({"outlet_voltage_mv": 11_700, "dropout_mv": 300}, "target.step_down"),
        # One Li-ion cell cannot feed a 5 V outlet by step-down; common practice, no source.
        ({"series": 1, "parallel": 8, "outlet_voltage_mv": 5000, "dropout_mv": 300}, "target.step_down"),
    ]

    @pytest.mark.parametrize(("changed", "rule"), AT_THE_LIMIT)
    def test_what_just_holds_stands(self, job: models.Job, changed: dict[str, int], rule: str) -> None:
        plan = state(job, **changed)
        assert {finding["rule_id"]: finding["outcome"] for finding in plan.findings}[rule] == Outcome.PASS
        job.refresh_from_db()
        assert (job.stage, plan.state) == (Stage.MATCH, "stated")

    @pytest.mark.parametrize(("changed", "rule"), BEYOND)
    def test_what_does_not_hold_is_refused(self, job: models.Job, changed: dict[str, int], rule: str) -> None:
        line.target(**changed)
        with held_by(rule):
            state(job, **changed)

    def test_two_cells_in_series_feed_a_5_v_outlet(self, job: models.Job) -> None:
        """2 × 3.0 V at the end of discharge against 5.0 V and 0.3 V of dropout."""
        state(job, series=2, parallel=4, outlet_voltage_mv=5000, dropout_mv=300)

    def test_no_limit_on_the_data_sheet_is_no_permission(self, job: models.Job) -> None:
        model = CellModelFactory(name="Round, no sheet", max_discharge_current_ma=None)
        with held_by("target.cell_current"):
            state(job, cell_model=model)

    def test_a_chemistry_that_nobody_knows_stops(self, job: models.Job) -> None:
        model = CellModelFactory(name="Round, label gone", chemistry=Chemistry.UNKNOWN.value)
        with held_by("target.chemistry_known", "target.charger_voltage"):
            state(job, cell_model=model)

    @pytest.mark.parametrize(
        "changed", [{"series": 0}, {"parallel": 0}, {"strip_width_um": 0}, {"strip_thickness_um": 0}]
    )
    def test_a_pack_has_cells_and_strips(self, job: models.Job, changed: dict[str, int]) -> None:
        line.target()
        with refused():
            state(job, **changed)

    def test_an_outlet_names_its_dropout(self, job: models.Job) -> None:
        with refused("invalid"):
            state(job, outlet_voltage_mv=5000)

    def test_stated_again_the_old_target_is_abandoned(self, job: models.Job) -> None:
        first = state(job)
        job.refresh_from_db()
        second = state(job, series=5, parallel=2)
        first.refresh_from_db()
        assert (first.state, second.state) == ("abandoned", "stated")

    def test_one_plan_stands_for_a_job(self, job: models.Job) -> None:
        """The database itself refuses a second one."""
        plan = state(job)
        plan.pk, plan._state.adding = None, True
        with pytest.raises(IntegrityError, match=r"one_standing_plan_per_job|shop_plan\.job_id"), transaction.atomic():
            plan.save()


class TestAccept:
    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.MATCH)

    GROUPS = (("S001", "S008"), ("S002", "S007"), ("S003", "S006"), ("S004", "S005"))

    def accept(self, job: models.Job, groups: Any = GROUPS) -> models.Plan:
        return planning.accept(job=job, groups=groups, by=line.technician())

    def test_each_cell_gets_its_position(self, job: models.Job) -> None:
        line.stock()
        plan = self.accept(job)
        positions = plan.positions.values_list("group", "place", "cell__code")
        assert list(positions) == [
            (group, place, code) for group, codes in enumerate(self.GROUPS, 1) for place, code in enumerate(codes, 1)
        ]
        job.refresh_from_db()
        assert (plan.state, job.stage) == ("accepted", Stage.DISMANTLE)
        assert [step.stage for step in job.steps.all()] == ["examine"]
        assert models.Cell.objects.free().count() == 0
        assert models.Cell.objects.in_stock().count() == 8

    def test_groups_that_do_not_keep_the_limits_they_were_shown_under_are_refused(self, job: models.Job) -> None:
        """2600 beside 2530 mAh: each lies 1.36 % from their mean, outside a window of 1 %. Who saw that may have them."""
        line.stock()
        plan = job.plans.get()
        narrow = accepting.Shown(matching.Limits(capacity_window=Decimal("0.01")), {})
        with refused("not_as_asked", field="groups"):
            planning.accept(job=job, groups=self.GROUPS, shown=narrow, by=line.technician())
        figures = accepting.Shown(narrow.limits, {"S001": ("2600.000", "40000.000", "3620.000")})
        with refused("stock_changed"):
            planning.accept(job=job, groups=self.GROUPS, shown=figures, by=line.technician())
        assert not plan.positions.exists()
        seen = accepting.Shown(narrow.limits, {}, broken="Group 1: 2600 mAh lies outside")
        planning.accept(job=job, groups=self.GROUPS, shown=seen, by=line.technician())
        assert job.plans.get().limits["capacity_window"] == "0.01"

    @pytest.mark.parametrize(
        "groups",
        [
            GROUPS[:3],
            (*GROUPS, ("S009", "S010")),
            (("S001", "S008", "S002"), ("S007",), *GROUPS[2:]),
            (("S001", "S001"), *GROUPS[1:]),
            (("S001", "S002"), *GROUPS[1:]),
            (),
        ],
        ids=["a group short", "a group too many", "uneven groups", "twice in a group", "in two groups", "nothing"],
    )
    def test_the_shape_of_the_target(self, job: models.Job, groups: Any) -> None:
        line.stock()
        with refused("wrong_shape"):
            self.accept(job, groups)

    def test_a_cell_of_another_plan_is_gone(self, job: models.Job) -> None:
        line.stock()
        self.accept(job)
        other = second_job()
        with refused("cells_gone") as caught:
            self.accept(other)
        assert caught.value.facts["cells"] == [code for group in self.GROUPS for code in group]

    @pytest.mark.parametrize(
        ("place", "job_of"), [(Place.QUARANTINE, None), (Place.CUSTOMER, None), (Place.BENCH, "itself")]
    )
    def test_a_cell_that_is_not_in_stock_is_gone(self, job: models.Job, place: Place, job_of: str | None) -> None:
        line.stock()
        models.Cell.objects.filter(code="S003").update(place=place.value, job=job if job_of else None)
        with refused("cells_gone") as caught:
            self.accept(job)
        assert caught.value.facts["cells"] == ["S003"]

    def test_a_customers_cells_are_not_the_shops_to_use(self, job: models.Job) -> None:
        line.stock()
        lot = LotFactory(code="L-IDA", owner=Owner.CUSTOMER.value, customer=CustomerFactory())
        models.Cell.objects.filter(code="S003").update(lot=lot)
        with refused("cells_gone"):
            self.accept(job)

    def brought(self, job: models.Job, **columns: Any) -> models.Lot:
        """Cells that are in the book as those of a job's customer."""
        line.stock()
        lot = LotFactory(code="L-OWN", owner=Owner.CUSTOMER.value, customer=job.device.customer, **columns)
        models.Cell.objects.filter(code__startswith="S").update(lot=lot)
        return lot

    def test_cells_that_the_customer_brought_go_into_his_pack_and_no_other(self, job: models.Job) -> None:
        """Common practice, no source: what is not the shop's is nobody else's either."""
        self.brought(job)
        other = second_job()
        with refused("cells_gone"):
            self.accept(other)
        for_stock = line.job_at(Stage.MATCH, kind=JobKind.FOR_STOCK)
        with refused("cells_gone"):
            self.accept(for_stock)
        assert self.accept(job).positions.count() == 8

    def test_they_are_proposed_before_the_shops_and_pass_the_same_tests(self, job: models.Job) -> None:
        lot = self.brought(job)
        for number in range(8):
            CellFactory(code=f"Z{number}")
        plan = job.plans.get()
        proposed = {code for group in matching.propose(plan).groups for code in group.codes}
        assert proposed == {f"S00{number}" for number in range(1, 9)}
        CellFactory(code="U001", lot=lot, readings={Measure.CAPACITY: 2550})
        with held_by("cell.tested"):
            self.accept(job, (("U001", "S008"), *self.GROUPS[1:]))

    def test_they_go_back_to_whom_they_belong(self, job: models.Job) -> None:
        self.brought(job)
        self.accept(job)
        line.on(job, Stage.MEASURE)
        giving_up.give_up(job=job, reason="the case is cracked", by=line.technician())
        cells = list(models.Cell.objects.filter(code__startswith="S"))
        with refused("wrong_owner"):
            disposal.to_stock(job=job, cells=cells, by=line.technician())
        disposal.to_customer(job=job, cells=cells, insulated=True, by=line.technician())
        assert {cell.place for cell in models.Cell.objects.filter(code__startswith="S")} == {Place.CUSTOMER}

    def test_a_cell_of_another_model_is_not_what_was_stated(self, job: models.Job) -> None:
        line.stock()
        models.Cell.objects.filter(code="S003").update(
            lot=LotFactory(code="L-OTHER", cell_model=CellModelFactory(name="Round 3.0"))
        )
        with refused("wrong_model") as caught:
            self.accept(job)
        assert caught.value.facts["cells"] == ["S003"]

    def test_a_code_that_nobody_knows(self, job: models.Job) -> None:
        line.stock()
        with refused("cells_gone"):
            self.accept(job, (("S001", "X999"), *self.GROUPS[1:]))

    @pytest.mark.parametrize("measure", [Measure.CAPACITY, Measure.DC_RESISTANCE, Measure.REST_VOLTAGE])
    def test_a_cell_that_was_not_tested_stops(self, job: models.Job, measure: Measure) -> None:
        line.stock()
        known = {Measure.CAPACITY: 2550, Measure.DC_RESISTANCE: 40000, Measure.REST_VOLTAGE: 3620}
        CellFactory(code="U001", readings={name: value for name, value in known.items() if name is not measure})
        with held_by("cell.tested"):
            self.accept(job, (("U001", "S008"), *self.GROUPS[1:]))

    @pytest.mark.parametrize(
        ("device_class", "origin", "goes"),
        [
            (DeviceClass.MEDICAL, LotOrigin.DONOR, False),
            (DeviceClass.MEDICAL, LotOrigin.BOUGHT, True),
            (DeviceClass.TOOL, LotOrigin.DONOR, True),
        ],
    )
    def test_reclaimed_cells_and_medical_devices(
        self, device_class: DeviceClass, origin: LotOrigin, goes: bool
    ) -> None:
        """IEC 63338:2024: no reuse without lifetime records; that medical devices are meant is common practice."""
        job = line.job_at(Stage.MATCH, device_class=device_class)
        line.stock()
        models.Lot.objects.update(origin=origin.value)
        line.sign(models.Lot.objects.get())
        if goes:
            self.accept(job)
        else:
            with held_by("target.reclaimed_in_medical"):
                self.accept(job)


def second_job() -> models.Job:
    job = line.take_in(customer_name="Odd Strand")
    line.examine(job)
    job.refresh_from_db()
    line.state_target(job)
    job.refresh_from_db()
    return job


class TestOneCellOneOpenPlan:
    def position(self, cell: models.Cell, **given: Any) -> models.PlanPosition:
        plan = second_job().plans.get()
        return models.PlanPosition(plan=plan, group=1, place=1, cell=cell, **given)

    def test_the_database_refuses_the_second(self) -> None:
        line.job_at(Stage.DISMANTLE)
        position = self.position(models.Cell.objects.get(code="S001"))
        refusal = pytest.raises(IntegrityError, match=r"cell_in_one_open_plan|shop_planposition\.cell_id")
        with refusal, transaction.atomic():
            position.save()

    def test_in_bulk_as_well(self) -> None:
        line.job_at(Stage.DISMANTLE)
        position = self.position(models.Cell.objects.get(code="S001"))
        with pytest.raises(IntegrityError), transaction.atomic():
            models.PlanPosition.objects.bulk_create([position])

    def test_a_closed_position_does_not_count(self) -> None:
        line.job_at(Stage.DISMANTLE)
        self.position(models.Cell.objects.get(code="S001"), open=False).save()

    def test_a_position_takes_one_cell(self) -> None:
        job = line.job_at(Stage.DISMANTLE)
        twice = models.PlanPosition(plan=job.plans.get(), group=1, place=1, cell=CellFactory())
        with pytest.raises(IntegrityError), transaction.atomic():
            twice.save()


class TestRelease:
    def release(self, job: models.Job, reason: str = "customer wants 5s2p") -> models.Job:
        return planning.release(job=job, reason=reason, by=line.technician(), now=MORNING)

    @pytest.mark.parametrize("stage", [Stage.DISMANTLE, Stage.PLACE])
    def test_the_cells_are_free_again(self, stage: Stage) -> None:
        job = line.job_at(stage)
        free = models.Cell.objects.free().count()
        job = self.release(job)
        assert job.stage == Stage.MATCH
        assert models.Cell.objects.free().count() == free + 8
        assert list(job.plans.values_list("state", "series", "parallel")) == [("abandoned", 4, 2), ("stated", 4, 2)]
        assert list(audit.differences()) == []

    def test_the_same_cells_can_be_taken_again_and_work_goes_on_where_it_was(self) -> None:
        job = self.release(line.job_at(Stage.PLACE))
        planning.accept(job=job, groups=TestAccept.GROUPS, by=line.technician())
        job.refresh_from_db()
        assert job.stage == Stage.PLACE
        line.place(job)
        assert list(audit.differences()) == []

    def test_not_once_a_cell_is_placed(self) -> None:
        job = line.job_at(Stage.PLACE)
        rebuild.place_cell(job=job, code="S001", by=line.technician())
        with refused("cells_placed"):
            self.release(job)

    def test_with_a_reason(self) -> None:
        job = line.job_at(Stage.DISMANTLE)
        with refused("reason_missing", field="reason"):
            self.release(job, " ")

    def test_before_anything_is_accepted_there_is_nothing_to_release(self) -> None:
        job = line.job_at(Stage.MATCH)
        with refused("out_of_order"):
            self.release(job)


def test_reclaimed_cells_are_tested_before_they_are_used() -> None:
    """What came out of a pack and went back to stock has a voltage on record, and that is not enough."""
    first = line.job_at(Stage.REMOVED)
    line.sort_removed(first)
    assert first.removed_owner == Owner.SHOP
    other = second_job()
    codes = list(models.Cell.objects.free().filter(condition=Condition.INTACT.value).values_list("code", flat=True))
    assert len(codes) == 7
    line.sign(models.Lot.objects.get(donor_job=first))
    CellFactory(code="T1")
    groups = [[*codes, "T1"][n : n + 2] for n in range(0, 8, 2)]
    with held_by("cell.tested"):
        planning.accept(job=other, groups=groups, by=line.technician())
