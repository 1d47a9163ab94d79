"""From the counter to an approved quote, and to a declined one, in a real browser. Sums worked out by hand."""

from decimal import Decimal

import pytest

from packs.terms import Place, Role
from shop import models
from tests import line
from tests.factories import CellModelFactory
from tests.journey.bench import Bench
from tests.journey.planning import LOOKED
from tests.pictures import photograph

pytestmark = pytest.mark.browser


@pytest.fixture
def prices(owner: models.User) -> None:
    """66 an hour, 15 % margin, 20 % tax, 2.10 consumables, 4 waste, 25 for the examination."""
    models.Prices.objects.create(**line.PRICES, at=owner.date_joined, by=owner)
    CellModelFactory()


def take_in(bench: Bench) -> models.Job:
    bench.go("/jobs/new/")
    bench.tick(LOOKED)
    bench.fill({"Name": "Ida Moor", "Model": "Garden pump GP-3", "What is wrong with it": "runs five minutes"})
    bench.choose({"What it is used for": "tool"})
    bench.tick("the shop")
    bench.press("Open the job")
    return models.Job.objects.get()


def examine(bench: Bench, job: models.Job) -> None:
    bench.go(f"/jobs/{job.number}/examine/")
    bench.choose({"Cell model": "Round 2.6", "How the cells are joined": "spot-welded strip"})
    bench.fill({"Arrangement": "4s2p"})
    bench.press("Record the pack as found")


def photograph_while_examining(bench: Bench, job: models.Job) -> None:
    """One photograph that can be read and one that is cut short, from a half-filled form that is there again afterwards."""
    bench.go(f"/jobs/{job.number}/examine/")
    bench.fill({"Arrangement": "4s2p"})
    bench.press("Add photographs; what is typed here is kept")
    sent = [("IMG_1.heic", photograph("HEIF")), ("IMG_2.jpg", photograph()[:700])]
    files = [{"name": name, "mimeType": "image/jpeg", "buffer": content} for name, content in sent]
    bench.page.get_by_label("Photographs").set_input_files(files)  # type: ignore[arg-type]
    bench.fill({"What they show": "cells from above"})
    bench.press("Keep them")
    bench.says("1 photograph is kept.", "IMG_2.jpg: This photograph is cut short or damaged.")
    bench.page.wait_for_function("document.querySelector('.photographs img').naturalWidth === 160")
    bench.page.get_by_role("link", name="Examine").first.click()
    assert bench.page.get_by_label("Arrangement").input_value() == "4s2p"


def quote(bench: Bench, job: models.Job) -> None:
    bench.press("Worth it? The quote")
    bench.fill({"Cost of one cell": "3.45", "Minutes of rebuilding": "75", "Minutes of testing": "20"})
    bench.fill({"Expected life, rebuilt": "4", "Price of a new one": "300", "Expected life, new": "4"})
    bench.fill({"Expected capacity": "5000 mAh", "Limits of use": "at most 6 A"})
    bench.choose({"The removed cells are": "taken over by the workshop as waste"})
    bench.press("Work it out")
    bench.says("Recommended: rebuild it", "EUR 47.50 (EUR 190.01 over 4 years), a new one EUR 75.00", "Tax, 20 %")
    bench.press("Issue the quote")
    bench.says("Quote QU0001 is issued.", "waits for the customer")


def test_from_the_counter_to_an_approved_quote(bench: Bench, prices: None) -> None:
    job = take_in(bench)
    photograph_while_examining(bench, job)
    examine(bench, job)
    quote(bench, job)
    bench.go(f"/jobs/{job.number}/")
    bench.says("cells from above")
    bench.go_on(f"/jobs/{job.number}/quote/")
    bench.fill({"Who answered": "Ida Moor"})
    bench.choose({"How": "by telephone"})
    bench.press("Record the approval")
    bench.says("Quote QU0001 is approved.", "Quote QU0001 approved by Ida Moor, by telephone")
    bench.go_on(f"/jobs/{job.number}/target/")
    answered = models.Quote.objects.get()
    assert (answered.recorded_by.username, answered.total) == ("nell", Decimal("190.01"))
    bench.go("/documents/QU0001/")
    bench.says("Protection against water and dust is not restored", "EUR 25.00, with tax, is due for the examination")


def test_from_the_counter_to_a_declined_quote(bench: Bench, prices: None) -> None:
    job = take_in(bench)
    examine(bench, job)
    quote(bench, job)
    bench.fill({"Who answered": "Ida Moor"})
    bench.choose({"How": "said so at the counter"})
    bench.press("Declined: the device goes back")
    bench.says("Quote QU0001 is declined.", "the fee for the examination, EUR 25.00 with tax, is due")
    bench.press("Go to the hand-over")
    bench.fill({"Who takes the device": "Ida Moor"})
    bench.press("Hand the device back")
    bench.says("Say what became of the fee for the examination")
    bench.choose({"The fee for the examination, EUR\xa025.00 with tax, is": "paid"})
    bench.press("Hand the device back")
    job.refresh_from_db()
    assert job.closed_at is not None
    assert set(job.items.values_list("place", flat=True)) == {Place.CUSTOMER.value}
    assert Role.TECHNICIAN in models.User.objects.get(username="nell").roles
