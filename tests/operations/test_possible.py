"""Limits hold in the operations, whichever door a value comes by. Every bound is the shop's own: common practice."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from packs.terms import DeviceClass, Measure, Stage
from shop import models
from shop.bridge.possible import MOST_CELLS, STATED
from shop.operations import containers, intake, planning, proving, rebuild, stock, workshop
from tests import line
from tests.factories import MORNING, CellFactory, LotFactory
from tests.operations.calls import CELL_MODEL
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db
TOMORROW = MORNING + timedelta(days=1)


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


@pytest.fixture
def by() -> models.User:
    return line.technician()


def nameplate(**given: Any) -> models.Job:
    return line.take_in_with(intake.Nameplate(model="GP-3", device_class=DeviceClass.TOOL, **given))


@pytest.mark.parametrize("column", sorted(STATED))
def test_a_bound_is_where_it_says(column: str) -> None:
    bound = STATED[column]
    assert not bound.doubt(bound.most)
    assert "Check the number and its unit" in bound.doubt(bound.most + 1)
    assert bool(bound.doubt(0)) is (bound.above or bound.least > 0)
    assert bound.doubt(bound.least - 1)
    assert bound.doubt(Decimal("NaN"))


@pytest.mark.parametrize("column", ["rated_voltage_mv", "rated_capacity_mah", "charger_voltage_mv"])
def test_a_nameplate_says_nothing_that_cannot_be(by: models.User, column: str) -> None:
    with refused("impossible_value", field=column):
        nameplate(**{column: STATED[column].most + 1})
    nameplate(**{column: STATED[column].most})


@pytest.mark.parametrize(
    "column",
    ["continuous_current_ma", "strip_width_um", "strip_thickness_um", "charger_voltage_mv", "outlet_voltage_mv"],
)
def test_a_target_states_nothing_that_cannot_be(job: models.Job, column: str, by: models.User) -> None:
    for value in (0, STATED[column].most + 1):
        with refused("impossible_value", field=column):
            target = line.target(**{column: value} | ({"dropout_mv": 900} if column == "outlet_voltage_mv" else {}))
            planning.state_target(job=job, target=target, by=by)


def test_a_pack_is_no_larger_than_a_bench(job: models.Job, by: models.User) -> None:
    with refused("impossible_value", field="arrangement"):
        planning.state_target(job=job, target=line.target(series=MOST_CELLS + 1, parallel=1), by=by)


def test_a_meter_is_not_off_by_a_volt(by: models.User) -> None:
    with refused("impossible_value", field="error_uv"):
        workshop.add_instrument(name="M", error_ppm=0, error_uv=STATED["error_uv"].most + 1, by=by)
    with refused("future_date", field="calibrated_on"):
        workshop.add_instrument(name="M", error_ppm=0, error_uv=0, calibrated_on=TOMORROW.date(), by=by, now=MORNING)


@pytest.mark.parametrize(
    ("measure", "value", "code"),
    [
        (Measure.MASS, 0, "impossible_value"),
        (Measure.AC_RESISTANCE, 0, "impossible_value"),
        (Measure.CAPACITY, -1, "impossible_value"),
        (Measure.CAPACITY, 1_000_001, "impossible_value"),
        (Measure.TORQUE, 1, "not_of_a_cell"),
        (Measure.DC_RESISTANCE, 40_000, "method_missing"),
    ],
)
def test_a_reading_of_a_cell_that_cannot_be(measure: Measure, value: int, code: str, by: models.User) -> None:
    cell = CellFactory(code="A1", readings={})
    with refused(code):
        stock.record_reading(cell=cell, measure=measure, value=Decimal(value), by=by)
    row = stock.CellRow(line=1, code="B1", readings={measure: Decimal(value)})
    with refused("method_missing" if code == "method_missing" else "bad_rows"):
        stock.import_cells(lot=cell.lot, rows=[row], by=by)


def test_a_table_was_not_measured_tomorrow(by: models.User) -> None:
    lot = LotFactory()
    rows = [stock.CellRow(line=1, code="B1", readings={Measure.CAPACITY: Decimal(2500)})]
    with refused("future_date", field="measured_at"):
        stock.import_cells(lot=lot, rows=rows, measured_at=TOMORROW, by=by, now=MORNING)


def test_one_measure_of_a_table_has_conditions_of_its_own(by: models.User) -> None:
    readings = {Measure.CAPACITY: Decimal(2500), Measure.REST_VOLTAGE: Decimal(3620)}
    stock.import_cells(
        lot=LotFactory(),
        rows=[stock.CellRow(line=1, code="B1", readings=readings)],
        conditions="at 23 °C",
        conditions_of={Measure.CAPACITY: "0.2 C at 25 °C"},
        by=by,
    )
    told = dict(models.Reading.objects.values_list("measure", "conditions"))
    assert told == {"capacity_mah": "0.2 C at 25 °C", "rest_voltage_mv": "at 23 °C"}


@pytest.mark.parametrize("code", ["new", "..", "A\nB", "A\x00B", "A" * 41])
def test_a_code_stands_on_a_label(code: str, by: models.User) -> None:
    model = LotFactory().cell_model
    with refused("impossible_code", field="code"):
        containers.open_container(code=code, condition="damaged", started_on=MORNING.date(), by=by)
    with refused("impossible_code", field="code"):
        stock.add_lot(
            code=code,
            cell_model=model,
            origin="bought",
            received_on=MORNING.date(),
            by=by,
            now=MORNING,
        )


def test_the_model_of_a_cell_holds_in_a_dictionary_too(by: models.User) -> None:
    with refused("impossible_value", field="rated_capacity_mah"):
        stock.add_cell_model(by=by, **CELL_MODEL | {"rated_capacity_mah": Decimal(1_000_001)})


class TestSteps:
    @pytest.mark.parametrize(
        ("strips", "code"),
        [
            ([rebuild.StripJoined(strip=6, spots=4)], "no_such_strip"),
            ([rebuild.StripJoined(strip=1), rebuild.StripJoined(strip=1)], "strip_twice"),
            ([rebuild.StripJoined(strip=1, failed=3)], "impossible_value"),
        ],
    )
    def test_strips_are_those_of_the_drawing(
        self, strips: list[rebuild.StripJoined], code: str, by: models.User
    ) -> None:
        """4s2p has five strips, and two joints on the first (tests/packs/test_layout.py)."""
        job = line.job_at(Stage.JOIN)
        with refused(code):
            rebuild.join(job=job, strips=strips, second_look=True, by=by)

    def test_taps_are_those_of_the_pack(self, by: models.User) -> None:
        job = line.job_at(Stage.LADDER)
        with refused("wrong_count"):
            rebuild.check_taps(job=job, taps_mv=[Decimal(3620)] * 5, by=by)
        with refused("impossible_value", field="tap 2"):
            rebuild.check_taps(job=job, taps_mv=[Decimal(3620), Decimal(1_500_001)], by=by)

    def test_nobody_confirms_what_nobody_asked(self, by: models.User) -> None:
        job = line.job_at(Stage.HOUSING)
        with refused("no_such_question"):
            proving.close_housing(job=job, confirmed={"housing.painted": True}, by=by)


@pytest.mark.parametrize(
    ("dead", "held"),
    [
        ({Measure.CAPACITY: 0}, ["cell.holds_charge"]),
        ({Measure.REST_VOLTAGE: 0}, ["cell.recovery_voltage", "cell.undamaged"]),
    ],
)
def test_a_dead_cell_is_written_down_and_never_placed(
    dead: dict[Measure, int], held: list[str], by: models.User
) -> None:
    job = line.job_at(Stage.PLACE)
    position = job.plans.get(state="accepted").positions.first()
    (measure, value), *_ = dead.items()
    stock.record_reading(cell=position.cell, measure=measure, value=Decimal(value), by=by)
    with held_by(*held):
        rebuild.place_cell(job=job, code=position.cell.code, by=by)
