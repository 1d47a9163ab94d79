"""The stock: found, read, corrected, and told where it has been."""

import re
import uuid
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import strip_tags

from packs.terms import Measure, Owner, Place, Role, Stage
from shop import models
from shop.operations import disposal, giving_up, stock
from shop.templatetags.shop import day_or_moment
from tests import line
from tests.factories import (
    MORNING,
    CellFactory,
    CellModelFactory,
    CustomerFactory,
    LotFactory,
    SettingsFactory,
    UserFactory,
)
from tests.web.desk import errors, send

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(client: Client) -> Client:
    SettingsFactory()
    client.force_login(line.technician())
    return client


@pytest.fixture
def counter(client: Client) -> Client:
    SettingsFactory()
    client.force_login(UserFactory(username="front", roles=(Role.COUNTER,)))
    return client


def words(answer: Any) -> str:
    assert answer.status_code == 200
    text = answer.content.decode().replace("<td", " <td").replace("<span", " <span").replace("<dd", " <dd")
    return " ".join(unescape(strip_tags(text)).split())


def codes(answer: Any) -> list[str]:
    return [one.cell.code for one in answer.context["lines"]]


def sent(**typed: Any) -> dict[str, Any]:
    return {"form_token": str(uuid.uuid4())} | typed


def test_a_correction_is_dated_by_the_measurement_and_says_when_it_was_written(bench: Client) -> None:
    """Measured on 24 Nov by one, put right on 29 Nov by another; a day alone is told without a time."""
    reading = CellFactory(code="A1", readings={Measure.CAPACITY: 254}).readings.get()
    tom = UserFactory(username="tom")
    stock.correct_reading(
        reading=reading, value=Decimal(2540), reason="digits", by=tom, now=MORNING + timedelta(days=5)
    )
    page = words(bench.get("/stock/cells/A1/"))
    assert "This is the corrected value, written 29 Nov 2026, 08:00 by Tom." in page
    assert "24 Nov 2026, 08:00, Technician" in page
    assert "08:00, Tom" not in page
    assert day_or_moment(datetime(2026, 11, 25, tzinfo=UTC)) == "25 Nov 2026"


def test_a_grade_stands_with_its_reasons_and_the_way_to_what_it_misses(bench: Client) -> None:
    cell = CellFactory(code="A1", readings={Measure.CAPACITY: 2543, Measure.REST_VOLTAGE: 3612})
    page = words(bench.get("/stock/cells/A1/"))
    assert "not tested enough by version 0 of the shop's criteria" in page
    assert "The DC resistance is not on record" in page
    assert f"/stock/models/{cell.lot.cell_model_id}/new-cell/" in bench.get("/stock/cells/A1/").content.decode()


