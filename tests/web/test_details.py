"""The page of what else a pack shows: typed as people type it, told again, and nothing typed is lost."""

import pytest
from django.test import Client

from packs.terms import Role, Stage
from shop import models
from tests import line
from tests.factories import CellModelFactory
from tests.web.desk import errors, said, send, sign_in, value, words

pytestmark = pytest.mark.django_db
TYPED = {"opens": "screws", "sealing": "gasket", "ip_code": "IP54", "metal": "yes", "insulation_kohm": "20 MΩ"} | {
    "insulation_test_mv": "250 V",
    "board_overcharge_mv": "4.25",
    "board_undervoltage_mv": "2.8 V",
    "board_current_ma": "20 A",
    "contact_1_kind": "sensor",
    "contact_1_place": "between groups 2 and 3",
    "contact_1_ohm": "10.15 kΩ",
    "contact_1_mdegc": "21",
    "contact_3_kind": "cut_off",
    "contact_3_place": "on group 4",
    "contact_3_open": "on",
}


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.EXAMINE)


@pytest.fixture
def bench(client: Client) -> Client:
    sign_in(client, Role.TECHNICIAN)
    return client


def url(job: models.Job) -> str:
    return f"/jobs/{job.number}/examine/details/"


def test_what_was_typed_is_kept_and_told(bench: Client, job: models.Job) -> None:
    answer = send(bench, url(job), **TYPED)
    assert answer.url == f"/jobs/{job.number}/examine/"
    row = models.PackDetails.objects.get()
    assert (row.insulation_kohm, row.insulation_test_mv, row.board_current_ma) == (20_000, 250_000, 20_000)
    line.examine(job)
    for page in (f"/jobs/{job.number}/examine/", f"/jobs/{job.number}/"):
        told = words(bench.get(page)).replace("\u202f", " ")
        for fact in (
            "Case was shut by screws",
            "Against water a gasket, marked IP54",
            "Insulation to it 20.00 MΩ at 250.00 V",
            "4.250 V a group on charging, 2.800 V a group on discharging, 20.00 A",
            "Temperature sensor, between groups 2 and 3 10.15 kΩ at 21.0 °C",
            "Thermal cut-off, on group 4 open",
        ):
            assert fact in told, (page, fact)


def test_stated_anew_it_begins_with_what_stands(bench: Client, job: models.Job) -> None:
    send(bench, url(job), **TYPED)
    shown = bench.get(url(job))
    assert value(shown, "board_overcharge_mv") == "4.25"
    assert value(shown, "contact_2_place") == "on group 4"
    form = shown.context["form"]
    again = {name: "" if form[name].value() in (None, False) else str(form[name].value()) for name in form.fields}
    send(bench, url(job), **again)
    first, second = models.PackDetails.objects.all()
    for column in ("opens", "ip_code", "metal", "insulation_kohm", "board_overcharge_mv", "contacts"):
        assert getattr(first, column) == getattr(second, column), column


def test_a_metal_case_without_a_measured_insulation_is_said(bench: Client, job: models.Job) -> None:
    answer = send(bench, url(job), opens="glue", sealing="unknown", metal="yes")
    assert any("insulation" in sentence for sentence in said(bench.get(answer.url)))


def test_a_refusal_stands_beside_its_field_and_nothing_is_lost(bench: Client, job: models.Job) -> None:
    """The second line that is filled is the third of the page."""
    both = TYPED | {"contact_3_ohm": "0.1", "ip_code": "54"}
    assert list(errors(send(bench, url(job), **both))) == ["ip_code", "contact_3_ohm"]
    answer = send(bench, url(job), **both | {"ip_code": "IP54"})
    assert list(errors(answer)) == ["contact_3_ohm"]
    assert value(answer, "contact_1_place") == "between groups 2 and 3"
    assert errors(send(bench, url(job), **TYPED | {"contact_3_kind": ""}))["contact_3_kind"] == ["Say what it is."]
    assert not models.PackDetails.objects.exists()


def test_all_that_is_wrong_is_named_in_one_round(bench: Client, job: models.Job) -> None:
    wrong = {
        "ip_code": "IP9",
        "board_undervoltage_mv": "5 V",
        "board_overcharge_mv": "4.2 V",
        "insulation_kohm": "much",
    }
    wrong |= {"contact_1_kind": "sensor", "contact_1_place": "", "contact_2_kind": "", "contact_2_place": "at the plug"}
    named = {"ip_code", "board_undervoltage_mv", "insulation_kohm", "contact_1_place", "contact_2_kind"}
    assert set(errors(send(bench, url(job), **TYPED | wrong))) == named


def test_a_potted_pack_speaks_against_a_rebuild(bench: Client, job: models.Job) -> None:
    """Common practice, no source: one that cannot be opened without harming cells is not opened."""
    send(bench, url(job), opens="potted", sealing="potted", metal="no")
    line.examine(job)
    line.state_prices()
    assert bench.get(f"/jobs/{job.number}/quote/").context["form"]["risks"].value() == ["potted"]


def test_unequal_groups_are_typed_as_counted(bench: Client, job: models.Job) -> None:
    typed = {"arrangement": "4s2p", "cell_model": CellModelFactory().pk, "joint_method": "spot_weld"}
    typed |= {"counts": "2 2 1 x"}
    address = f"/jobs/{job.number}/examine/"
    assert "no count of cells" in errors(send(bench, address, **typed))["counts"][0]
    assert send(bench, address, **typed | {"counts": "2, 2, 1, 2"}).status_code == 302
    assert "4s, 2 + 2 + 1 + 2 cells" in words(bench.get(address))
    assert value(bench.get(f"/jobs/{job.number}/target/"), "arrangement") == "4s2p"
