"""Cell models, lots, tables of tested cells, and readings that are corrected, never changed."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from packs.terms import CellFormat, Chemistry, LotOrigin, Measure, Owner, Place, Stage, Terminals
from shop import models
from shop.bridge import figures
from shop.operations import stock
from shop.selectors import audit
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, CustomerFactory, LotFactory, UserFactory
from tests.line import technician
from tests.operations.calls import CELL_MODEL
from tests.refusal import refused

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    """Somebody to do it, and a lot of a cell model, so that a refusal finds every table as it was."""
    technician(), LotFactory()


def row(line: int, code: str, **mv: int) -> stock.CellRow:
    return stock.CellRow(line=line, code=code, readings={Measure(name): Decimal(value) for name, value in mv.items()})


def come_in(*rows: stock.CellRow, **options: Any) -> list[models.Cell]:
    return stock.import_cells(lot=LotFactory(), rows=rows, by=technician(), now=MORNING, **options)


class TestImport:
    def test_cells_come_in_with_readings_and_their_first_movement(self) -> None:
        come_in(
            row(2, "A1", capacity_mah=2540, dc_resistance_uohm=21_400),
            row(3, "A2", capacity_mah=2560),
            methods={Measure.DC_RESISTANCE: "DC pulse 5 s"},
            conditions="at 50 % charge",
            measured_at=MORNING - timedelta(days=2),
        )
        first, second = models.Cell.objects.order_by("code")
        assert figures.of_cells([first, second])[first.pk] == {
            Measure.CAPACITY: Decimal(2540),
            Measure.DC_RESISTANCE: Decimal(21_400),
        }
        resistance = first.readings.get(measure=Measure.DC_RESISTANCE.value)
        assert (resistance.method, resistance.conditions) == ("DC pulse 5 s", "at 50 % charge")
        assert first.readings.get(measure=Measure.CAPACITY.value).method == ""
        assert (MORNING - resistance.measured_at).days == 2
        assert [(cell.place, cell.movements.get().from_place) for cell in (first, second)] == [(Place.STOCK, "")] * 2
        assert not list(audit.differences())

    @pytest.mark.parametrize("code", ["0012", "1E5", "=1+1", "TRUE", "1/2", "007.0"])
    def test_codes_stay_text(self, code: str) -> None:
        assert come_in(row(2, code))[0].code == code
        assert models.Cell.objects.get().code == code

    def test_two_rows_of_one_cell_keep_the_whole_table_out(self) -> None:
        with refused("bad_rows") as caught:
            come_in(row(2, "D3"), row(3, "D4"), row(8, "D3"))
        assert caught.value.facts["rows"] == [2, 8]
        assert "line 2: cell D3" in caught.value.message
        assert "line 8: cell D3" in caught.value.message
        assert "D4" not in caught.value.message

    def test_a_known_cell_keeps_the_whole_table_out(self) -> None:
        CellFactory(code="A1")
        with refused("bad_rows") as caught:
            come_in(row(2, "A0"), row(3, "A1"))
        assert caught.value.facts["rows"] == [3]

    def test_a_table_sent_again_in_small_letters_brings_nothing_in_twice(self) -> None:
        come_in(row(2, "A1"), row(3, "A2"))
        with refused("bad_rows") as caught:
            come_in(row(2, "a1"), row(3, "a2"))
        assert caught.value.facts["problems"] == [
            [2, "cell a1 is in the book already, as A1"],
            [3, "cell a2 is in the book already, as A2"],
        ]

    def test_a_row_without_a_code_keeps_the_whole_table_out(self) -> None:
        with refused("bad_rows") as caught:
            come_in(row(2, "A1"), row(5, ""))
        assert caught.value.facts["rows"] == [5]

    def test_a_pack_voltage_is_no_cell_voltage(self) -> None:
        """Common practice, no source: a resting cell is not half a volt above its charge limit of 4.2 V."""
        come_in(row(2, "A1", rest_voltage_mv=4700))
        with refused("bad_rows") as caught:
            come_in(row(2, "A2", rest_voltage_mv=4701))
        assert caught.value.facts["rows"] == [2]

    def test_an_empty_table_is_refused(self) -> None:
        with refused("no_rows"):
            come_in()

    def test_many_faults_are_counted_and_the_first_are_named(self) -> None:
        with refused("bad_rows") as caught:
            come_in(*(row(line, "") for line in range(2, 27)))
        assert len(caught.value.facts["rows"]) == 25
        assert "line 2:" in caught.value.message
        assert "15 more" in caught.value.message

    def test_ten_times_the_rows_are_not_asked_for_one_by_one(self) -> None:
        """Reading takes as many queries; writing may be cut only where the database limits one statement."""
        asked, written = [], []
        for size in (20, 200):
            rows = [row(line, f"{size}-{line}", capacity_mah=2500, rest_voltage_mv=3600) for line in range(size)]
            lot, by = LotFactory(), technician()
            with CaptureQueriesContext(connection) as queries:
                stock.import_cells(lot=lot, rows=rows, by=by)
            asked.append(sum(query["sql"].startswith("SELECT") for query in queries))
            written.append(sum(query["sql"].startswith("INSERT") for query in queries))
        assert asked[0] == asked[1] > 0
        assert written[1] < 20


def test_a_name_that_is_taken_is_said_in_words() -> None:
    CellModelFactory(name="Round 3.0")
    with refused("invalid", field="name") as caught:
        stock.add_cell_model(by=technician(), **CELL_MODEL)
    assert caught.value.message == "Another cell model has this name already."


class TestCorrection:
    @pytest.fixture
    def reading(self) -> models.Reading:
        return CellFactory(readings={Measure.DC_RESISTANCE: 214_000}).readings.get()

    def correct(self, reading: models.Reading, value: int = 21_400, reason: str = "unit mistyped") -> models.Reading:
        return stock.correct_reading(reading=reading, value=Decimal(value), reason=reason, by=technician())

    def test_the_new_value_stands_and_the_old_one_stays(self, reading: models.Reading) -> None:
        corrected = self.correct(reading)
        reading.refresh_from_db()
        assert reading.value == 214_000
        assert (corrected.corrects, corrected.reason) == (reading, "unit mistyped")
        assert (corrected.method, corrected.measured_at) == (reading.method, reading.measured_at)
        assert figures.of_cells([reading.cell])[reading.cell.pk] == {Measure.DC_RESISTANCE: Decimal(21_400)}

    def test_it_says_who_measured_and_when_and_who_corrected_and_when(self, reading: models.Reading) -> None:
        by, later = UserFactory(username="tom"), MORNING + timedelta(days=5)
        first = stock.correct_reading(reading=reading, value=Decimal(21_400), reason="unit", by=by, now=later)
        again = stock.correct_reading(reading=first, value=Decimal(21_500), reason="digits", by=by, now=later)
        for row in (first, again):
            assert (row.measured_at, row.measured_by) == (reading.measured_at, reading.by)
            assert (row.written_at, row.by) == (later, by)
        assert reading.written_at is None

    def test_it_says_why(self, reading: models.Reading) -> None:
        with refused("reason_missing", field="reason"):
            self.correct(reading, reason="  ")

    def test_a_corrected_reading_is_not_corrected_again(self, reading: models.Reading) -> None:
        newer = self.correct(reading)
        with refused("corrected_already"):
            self.correct(reading, 22_000)
        self.correct(newer, 22_000)
        assert figures.of_cells([reading.cell])[reading.cell.pk] == {Measure.DC_RESISTANCE: Decimal(22_000)}

    def test_the_log_keeps_both_values(self, reading: models.Reading) -> None:
        self.correct(reading)
        facts = models.LogEntry.objects.get(verb="reading corrected").facts
        assert (Decimal(facts["old"]), Decimal(facts["new"])) == (214_000, 21_400)


class TestReading:
    def test_the_newest_reading_counts(self) -> None:
        cell = CellFactory(readings={Measure.CAPACITY: 2550})
        stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=Decimal(2510), by=technician())
        assert figures.of_cells([cell])[cell.pk][Measure.CAPACITY] == 2510
        assert cell.readings.count() == 2

    def test_a_voltage_that_no_cell_has_is_named_once(self) -> None:
        row = stock.CellRow(line=2, code="N9", readings={Measure.REST_VOLTAGE: Decimal(16000)})
        assert len(stock.bad_rows([row], CellModelFactory())) == 1

    def test_no_reading_is_older_than_the_day_its_lot_came_in(self) -> None:
        """A tester whose clock was reset says 1970; the lot of the factory came in on 2 November 2026."""
        cell, asked = CellFactory(), {"measure": Measure.CAPACITY, "value": Decimal(2510), "by": technician()}
        with refused("before_it_came", field="measured_at"):
            stock.record_reading(cell=cell, measured_at=datetime(1970, 1, 1, 0, 5, tzinfo=UTC), **asked)
        assert stock.record_reading(cell=cell, measured_at=datetime(2026, 11, 2, tzinfo=UTC), **asked).pk

    @pytest.mark.parametrize("place", [Place.CONTAINER, Place.CONSIGNED])
    def test_nothing_is_measured_of_a_cell_that_was_thrown_away(self, place: Place) -> None:
        cell = CellFactory()
        cell.place = place.value
        with refused("not_here", field="cell"):
            stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=Decimal(2000), by=technician())

    def test_no_reading_lies_ahead(self) -> None:
        cell = CellFactory()
        with refused("future_date", field="measured_at"):
            stock.record_reading(
                cell=cell,
                measure=Measure.CAPACITY,
                value=Decimal(2510),
                measured_at=MORNING + timedelta(minutes=1),
                by=technician(),
                now=MORNING,
            )

    @pytest.mark.parametrize("value", ["4700.001", "-0.001"])
    def test_a_rest_voltage_no_cell_has_is_refused(self, value: str) -> None:
        cell = CellFactory()
        with refused(field="value"):
            stock.record_reading(cell=cell, measure=Measure.REST_VOLTAGE, value=Decimal(value), by=technician())


MODEL = {
    "name": "Round 3.0",
    "chemistry": Chemistry.NMC.value,
    "cell_format": CellFormat.ROUND.value,
    "terminals": Terminals.OPPOSITE_ENDS.value,
    "rated_capacity_mah": Decimal(3000),
    "nominal_voltage_mv": 3600,
    "charge_limit_mv": 4200,
    "end_of_discharge_mv": 2500,
}


class TestModelsAndLots:
    def test_a_model_needs_no_more_than_its_sheet_says(self) -> None:
        model = stock.add_cell_model(by=technician(), **MODEL)
        assert model.max_discharge_current_ma is None

    @pytest.mark.parametrize(
        ("wrong", "code"),
        [
            ({"end_of_discharge_mv": 3600}, "invalid"),
            ({"charge_limit_mv": 3600}, "invalid"),
            ({"rated_capacity_mah": Decimal(0)}, "impossible_value"),
            ({"charge_limit_mv": 42_000}, "impossible_value"),
            ({"mass_mg": 46_000_000}, "impossible_value"),
            ({"chemistry": "lead"}, "invalid"),
            ({"name": ""}, "invalid"),
        ],
    )
    def test_a_model_that_cannot_be_is_refused(self, wrong: dict[str, Any], code: str) -> None:
        with refused(code):
            stock.add_cell_model(by=technician(), **MODEL | wrong)

    def test_two_models_never_share_a_name(self) -> None:
        stock.add_cell_model(by=technician(), **MODEL)
        with refused("invalid", field="name"):
            stock.add_cell_model(by=technician(), **MODEL)

    def add(self, **changes: Any) -> models.Lot:
        given = {"code": " B1 ", "origin": LotOrigin.BOUGHT, "received_on": MORNING.date()}
        return stock.add_lot(cell_model=CellModelFactory(), by=technician(), now=MORNING, **given | changes)

    def test_a_lot_is_the_shops_where_nothing_else_is_said(self) -> None:
        lot = self.add()
        assert (lot.code, lot.owner, lot.customer) == ("B1", Owner.SHOP, None)

    def test_a_customers_lot_names_the_customer(self) -> None:
        customer = CustomerFactory()
        with refused("invalid"):
            self.add(owner=Owner.CUSTOMER)
        assert self.add(owner=Owner.CUSTOMER, customer=customer).customer == customer

    def test_a_lot_does_not_come_in_tomorrow(self) -> None:
        with refused("future_date", field="received_on"):
            self.add(received_on=MORNING.date() + timedelta(days=1))


def test_nothing_is_imported_into_the_lot_of_a_pack() -> None:
    """What came out of a pack is what was counted in it."""
    line.job_at(Stage.REMOVED)
    lot = models.Lot.objects.get(donor_job__isnull=False)
    with refused("lot_of_a_pack", field="lot"):
        stock.import_cells(lot=lot, rows=[stock.CellRow(line=2, code="N1")], by=line.technician())


def test_a_table_that_came_in_before_is_recognised() -> None:
    lot, by = LotFactory(), line.technician()
    rows = [stock.CellRow(line=number, code=f"R{number}") for number in range(2, 5)]
    stock.import_cells(lot=lot, rows=rows, by=by)
    with refused("known_already", field="lot"):
        stock.import_cells(lot=lot, rows=rows, by=by)
    with refused("bad_rows") as caught:
        stock.import_cells(lot=lot, rows=[*rows, stock.CellRow(line=5, code="R9")], by=by)
    assert caught.value.facts["problems"] == [[row.line, f"cell {row.code} is in the book already"] for row in rows]


def test_every_bad_row_of_a_long_table_is_named_and_none_comes_in() -> None:
    """Of 60 rows every third rests at a voltage that no cell has; the message names ten, the facts all twenty."""
    lot, by = LotFactory(), line.technician()
    readings = {0: {Measure.REST_VOLTAGE: Decimal(9000)}}
    rows = [stock.CellRow(line=n, code=f"L{n}", readings=readings.get(n % 3, {})) for n in range(60)]
    with refused("bad_rows") as caught:
        stock.import_cells(lot=lot, rows=rows, by=by)
    assert [number for number, _ in caught.value.facts["problems"]] == list(range(0, 60, 3))
    assert "and 10 more" in caught.value.message
    assert not models.Cell.objects.exists()


@pytest.mark.parametrize(
    ("rest_mv", "condition"), [(1999, "damaged"), (2000, "intact"), (4250, "intact"), (4251, "damaged")]
)
def test_of_a_table_just_the_cells_beyond_an_end_are_rejected(rest_mv: int, condition: str) -> None:
    """NMC is rejected below 2.00 V and above 4.25 V, as one by one; the others of the table stay as they are."""
    read = {Measure.REST_VOLTAGE: Decimal(rest_mv)}
    rows = [stock.CellRow(line=2, code="E1", readings=read), stock.CellRow(line=3, code="E2", readings={})]
    rows.append(stock.CellRow(line=4, code="E3", readings={Measure.REST_VOLTAGE: Decimal(3620)}))
    stock.import_cells(lot=LotFactory(), rows=rows, by=line.technician(), sure=True)
    found = dict(models.Cell.objects.values_list("code", "condition"))
    assert found == {"E1": condition, "E2": "intact", "E3": "intact"}
