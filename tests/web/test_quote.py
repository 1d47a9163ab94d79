"""The page of a quote: worked out first, then issued; the answer recorded beside it. Sums by hand, the practice without source."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from packs.terms import DocumentKind, JobKind, Owner, Role, Stage
from shop import models
from shop.bridge import strips
from shop.operations import documents
from tests import line
from tests.factories import LotFactory
from tests.web.desk import errors, primary, send, sign_in, value, words

pytestmark = pytest.mark.django_db

OFFER = {
    "arrangement": "4s2p",
    "cell_cost": "3.45",
    "labour_minutes": "75",
    "test_minutes": "20",
    "life_years": "4",
    "stays": "housing, board",
    "removed": "taken_over",
}


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.TARGET)


@pytest.fixture
def bench(client: Client) -> Client:
    sign_in(client, Role.TECHNICIAN)
    return client


def url(job: models.Job, more: str = "") -> str:
    return f"/jobs/{job.number}/quote/{more}"


def offer(bench: Client, job: models.Job, **changed: str) -> Any:
    return send(bench, url(job), **OFFER | {"cell_model": str(job.as_found.cell_model_id)} | changed)


def test_without_prices_the_page_says_who_states_them(bench: Client, job: models.Job) -> None:
    assert primary(bench.get(url(job))) == ["Go to the settings"]


def test_the_pack_and_the_cost_of_a_cell_are_put_in(bench: Client, job: models.Job) -> None:
    line.state_prices()
    LotFactory(code="L7", unit_cost="3.4500", cell_model=job.as_found.cell_model)
    answer = bench.get(url(job))
    assert (value(answer, "arrangement"), value(answer, "cell_cost")) == ("4s2p", "3.45")
    assert primary(answer) == ["Work it out"]


def test_strip_and_wire_are_put_in_by_the_cut_list_of_the_stated_pack(bench: Client) -> None:
    """What the page of the target says is to be cut, and two leads of 0.25 m."""
    job = line.job_at(Stage.MATCH)
    line.state_prices(strip_metre=Decimal("2.10"), wire_metre=Decimal("1.50"))
    job.plans.update(lead_length_um=250_000)
    total = strips.cutting(job.plans.get()).total_length.to("m").magnitude
    shown = bench.get(url(job))
    typed = float(value(shown, "strip_um").replace("\u202f", " ").split()[0])
    assert typed == pytest.approx(total * (1000 if "mm" in value(shown, "strip_um") else 1), rel=1e-4)
    assert value(shown, "wire_um").replace("\u202f", " ") == "0.5"
    assert "Strip costs EUR 2.10 a metre, wire EUR 1.50" in words(shown)


def test_before_a_target_is_stated_strip_is_reckoned_for_the_pack_as_found(bench: Client, job: models.Job) -> None:
    """The line's target is the same pack with strip 8 mm wide: what it says to cut is what was put in before."""
    line.state_prices()
    before = value(bench.get(url(job)), "strip_um")
    line.state_target(job)
    assert before
    assert value(bench.get(url(job)), "strip_um") == before
    bolted = line.job_at(Stage.TARGET)
    models.PackAsFound.objects.filter(job=bolted).update(joint_method="bolted")
    assert value(bench.get(url(bolted)), "strip_um") == ""


def test_what_was_agreed_on_the_removed_cells_is_not_asked_again(bench: Client) -> None:
    job = line.job_at(Stage.TARGET, removed_owner=Owner.CUSTOMER)
    line.state_prices()
    assert "handed back to the customer, as agreed at the counter" in words(bench.get(url(job)))
    offer(bench, job)
    assert job.quotes.get().removed == "returned"


def test_where_quotes_are_needed_the_job_names_the_quote_first(bench: Client) -> None:
    job = line.job_at(Stage.MATCH)
    assert primary(bench.get(f"/jobs/{job.number}/")) == ["Match the cells"]
    line.state_prices(quotes_needed=True)
    sheet = bench.get(f"/jobs/{job.number}/")
    assert primary(sheet) == ["Go to the quote"]
    assert "Quote it first This shop reserves no cells without an approved quote." in words(sheet)
    assert "This shop reserves no cells without an approved quote." in words(bench.get(f"/jobs/{job.number}/match/"))


def told_in_the_list(bench: Client, job: models.Job) -> str:
    """What the list of jobs says comes next on a job."""
    return {row.code: action.label for row, action in bench.get("/").context["jobs"]}[job.code]


def test_the_list_of_jobs_says_what_is_due_and_not_the_step_that_waits_for_it(bench: Client) -> None:
    job = line.job_at(Stage.MATCH)
    assert told_in_the_list(bench, job) == "Match cells from stock"
    line.state_prices(quotes_needed=True)
    assert told_in_the_list(bench, job) == "Quote it first"
    line.quote(job)
    assert told_in_the_list(bench, job) == "Record the answer to quote QU0001"
    send(bench, url(job, "answer/"), answer="approved", heard="signed", name="Ida Moor")
    assert told_in_the_list(bench, job) == "Match cells from stock"
    job.plans.update(parallel=3)
    assert told_in_the_list(bench, job) == "Quote it anew"
    job.plans.update(parallel=2)
    line.accept(job)
    assert told_in_the_list(bench, job) == "Print the job card"
    documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician())
    assert told_in_the_list(bench, job) == "Take the old pack apart"


