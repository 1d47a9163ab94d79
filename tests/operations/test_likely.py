"""What hardly any cell has is asked back, whichever door it comes by. Every bound is common practice, no source."""

from decimal import Decimal
from typing import Any

import pytest

from packs.terms import Measure, Stage
from shop import models
from shop.operations import health, proving, stock
from tests import line
from tests.factories import CellFactory, LotFactory
from tests.operations.calls import CELL_MODEL
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def by() -> models.User:
    return line.technician()


# A common round cell of 2600 mAh gives 1300 mAh when worn and has some 20 to 200 mΩ.
@pytest.mark.parametrize(
    ("measure", "value", "asked"),
    [
        (Measure.CAPACITY, "2.507", "Did you mean 2507 mAh, which is 2.507 Ah?"),
        (Measure.CAPACITY, "129", "129 mAh is far from the 2600 mAh that one Round 2.6 is rated at."),
        (Measure.CAPACITY, "3901", "3901 mAh is far from"),
        (Measure.DC_RESISTANCE, "19.3", "0.0193 mΩ is far from"),
        (Measure.DC_RESISTANCE, "19300000", "Did you mean 19.3 mΩ, which is 0.0193 Ω?"),
        (Measure.AC_RESISTANCE, "19.3", "Did you mean 19.3 mΩ"),
        (Measure.REST_VOLTAGE, "3.6", "Did you mean 3600 mV, which is 3.6 V?"),
        (Measure.MASS, "46", "0.046 g is far from the 46 g one Round 2.6 weighs"),
    ],
)
def test_a_slipped_reading_is_asked_back_and_taken_when_true(
    measure: Measure, value: str, asked: str, by: models.User
) -> None:
    cell = CellFactory(code="A1", readings={})
    taken: dict[str, Any] = {"cell": cell, "measure": measure, "value": Decimal(value), "method": "DC pulse", "by": by}
    with refused("unlikely_value", field="value") as caught:
        stock.record_reading(**taken)
    assert asked in caught.value.message
    assert caught.value.facts["confirm"] == "sure"
    assert stock.record_reading(**taken, sure=True).value == Decimal(value)


@pytest.mark.parametrize(
    ("measure", "value"),
    [
        (Measure.CAPACITY, 0),
        (Measure.CAPACITY, 130),
        (Measure.CAPACITY, 3900),
        (Measure.REST_VOLTAGE, 0),
        (Measure.REST_VOLTAGE, 10),
        (Measure.DC_RESISTANCE, 4_000),
        (Measure.DC_RESISTANCE, 3_000_000),
    ],
)
def test_dead_worn_and_good_cells_are_written_down_unasked(measure: Measure, value: int, by: models.User) -> None:
    cell = CellFactory(code="A1", readings={})
    stock.record_reading(cell=cell, measure=measure, value=Decimal(value), method="DC pulse", by=by)
    assert cell.readings.get().value == value


def test_a_correction_slips_no_further(by: models.User) -> None:
    reading = CellFactory(code="A1").readings.get(measure=Measure.CAPACITY.value)
    with refused("unlikely_value", field="value"):
        stock.correct_reading(reading=reading, value=Decimal("2.5"), reason="misread", by=by)


def test_a_table_names_every_odd_row(by: models.User) -> None:
    rows = [
        stock.CellRow(line=2, code="B1", readings={Measure.CAPACITY: Decimal(2500)}),
        stock.CellRow(line=3, code="B2", readings={Measure.CAPACITY: Decimal("2.507")}),
        stock.CellRow(line=4, code="B3", readings={Measure.AC_RESISTANCE: Decimal("19.3")}),
    ]
    lot = LotFactory()
    with refused("unlikely_value") as caught:
        stock.import_cells(lot=lot, rows=rows, by=by)
    assert caught.value.facts["rows"] == [3, 4]
    assert len(stock.import_cells(lot=lot, rows=rows, sure=True, by=by)) == 3


@pytest.mark.parametrize(
    ("facts", "asked"),
    [
        ({"rated_capacity_mah": Decimal("2.5")}, "Did you mean 2500 mAh, which is 2.5 Ah?"),
        ({"rated_capacity_mah": Decimal(30), "mass_mg": 45_000}, "does not go with a mass of 45 g"),
        ({"diameter_um": 183_000, "height_um": 65_200}, "does not go with the size"),
    ],
)
def test_a_cell_model_goes_with_its_mass_and_size(facts: dict[str, Any], asked: str, by: models.User) -> None:
    with refused("unlikely_value", field="rated_capacity_mah") as caught:
        stock.add_cell_model(by=by, **CELL_MODEL | facts)
    assert asked in caught.value.message


@pytest.mark.parametrize(
    "facts",
    [
        {"mass_mg": 46_000, "diameter_um": 18_300, "height_um": 65_200},
        # an LFP prismatic cell as sold: 280 Ah, 5.4 kg, 72 x 174 x 207 mm; recalled from memory
        {
            "rated_capacity_mah": Decimal(280_000),
            "nominal_voltage_mv": 3200,
            "charge_limit_mv": 3650,
            "mass_mg": 5_400_000,
        }
        | {"cell_format": "prismatic", "diameter_um": 72_000, "width_um": 174_000, "height_um": 207_000},
        # a lead cell of 2 V: 100 Ah, 6 kg; recalled from memory
        {"rated_capacity_mah": Decimal(100_000), "nominal_voltage_mv": 2000, "end_of_discharge_mv": 1800}
        | {"charge_limit_mv": 2400, "mass_mg": 6_000_000},
    ],
)
def test_common_cell_models_come_in_unasked(facts: dict[str, Any], by: models.User) -> None:
    assert stock.add_cell_model(by=by, **CELL_MODEL | facts).pk


class TestPacks:
    def test_the_final_test_of_a_pack(self, by: models.User) -> None:
        """4s2p of 2600 mAh is a pack of 5200 mAh; no four groups of these cells rest at 129.69 V."""
        job = line.job_at(Stage.FINAL_TEST)
        read: dict[str, Any] = {"job": job, "groups_mv": [Decimal(3300)] * 4, "by": by}
        with refused("unlikely_value", field="capacity") as caught:
            proving.final_test(**read, capacity_mah=Decimal(5), pack_rest_mv=Decimal(13200))
        assert "Did you mean 5000 mAh, which is 5 Ah?" in caught.value.message
        with refused("impossible_value", field="pack_rest"):
            proving.final_test(**read, capacity_mah=Decimal(5000), pack_rest_mv=Decimal(129_690))
        assert not proving.final_test(**read, capacity_mah=Decimal(5), pack_rest_mv=Decimal(13200), sure=True).done, (
            "true or not, it is too little"
        )

    def test_the_test_of_a_pack_as_it_is(self, by: models.User) -> None:
        job = line.job_at(Stage.TEST_PACK)
        discharge = health.Discharge(capacity_mah=Decimal("4.1"), current_ma=Decimal(1000))
        with refused("unlikely_value", field="capacity"):
            health.record_pack_test(job=job, discharge=discharge, pack_rest_mv=None, groups_mv=[], by=by)