class TestList:
    def test_an_empty_stock_says_what_it_will_hold(self, bench: Client) -> None:
        page = words(bench.get("/stock/"))
        assert "No cell is in stock yet" in page
        assert "Import tested cells" in page

    def test_a_cell_stands_with_its_figures(self, bench: Client) -> None:
        CellFactory(
            code="A1",
            readings={Measure.CAPACITY: 2543, Measure.DC_RESISTANCE: 21_430, Measure.REST_VOLTAGE: 3612},
        )
        assert "A1 Round 2.6 L1 2543 mAh 21.4 mΩ 3.612 V not tested enough free" in words(bench.get("/stock/"))

    def test_what_was_not_measured_is_said(self, bench: Client) -> None:
        CellFactory(code="A1", readings={})
        assert "A1 Round 2.6 L1 not known not known not known not tested enough to be tested" in words(
            bench.get("/stock/")
        )

    def test_a_cell_of_a_held_lot_is_not_called_free(self, bench: Client) -> None:
        CellFactory(code="A1", lot=LotFactory(code="L3", held_why="mass 40 g"))
        page = words(bench.get("/stock/"))
        assert "held with its lot" in page
        assert " free" not in page

    def test_a_reserved_cell_names_its_job(self, bench: Client) -> None:
        job = line.job_at(Stage.DISMANTLE)
        CellFactory(code="FREE")
        page = words(bench.get("/stock/"))
        assert page.count(f"reserved {job.code}") == 8
        assert page.count(" free") == 1

    def test_a_customers_cell_is_not_called_free(self, bench: Client) -> None:
        CellFactory(lot=LotFactory(code="K1", owner=Owner.CUSTOMER.value, customer=CustomerFactory()))
        page = words(bench.get("/stock/"))
        assert "the customer's" in page
        assert " free" not in page

    @pytest.mark.parametrize(("asked", "found"), [("a-1", ["A-1"]), ("LOT9", ["B-1"]), ("slim", ["B-1"]), ("x", [])])
    def test_search_by_code_lot_or_model(self, bench: Client, asked: str, found: list[str]) -> None:
        CellFactory(code="A-1")
        CellFactory(code="B-1", lot=LotFactory(code="LOT9", cell_model=CellModelFactory(name="Slim 3")))
        assert codes(bench.get("/stock/", {"q": asked})) == found

    def test_a_null_in_a_search_is_nothing(self, bench: Client) -> None:
        CellFactory(code="A1")
        assert codes(bench.get("/stock/", {"q": "A\0"})) == ["A1"]

    def test_cells_that_left_are_found_when_asked_for(self, bench: Client) -> None:
        CellFactory(code="GONE", place=Place.QUARANTINE.value)
        assert codes(bench.get("/stock/", {"show": "all"})) == ["GONE"]
        assert "quarantine" in words(bench.get("/stock/", {"show": "all"}))
        assert "GONE" not in words(bench.get("/stock/"))

    def test_fifty_cells_to_a_page(self, bench: Client) -> None:
        for number in range(51):
            CellFactory(code=f"A{number:03d}")
        assert len(codes(bench.get("/stock/"))) == 50
        assert codes(bench.get("/stock/", {"page": 2})) == ["A050"]

    def test_the_counter_sees_the_stock_and_adds_nothing(self, counter: Client) -> None:
        CellFactory(code="A1")
        assert "Import" not in words(counter.get("/stock/"))
        assert "Add the reading" not in words(counter.get("/stock/cells/A1/"))
        for address in ("models/new/", "lots/new/", "import/"):
            assert counter.get(f"/stock/{address}").status_code == 403


@pytest.mark.parametrize("address", ["/stock/", "/stock/lots/L1/", "/stock/cells/A0/", "/stock/models/"])
def test_three_times_the_rows_take_as_many_queries(bench: Client, address: str) -> None:
    job = line.job_at(Stage.DISMANTLE)
    plan = job.plans.get()

    def more(first: int, last: int) -> None:
        for number in range(first, last):
            cell = CellFactory(code=f"A{number}")
            models.PlanPosition.objects.create(plan=plan, group=9, place=number + 1, cell=cell)
            LotFactory(code=f"L{number + 2}", cell_model=CellModelFactory(name=f"Model {number}"))
        cell = models.Cell.objects.get(code="A0")
        for _ in range(first, last):
            models.Reading.objects.create(
                cell=cell, measure="capacity_mah", value=1, measured_at=job.opened_at, by=line.technician(), job=job
            )
            models.Movement.objects.create(
                cell=cell, from_place="stock", to_place="stock", at=job.opened_at, by=line.technician(), job=job
            )

    counts = []
    for first, last in ((0, 4), (4, 12)):
        more(first, last)
        bench.get(address)
        with CaptureQueriesContext(connection) as queries:
            bench.get(address)
        counts.append(len(queries))
    assert counts[0] == counts[1]


