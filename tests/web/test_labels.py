"""The page of labels: a lot, some codes, one label again; what cannot be printed is said beside its field."""

from io import BytesIO

import pytest
from django.test import Client
from pypdf import PdfReader

from packs.terms import Role
from tests.factories import CellFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(client: Client) -> Client:
    SettingsFactory()
    client.force_login(UserFactory(username="technician", roles=(Role.TECHNICIAN,)))
    for number in range(3):
        CellFactory(code=f"K{number}", readings={})
    return client


def sent(bench: Client, **typed: str) -> list[str]:
    answer = bench.post("/stock/labels/", {"sheet": "a4_65", "first": "1", **typed})
    assert answer["Content-Type"] == "application/pdf", answer.context["form"].errors
    return [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]


def refused(bench: Client, field: str, **typed: str) -> str:
    answer = bench.post("/stock/labels/", {"sheet": "a4_65", "first": "1", **typed})
    assert answer.status_code == 200
    return str(answer.context["form"].errors[field])


def test_a_lot_is_printed_and_one_label_again(bench: Client) -> None:
    (page,) = sent(bench, lot="L1")
    assert [line for line in page.splitlines() if line.startswith("K")] == ["K0", "K1", "K2"]
    assert "Round 2.6" in page
    (again,) = sent(bench, codes="K1")
    assert "K1" in again
    assert "K2" not in again


def test_what_it_was_printed_on_is_proposed_the_next_time(bench: Client) -> None:
    assert len(sent(bench, lot="L1", sheet="roll", width_um="40 mm", height_um="20")) == 3
    form = bench.get("/stock/labels/?lot=L1").context["form"]
    assert [form[name].value() for name in ("lot", "sheet", "width_um")] == ["L1", "roll", "40 mm"]


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({}, "codes", "Choose a lot"),
        ({"codes": "K1\nK9"}, "codes", "K9"),
        ({"codes": "K1", "first": "66"}, "first", "65 labels"),
        ({"codes": "K1", "first": "0"}, "first", "1"),
        ({"codes": "K1", "sheet": "roll", "width_um": "40"}, "height_um", "how large"),
        ({"codes": "K1", "sheet": "roll", "width_um": "9.9", "height_um": "20"}, "width_um", "cannot be right"),
    ],
)
def test_what_is_refused_beside_its_field(bench: Client, typed: dict[str, str], field: str, says: str) -> None:
    assert says in refused(bench, field, **typed)


def test_a_code_the_labels_cannot_write_is_named(bench: Client) -> None:
    CellFactory(code="10号", readings={})
    assert "10号" in refused(bench, "codes", codes="10号")
