"""On a telephone: every list of readings becomes one block a row, each number under its own word."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from packs.terms import Stage
from shop import models
from tests import line
from tests.factories import SettingsFactory

pytestmark = pytest.mark.django_db
TABLE = re.compile(r'<table class="([^"]*)"')
NUMBER = re.compile(r'<td class="number[^"]*"([^>]*)>')


@pytest.fixture
def bench(client: Client) -> Client:
    SettingsFactory()
    client.force_login(line.technician())
    return client


@pytest.fixture
def tested() -> models.Job:
    job = line.job_at(Stage.REMOVED)
    models.Instrument.objects.create(name="Bench meter 1")
    return job


def test_readings_and_removed_cells_stack(bench: Client, tested: models.Job) -> None:
    for address in (
        f"/jobs/{tested.number}/steps/first_charge/",
        f"/jobs/{tested.number}/steps/final_test/",
        f"/jobs/{tested.number}/examine/",
        f"/jobs/{tested.number}/removed/",
    ):
        page = bench.get(address).content.decode()
        tables = TABLE.findall(page)
        assert tables, address
        assert all("list-stacks" in classes for classes in tables), address
        assert not re.search(r">\s*,", page), f"{address}: a line would begin with a comma"


def test_a_paper_names_its_numbers_where_the_headings_are_gone(bench: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    report = job.documents.get(kind="test_report")
    page = bench.get(reverse("document", args=[report.code])).content.decode()
    (cells,) = re.findall(r'<table class="list list-stacks">.*?</table>', page, re.DOTALL)
    assert NUMBER.findall(cells)
    assert all("data-label" in attributes for attributes in NUMBER.findall(cells))