class TestCell:
    def test_the_history_strikes_through_what_was_corrected(self, bench: Client) -> None:
        cell = CellFactory(code="A1", readings={Measure.DC_RESISTANCE: 214_000})
        reading = cell.readings.get()
        page = bench.get(f"/stock/readings/{reading.pk}/correct/")
        assert "Correct the DC resistance" in words(page)
        answer = bench.post(f"/stock/readings/{reading.pk}/correct/", sent(value="21,4 mΩ", reason="unit mistyped"))
        assert answer["Location"] == "/stock/cells/A1/"
        page = bench.get("/stock/cells/A1/")
        old = '<s class="corrected"><span class="qty"><span class="num">214.0</span>'
        assert old in page.content.decode()
        assert "Corrected by Technician: unit mistyped" in words(page)
        assert "21.4 mΩ DC resistance" in words(page)
        assert page.content.decode().count("/correct/") == 1, "only the value that stands can be corrected"

    def test_who_measured_stays_who_measured(self, bench: Client) -> None:
        reading = CellFactory(code="A1", readings={Measure.DC_RESISTANCE: 214_000}).readings.get()
        lead = line.lead()
        correct = {"value": Decimal(21_400), "reason": "unit mistyped", "by": lead}
        corrected = stock.correct_reading(reading=reading, **correct)
        assert corrected.measured_by == reading.by
        told = words(bench.get(f"/stock/cells/{reading.cell.code}/"))
        assert re.search(rf"corrected value, written .{{10,30}} by {lead}\.", told)
        assert re.search(rf"\d\d:\d\d, {reading.by}", told)

    def test_what_was_read_before_a_cell_came_back_is_said_to_tell_nothing(self, bench: Client) -> None:
        job = line.job_at(Stage.MEASURE)
        giving_up.give_up(job=job, reason="it fell", by=line.technician())
        cell = models.Cell.objects.get(code="S001")
        disposal.to_stock(job=job, cells=[cell], by=line.technician())
        page = words(bench.get("/stock/cells/S001/"))
        assert "was read before the cell came back" in page
        assert "from before" in page
        assert "Without a rest voltage it" not in page

    @pytest.mark.parametrize(
        ("typed", "field"),
        [
            ({"value": "21.4 mΩ", "reason": ""}, "reason"),
            ({"value": "", "reason": "x"}, "value"),
            ({"value": "0", "reason": "x"}, "value"),
            ({"value": "3.6 V", "reason": "x"}, "value"),
        ],
    )
    def test_a_correction_needs_a_value_and_a_reason(self, bench: Client, typed: dict[str, str], field: str) -> None:
        reading = CellFactory(readings={Measure.DC_RESISTANCE: 214_000}).readings.get()
        answer = bench.post(f"/stock/readings/{reading.pk}/correct/", sent(**typed))
        assert list(answer.context["form"].errors) == [field]
        assert models.Reading.objects.count() == 1

    def test_a_reading_corrected_by_somebody_else_is_told(self, bench: Client) -> None:
        reading = CellFactory(readings={Measure.DC_RESISTANCE: 214_000}).readings.get()
        address = f"/stock/readings/{reading.pk}/correct/"
        bench.post(address, sent(value="21.4", reason="unit mistyped"))
        assert "corrected already" in words(bench.post(address, sent(value="22", reason="unit mistyped")))
        assert models.Reading.objects.count() == 2

    @pytest.mark.parametrize(
        ("measure", "typed", "stored"),
        [
            ("capacity_mah", "2.54 Ah", 2540),
            ("rest_voltage_mv", "3,62", 3620),
            ("ac_resistance_uohm", "18.25 mohm", 18_250),
            ("self_discharge_uv_per_day", "-0.7", -700),
            ("mass_mg", "46.2 g", 46_200),
        ],
    )
    def test_a_reading_is_added(self, bench: Client, measure: str, typed: str, stored: int) -> None:
        CellFactory(code="A1", readings={})
        answer = bench.post("/stock/cells/A1/", sent(measure=measure, value=typed, conditions="at 23 °C"))
        assert answer.status_code == 302, answer.context["form"].errors
        reading = models.Reading.objects.get()
        assert (reading.measure, reading.value, reading.conditions) == (measure, stored, "at 23 °C")

    @pytest.mark.parametrize(
        ("measure", "typed", "field"),
        [
            ("capacity_mah", "3.6 V", "value"),
            ("capacity_mah", "-1", "value"),
            ("rest_voltage_mv", "36.2 V", "value"),
            ("rest_voltage_mv", "", "value"),
            ("dc_resistance_uohm", "21.4 mΩ", "method"),
            ("temperature_mdegc", "23", "measure"),
        ],
    )
    def test_a_reading_that_cannot_be_is_refused(self, bench: Client, measure: str, typed: str, field: str) -> None:
        CellFactory(code="A1", readings={})
        answer = bench.post("/stock/cells/A1/", sent(measure=measure, value=typed))
        assert field in answer.context["form"].errors
        assert not models.Reading.objects.exists()

    def test_a_resistance_with_a_comma_says_how_it_was_read(self, bench: Client) -> None:
        CellFactory(code="A1", readings={})
        typed = {"measure": "dc_resistance_uohm", "value": "24,950 mΩ", "method": "DC pulse 10 s"}
        asked = bench.post("/stock/cells/A1/", sent(**typed))
        assert "24950 mΩ is far from what any cell rated at 2600 mAh has. Did you mean 24.95 mΩ" in words(asked)
        assert "It is true: take it as it stands" in words(asked)
        assert not models.Reading.objects.exists()
        answer = bench.post("/stock/cells/A1/", sent(**typed, sure="on"), follow=True)
        assert models.Reading.objects.get().value == 24_950_000
        told = "“24,950 mΩ” was read as 24950 mΩ, not 24.950 mΩ: this shop writes numbers as 1,234.5."
        assert told in [str(message) for message in answer.context["messages"]]
        refused = bench.post("/stock/cells/A1/", sent(measure="rest_voltage_mv", value="3,612"))
        assert (
            "Read as 3612 V: this shop writes numbers as 1,234.5. Did you mean 3.612 V?"
            in refused.context["form"].errors["value"]
        )

    def test_nobody_writes_readings_without_the_role(self, counter: Client) -> None:
        CellFactory(code="A1", readings={})
        answer = counter.post("/stock/cells/A1/", sent(measure="capacity_mah", value="2540"))
        assert (answer.status_code, "technician, lead, owner" in answer.content.decode()) == (403, True)
        assert not models.Reading.objects.exists()

    def test_it_says_where_it_has_been(self, bench: Client) -> None:
        job = line.job_at(Stage.MEASURE)
        page = words(bench.get("/stock/cells/S001/"))
        assert f"in a pack {job.code}" in page
        assert f"In a pack stock {job.code}" in page
        assert "Stock came in" in page

    @pytest.mark.parametrize("code", ["A/12", "Ä 1", "50%", "a?b#c"])
    def test_any_code_has_a_page(self, bench: Client, code: str) -> None:
        CellFactory(code=code)
        page = bench.get("/stock/")
        address = page.content.decode().split('<th scope="row"><a class="code" href="')[1].split('"')[0]
        assert bench.get(address).context["cell"].code == code


