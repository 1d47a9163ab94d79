"""What was typed wrong is put right while nothing stands on it; what was before stays in the log. Data invented."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from packs.terms import LotOrigin, Measure, Stage
from shop import models
from shop.operations import amending, planning, stock
from shop.selectors import amended
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, LotFactory
from tests.operations.calls import CELL_MODEL
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture
def by() -> models.User:
    return line.lead()


class TestCellModels:
    def test_a_wrong_limit_is_put_right_and_the_old_one_is_told(self, by: models.User) -> None:
        row = stock.add_cell_model(by=by, **CELL_MODEL | {"charge_limit_mv": 4350})
        CellFactory(lot=LotFactory(cell_model=row))
        amending.correct_cell_model(cell_model=row, by=by, now=MORNING, **CELL_MODEL)
        row.refresh_from_db()
        assert row.charge_limit_mv == 4200
        (change,) = amended.corrections("cell model", row)
        assert change.what[0].replace("\u202f", " ") == "Charge limit: 4.200 V, was 4.350 V"
        assert len(change.what) == 1
        assert (change.by, change.at) == (str(by), MORNING)

    @pytest.mark.parametrize(
        ("use", "why"),
        [
            (lambda _: line.job_at(Stage.TARGET), "examined"),
            (lambda by: stock.record_reading(
                cell=CellFactory(code="A1"), measure=Measure.REST_VOLTAGE, value=Decimal(0), by=by
            ), "judged by its limits"),
            (lambda _: CellFactory(place="customer"), "left the stock"),
        ],
    )  # fmt: skip
    def test_once_used_it_stays_as_it_is(self, use: object, why: str, by: models.User) -> None:
        use(by)  # type: ignore[operator]
        with refused("used_already") as caught:
            amending.correct_cell_model(cell_model=CellModelFactory(), by=by, **CELL_MODEL)
        assert why in caught.value.message

    def test_the_same_limits_hold_as_when_it_was_added(self, by: models.User) -> None:
        row = CellModelFactory()
        with refused("invalid", field="end_of_discharge_mv"):
            amending.correct_cell_model(cell_model=row, by=by, **CELL_MODEL | {"end_of_discharge_mv": 3700})
        with refused("unlikely_value", field="rated_capacity_mah"):
            amending.correct_cell_model(cell_model=row, by=by, **CELL_MODEL | {"rated_capacity_mah": Decimal("2.5")})

    def test_a_barred_model_takes_no_new_lot_and_no_new_pack_until_it_is_allowed(self, by: models.User) -> None:
        job = line.job_at(Stage.TARGET)
        row = line.target().cell_model
        amending.bar_cell_model(cell_model=row, reason="charge limit typed wrong", by=by)
        lot = {"code": "L7", "origin": LotOrigin.BOUGHT, "received_on": MORNING.date()}
        row.refresh_from_db()
        with refused("barred", field="cell_model") as caught:
            stock.add_lot(cell_model=row, by=by, now=MORNING, **lot)
        assert "charge limit typed wrong" in caught.value.message
        with refused("barred", field="cell_model"):
            planning.state_target(job=job, target=line.target(), by=by)
        amending.allow_cell_model(cell_model=row, by=by)
        row.refresh_from_db()
        assert stock.add_lot(cell_model=row, by=by, now=MORNING, **lot).pk
        assert planning.state_target(job=job, target=line.target(), by=by).pk
        told = [change.what for change in amended.corrections("cell model", row)]
        assert told == [["In use again"], ["Barred from new use: charge limit typed wrong"]]

    def test_why_it_is_barred_is_said(self, by: models.User) -> None:
        row = CellModelFactory()
        with refused("reason_missing", field="reason"):
            amending.bar_cell_model(cell_model=row, reason=" ", by=by)


def test_a_lot_says_from_whom_and_when_anew(by: models.User) -> None:
    lot = LotFactory()
    with refused("future_date", field="received_on"):
        amending.correct_lot(lot=lot, received_on=MORNING.date() + timedelta(days=1), by=by, now=MORNING)
    amending.correct_lot(
        lot=lot, received_on=date(2026, 11, 3), supplier="Vale", unit_cost=Decimal("1.85"), by=by, now=MORNING
    )
    (change,) = amended.corrections("lot", lot)
    assert set(change.what) == {
        "Received on: 2026-11-03, was 2026-11-02",
        "Supplier: Vale, was Brook Trading",
        "Cost of a cell: 1.8500, was not known",
    }


def test_a_calibration_is_added_later_and_the_one_before_stays_told(by: models.User) -> None:
    meter = models.Instrument.objects.create(name="M1", calibrated_on=date(2025, 3, 1))
    amending.correct_instrument(
        instrument=meter, error_ppm=5000, error_uv=2000, calibrated_on=date(2026, 3, 1), by=by, now=MORNING
    )
    (change,) = amended.corrections("meter", meter)
    assert change.what == ["Calibrated on: 2026-03-01, was 2025-03-01"]
    with refused("nothing_changed"):
        amending.correct_instrument(
            instrument=meter, error_ppm=5000, error_uv=2000, calibrated_on=date(2026, 3, 1), by=by, now=MORNING
        )
