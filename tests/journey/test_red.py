"""A power bank that swells never comes in: from the counter to a closed disposal."""

import pytest

from shop.models import Item, Job
from shop.selectors import audit
from tests.journey.bench import Bench
from tests.journey.closing import PACK_COVERED, open_container, send
from tests.journey.papers import paper_says
from tests.journey.planning import LOOKED

pytestmark = [pytest.mark.browser, pytest.mark.slow]

JOB = "/jobs/1/"
WH = "37.00 Wh"
"""3.7 V × 10 Ah, from the nameplate."""
NOBODY_KNOWS = "No number can be named while the chemistry is not known."


def test_a_swollen_power_bank_goes_out_as_damaged(bench: Bench, pdftotext: str, pango: None) -> None:
    take_in(bench)
    stays_outside(bench)
    dispose(bench)
    close(bench, pdftotext)
    job = Job.objects.get()
    assert job.closed_at is not None
    assert Item.objects.get().place == "container"
    assert list(audit.differences()) == []


def take_in(bench: Bench) -> None:
    bench.go("/")
    bench.go_on("/jobs/new/")
    bench.tick("swollen or bulging")
    assert "stays outside" in bench.text
    bench.tick(LOOKED)
    bench.fill(
        {"Name": "Odd Strand", "Model": "Pocket bank PB-10", "Rated voltage": "3.7 V", "Rated capacity": "10 Ah"}
    )
    bench.choose({"What it is used for": "power bank"})
    bench.tick("the customer")
    bench.press("Open the job")


def stays_outside(bench: Bench) -> None:
    """No way leads to the bench."""
    bench.go(JOB)
    bench.says("red: stays outside")
    for page in ("examine", "target", "match", "steps/dismantle", "steps/final_test"):
        bench.go(f"{JOB}{page}/")
        assert bench.page.locator("main form").count() == 0, bench.text
    bench.go(JOB)


def dispose(bench: Bench) -> None:
    bench.go(JOB)
    bench.go_on(f"{JOB}removed/")
    open_container(bench, "damaged")
    send(bench, "damaged", "into container W1", insulated=True, confirmed=PACK_COVERED)


def close(bench: Bench, pdftotext: str) -> None:
    bench.go(f"{JOB}hand-over/")
    assert bench.page.get_by_role("button", name="Close the job").count() == 0
    bench.go_on("/documents/DN0001/")
    paper_says(
        bench, "DN0001", pdftotext, "Pocket bank PB-10", WH, "container W1", "Damaged or defective", NOBODY_KNOWS
    )
    bench.go(f"{JOB}hand-over/")
    bench.press("Close the job")
    bench.says("closed")