MODEL = {
    "name": "Round 3.0",
    "chemistry": "nmc",
    "cell_format": "round",
    "terminals": "opposite_ends",
    "rated_capacity_mah": "3 Ah",
    "nominal_voltage_mv": "3.6",
    "charge_limit_mv": "4,2 V",
    "end_of_discharge_mv": "2500 mV",
    "max_discharge_current_ma": "15",
    "diameter_um": "18.3",
    "mass_mg": "47.5 g",
}


class TestModelsAndLots:
    def test_a_model_is_added_as_its_sheet_has_it(self, bench: Client) -> None:
        answer = bench.post("/stock/models/new/", sent(**MODEL))
        assert answer["Location"] == "/stock/models/"
        model = models.CellModel.objects.get()
        assert (model.rated_capacity_mah, model.charge_limit_mv, model.end_of_discharge_mv) == (3000, 4200, 2500)
        assert (model.max_discharge_current_ma, model.max_charge_current_ma) == (15_000, None)
        assert (model.diameter_um, model.mass_mg) == (18_300, 47_500)
        assert "Round 3.0" in words(bench.get("/stock/models/"))

    @pytest.mark.parametrize(
        ("changed", "field"),
        [
            ({"end_of_discharge_mv": "3.6 V"}, "end_of_discharge_mv"),
            ({"charge_limit_mv": "3.6 V"}, "charge_limit_mv"),
            ({"charge_limit_mv": "42 V"}, "charge_limit_mv"),
            ({"rated_capacity_mah": "0"}, "rated_capacity_mah"),
            ({"rated_capacity_mah": "3000 mA"}, "rated_capacity_mah"),
            ({"name": ""}, "name"),
            ({"chemistry": ""}, "chemistry"),
        ],
    )
    def test_a_model_that_cannot_be_is_refused_beside_its_field(
        self, bench: Client, changed: dict[str, str], field: str
    ) -> None:
        answer = bench.post("/stock/models/new/", sent(**MODEL | changed))
        assert list(answer.context["form"].errors) == [field]
        assert not models.CellModel.objects.exists()

    def test_a_limit_on_the_wrong_side_says_both_numbers(self, bench: Client) -> None:
        answer = bench.post("/stock/models/new/", sent(**MODEL | {"end_of_discharge_mv": "3.7 V"}))
        (said,) = answer.context["form"].errors["end_of_discharge_mv"]
        assert said.replace("\u202f", " ").startswith("3.700 V is not below the nominal voltage of 3.600 V")
        answer = bench.post("/stock/models/new/", sent(**MODEL | {"charge_limit_mv": "3.5 V"}))
        (said,) = answer.context["form"].errors["charge_limit_mv"]
        assert said.replace("\u202f", " ").startswith("3.500 V is not above the nominal voltage of 3.600 V")

    @pytest.mark.parametrize(
        ("asked", "leads_to"),
        [
            ("/jobs/1/target/", "/jobs/1/target/"),
            ("https://elsewhere.example/", "/stock/models/"),
            ("", "/stock/models/"),
        ],
    )
    def test_it_leads_back_to_where_the_model_was_missing(self, bench: Client, asked: str, leads_to: str) -> None:
        answer = bench.post(f"/stock/models/new/?next={asked}", sent(**MODEL))
        assert answer["Location"] == leads_to

    def lot(self, **changed: Any) -> dict[str, Any]:
        given = {"code": "B1", "origin": "bought", "received_on": "2026-01-15", "owner": "shop", "supplier": "Brook"}
        return sent(cell_model=CellModelFactory().pk, **given | changed)

    def test_a_lot_is_added_and_asks_for_its_cells(self, bench: Client) -> None:
        answer = bench.post("/stock/lots/new/", self.lot())
        assert answer["Location"] == "/stock/lots/B1/"
        page = bench.get("/stock/lots/B1/")
        assert "No cell yet" in words(page)
        assert "/stock/import/?lot=B1" in page.content.decode()

    @pytest.mark.parametrize(
        ("changed", "field"),
        [
            ({"owner": "customer"}, "customer"),
            ({"code": "new"}, "code"),
            ({"code": "L1"}, "code"),
            ({"received_on": "2099-01-01"}, "received_on"),
        ],
    )
    def test_a_lot_that_cannot_be_is_refused(self, bench: Client, changed: dict[str, str], field: str) -> None:
        LotFactory(code="L1")
        answer = bench.post("/stock/lots/new/", self.lot(**changed))
        assert list(answer.context["form"].errors) == [field]
        assert models.Lot.objects.count() == 1

    def test_a_named_customer_is_not_lost(self, bench: Client) -> None:
        customer = CustomerFactory()
        answer = bench.post("/stock/lots/new/", self.lot(customer=customer.pk))
        assert list(answer.context["form"].errors) == ["owner"]
        bench.post("/stock/lots/new/", self.lot(customer=customer.pk, owner="customer"))
        assert models.Lot.objects.get().customer == customer

    def test_what_left_a_customers_pack_takes_no_other_cells(self, bench: Client) -> None:
        job = line.job_at(Stage.PLACE)
        lot = models.Lot.objects.get(donor_job=job)
        assert "/stock/import/" not in bench.get(f"/stock/lots/{lot.code}/").content.decode()

    def test_before_any_model_a_lot_asks_for_it(self, bench: Client) -> None:
        assert "First its cell model" in words(bench.get("/stock/lots/new/"))


class TestOneCellByHand:
    def test_it_stands_in_stock_and_is_to_be_tested(self, bench: Client) -> None:
        LotFactory(code="L9")
        answer = send(bench, "/stock/new-cell/?lot=L9", lot="L9", code="H1")
        assert answer["Location"] == "/stock/cells/H1/#add"
        assert "to be tested" in words(bench.get("/stock/cells/H1/"))

    def test_what_cannot_come_in_is_said_beside_the_code(self, bench: Client) -> None:
        CellFactory(code="H1", lot__code="L9")
        assert errors(send(bench, "/stock/new-cell/", lot="L9", code="H1")) == {
            "code": ["Cell H1 is in the book already."]
        }
        assert set(errors(send(bench, "/stock/new-cell/"))) == {"lot", "code"}
        assert models.Cell.objects.count() == 1