def test_an_approved_repair_of_a_group_is_matched_and_not_quoted_again(bench: Client) -> None:
    job = line.job_at(Stage.TARGET, kind=JobKind.GROUP_REPAIR)
    line.quote(job, replaced=line.REPLACED, stays="the other groups")
    send(bench, url(job, "answer/"), answer="approved", heard="signed", name="Ida Moor")
    line.on(job, Stage.MATCH)
    assert told_in_the_list(bench, job) == "Match cells from stock"
    assert primary(bench.get(f"/jobs/{job.number}/")) == ["Match the cells"]
    assert "Go to the quote" not in words(bench.get(f"/jobs/{job.number}/match/"))


def test_it_is_worked_out_before_it_is_issued(bench: Client, job: models.Job) -> None:
    line.state_prices()
    looked = offer(bench, job, work_out="1", replacement_price="300", replacement_years="4")
    said = words(looked)
    assert "Recommended: rebuild it" in said
    assert "costs EUR 47.50 (EUR 190.01 over 4 years), a new one EUR 75.00 (EUR 300.00 over 4 years)" in said
    assert "Tax, 20 %" in said
    assert "EUR 190.01" in said
    assert primary(looked) == ["Issue the quote"]
    assert not models.Quote.objects.exists()
    issued = offer(bench, job)
    assert (issued.status_code, issued["Location"]) == (302, url(job))
    page = bench.get(url(job))
    assert primary(page) == ["Record the approval"]
    document = models.IssuedDocument.objects.get()
    assert document.code == "QU0001"
    assert document.pdf_sha256
    assert "Rebuilding: EUR 94.88" in words(page)


def test_a_risk_is_said_however_cheap_the_rebuild(bench: Client, job: models.Job) -> None:
    line.state_prices()
    looked = offer(bench, job, work_out="1", risks="potted", replacement_price="900", replacement_years="1")
    assert "Recommended: buy a new one" in words(looked)
    assert "cannot be opened without harming cells: this alone speaks against it" in words(looked)


@pytest.mark.parametrize(
    ("field", "typed"),
    [("cell_cost", "3,45 EUR"), ("life_years", "0"), ("cell_cost", "-3"), ("replacement_price", "90")],
)
def test_what_cannot_be_stands_beside_its_field(bench: Client, job: models.Job, field: str, typed: str) -> None:
    line.state_prices()
    refused = offer(bench, job, **{field: typed})
    assert list(errors(refused)) == ["replacement_years" if field == "replacement_price" else field]
    assert value(refused, field) == typed
    assert not models.Quote.objects.exists()


def test_a_price_of_a_new_one_asks_for_its_life_before_anything_is_recommended(bench: Client, job: models.Job) -> None:
    line.state_prices()
    looked = offer(bench, job, work_out="1", replacement_price="150", expected_capacity_mah="99999 mAh")
    assert set(errors(looked)) == {"expected_capacity_mah", "replacement_years"}
    assert "Recommended" not in words(looked)


def test_the_sheet_of_a_job_asks_for_the_answer_and_the_counter_may_give_it(bench: Client, job: models.Job) -> None:
    line.quote(job)
    sign_in(bench, Role.COUNTER)
    sheet = bench.get(f"/jobs/{job.number}/")
    assert primary(sheet) == ["Go to the quote"]
    assert list(errors(send(bench, url(job, "answer/"), answer="approved", heard="signed"))) == ["name"]
    send(bench, url(job, "answer/"), answer="approved", heard="signed", name="Ida Moor")
    told = words(bench.get(url(job)))
    assert "approved Ida Moor, signed on paper" in told
    assert "recorded by Counter" in told
    after = bench.get(f"/jobs/{job.number}/")
    assert "Quote QU0001 approved by Ida Moor, signed on paper" in words(after)
    told = [(part["label"], part["state"]) for part in after.context["story"]][1:4]
    assert told == [("Examine", "done"), ("Quote QU0001", "done"), ("State the target pack", "now")]
    assert "for EUR 190.01 with tax; recommended: rebuild it. Approved, by Ida Moor, signed on paper." in words(after)


def test_prices_have_a_history(client: Client) -> None:
    line.job_at(Stage.EXAMINE)
    sign_in(client, Role.OWNER)
    typed = {"labour_rate": "66", "margin_percent": "15", "tax_percent": "20", "consumables": "2.10"}
    typed |= {"strip_metre": "2.10", "wire_metre": "0", "waste_fee": "4", "examination_fee": "25", "valid_days": "14"}
    assert send(client, "/settings/prices/", **typed).status_code == 302
    assert send(client, "/settings/prices/", **typed | {"labour_rate": "70"}).status_code == 302
    said = words(client.get("/settings/prices/"))
    assert "strip EUR 2.10 a metre" in said
    assert said.index("Labour EUR 70.00 an hour") < said.index("Labour EUR 66.00 an hour")
    assert value(client.get("/settings/prices/"), "labour_rate") == "70"
    assert list(errors(send(client, "/settings/prices/", **typed | {"tax_percent": "101"}))) == ["tax_percent"]
