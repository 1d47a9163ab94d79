"""Recall: every pack and customer that a lot, a cell, a welder or a meter touched, two clicks away, and the way back."""

import csv
import io
import re
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client

from packs.terms import CellEnd, Measure, Peeled, Role, Specimen, Stage
from shop import models
from shop.bridge import rules
from shop.operations import breached, rebuild, stock, welding
from tests import line
from tests.factories import CellFactory, CustomerFactory
from tests.operations import calls
from tests.web.desk import sign_in, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(client: Client) -> models.Job:
    """A pack of eight cells of one lot that was handed over to Ida Moor."""
    sign_in(client, Role.COUNTER)
    done = line.handed_over()
    models.Customer.objects.filter(name="Ida Moor").update(phone="0170 555 01", email="ida@example.org")
    return done


def lot() -> models.Lot:
    return models.Cell.objects.get(code="S001").lot


def click(client: Client, page: str, label: str) -> str:
    """Return where a link on a page leads."""
    html = client.get(page).content.decode()
    (address,) = re.findall(rf'href="([^"]+)"[^>]*>[^<]*(?:<[^>]+>)*{re.escape(label)}', html)
    return unescape(address)


def listed(client: Client, page: str) -> list[dict[str, str]]:
    """Return the rows of the list that a page offers."""
    text = client.get(click(client, page, "List to recall by")).content.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text)))


def test_one_click_from_the_lot_to_its_customers_and_one_more_to_the_list(client: Client, job: models.Job) -> None:
    here = click(client, f"/stock/lots/{lot().code}/", "Packs and customers it went to")
    told = words(client.get(here))
    assert "1 pack of 1 customer" in told
    assert f"{job.code} Ida Moor 0170 555 01 ida@example.org" in told
    (row,) = listed(client, here)
    assert row["job"] == job.code
    assert (row["customer"], row["phone"], row["email"]) == ("Ida Moor", "0170 555 01", "ida@example.org")
    assert (row["where"], row["why"], row["inside"]) == ("with the customer", "8 cells placed in it", "8")
    assert row["closed_at"] == job.closed_at.date().isoformat()


def test_one_click_from_the_welder_to_its_customers(client: Client, job: models.Job) -> None:
    here = click(client, "/recall/", line.WELD.machine)
    assert f"{job.code} Ida Moor" in words(client.get(here))
    assert [row["job"] for row in listed(client, here)] == [job.code]


def test_a_machine_is_asked_for_with_one_setting_or_with_all(client: Client, job: models.Job) -> None:
    machine = line.WELD.machine
    setting = str(line.WELD).removeprefix(f"{machine}, ")
    for asked, packs in (({}, 1), ({"setting": setting}, 1), ({"setting": "another, pulse 9"}, 0)):
        answer = client.get("/recall/of/", {"welder": machine} | asked)
        assert answer.context["page"].paginator.count == packs, asked
    spelled = client.get("/recall/of/", {"welder": f"  {machine.upper()}"})
    assert spelled.context["page"].paginator.count == 1, "a recall misses no pack for the way a name was typed"
    assert client.get("/recall/of/", {"welder": machine[:-1]}).context["page"].paginator.count == 0


def test_a_machine_and_its_setting_are_told_apart_whatever_commas_they_have(client: Client) -> None:
    sign_in(client, Role.COUNTER)
    job = line.job_at(Stage.JOIN)
    weld = rules.Weld(machine="bench welder, left", schedule="two pulses, ms", pulse=Decimal(14))
    at_both = dict.fromkeys(CellEnd, Peeled.HELD)
    welding.record_samples(job=job, weld=weld, specimen=Specimen.SCRAP_CAN, peeled=at_both, by=line.technician())
    given = {"strips": calls.STRIPS, "second_look": True, "second_look_by": "Jon Adler", "weld": weld}
    rebuild.join(job=job, by=line.technician(), **given)
    assert client.get("/recall/").context["welders"][0][:3] == ("bench welder, left", "two pulses, ms, pulse 14", 1)
    assert f"{job.code} Ida Moor" in words(client.get(click(client, "/recall/", "bench welder, left")))


def test_a_meter_leads_to_packs_it_read_and_to_packs_of_cells_it_read(client: Client, job: models.Job) -> None:
    meter = models.Instrument.objects.create(name="bench meter 7")
    cell = CellFactory(code="X9")
    stock.record_reading(cell=cell, measure=Measure.CAPACITY, value=2500, instrument=meter, by=line.technician())
    here = f"/recall/of/?meter={meter.pk}"
    assert client.get(here).context["page"].paginator.count == 0
    models.Reading.objects.create(
        cell=models.Cell.objects.get(code="S001"), measure="capacity_mah", value=2500, instrument=meter,
        measured_at=job.opened_at, by=line.technician(),
    )  # fmt: skip
    assert [row["why"] for row in listed(client, here)] == ["1 cell in it measured"]


def test_the_way_back_names_lots_welders_and_meters(client: Client, job: models.Job) -> None:
    told = words(client.get(click(client, f"/jobs/{job.number}/", "What went in")))
    assert f"{lot()} 8 cells" in told
    assert str(line.WELD).split(", ")[0] in told


@pytest.mark.parametrize("typed", ["S001", "s001"])
def test_a_code_on_a_label_is_found(client: Client, job: models.Job, typed: str) -> None:
    assert client.get("/recall/", {"q": typed}).url == "/recall/of/?cell=S001"
    assert client.get("/recall/", {"q": job.code}).url == f"/recall/packs/{job.number}/"
    assert client.get("/recall/", {"q": lot().code.lower()}).url == f"/recall/of/?lot={lot().code}"
    assert "is called “X-1”" in words(client.get("/recall/", {"q": "X-1"}))


def test_a_cell_that_was_taken_out_again_is_told_with_the_pack_it_was_in(client: Client) -> None:
    """It may have harmed the pack all the same; the list says that it is not in it any more."""
    sign_in(client, Role.TECHNICIAN)
    job = line.job_at(Stage.LADDER)
    CellFactory(code="X1")
    breached.replace_breached(
        job=job, code="S001", instead="X1", happened="slipped", isolated=True, by=line.technician()
    )
    (row,) = listed(client, "/recall/of/?cell=S001")
    assert (row["job"], row["where"], row["inside"]) == (job.code, "in the shop", "0")
    assert "Cells that are in no pack 1 bench" in words(client.get("/recall/of/?cell=S001"))


def test_a_name_that_looks_like_a_formula_stays_a_name(client: Client, job: models.Job) -> None:
    models.Customer.objects.filter(name="Ida Moor").update(name='=HYPERLINK("x")')
    assert listed(client, f"/recall/of/?lot={lot().code}")[0]["customer"] == '\'=HYPERLINK("x")'


def test_nothing_asked_for_is_no_page(client: Client) -> None:
    sign_in(client, Role.COUNTER)
    CustomerFactory()
    for asked in ("", "?lot=none", "?cell=none", "?meter=9", "?meter=x"):
        assert client.get(f"/recall/of/{asked}").status_code == 404
