"""The old pack comes apart and the new cells find their positions."""

from decimal import Decimal

import pytest
from django.test import Client

from packs.terms import Measure, Role, Stage
from shop import models
from tests import line, rows
from tests.factories import SettingsFactory
from tests.web.desk import at, errors, primary, send, sign_in, stage_of, value, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def removed_form(**changes: str) -> dict[str, str]:
    return {"rest_voltage": "3.31", "condition": "intact", "count": "1"} | changes


def test_cells_leave_the_old_pack_one_by_one_or_several_alike(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    page = at(job, Stage.DISMANTLE)
    assert "Cell 1 of 8" in words(technician.get(page))
    assert send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(count="3")).url == page
    answer = technician.get(page)
    assert "Cell 4 of 8 5 still in the old pack" in words(answer)
    assert "In the book: J0001-R01 to J0001-R03." in words(answer)
    rest = models.Reading.objects.filter(cell__lot__donor_job=job).values_list("value", flat=True)
    assert list(rest) == [Decimal(3310)] * 3


def test_a_page_that_says_cell_1_does_not_enter_cell_4(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    address = at(job, Stage.DISMANTLE, "cell/")
    opened = str(technician.get(at(job, Stage.DISMANTLE)).context["recorded"])
    send(technician, address, **removed_form(count="3", recorded=opened))
    late = send(technician, address, **removed_form(recorded=opened))
    assert "3 cells came into the book since this page was opened" in words(late)
    assert value(late, "rest_voltage") == "3.31"
    assert value(late, "recorded") == "3"
    assert send(technician, address, **removed_form(recorded="3")).url == at(job, Stage.DISMANTLE)


def test_nothing_at_a_cell_of_a_live_group_is_ticked_to_be_so(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    address = at(job, Stage.DISMANTLE, "cell/")
    asked = send(technician, address, **removed_form(rest_voltage="0"))
    assert "cells of a group have one voltage" in words(asked)
    assert send(technician, address, **removed_form(rest_voltage="0", sure="on")).url == at(job, Stage.DISMANTLE)


def test_the_step_ends_when_all_are_in_the_book(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    page = at(job, Stage.DISMANTLE)
    answer = send(technician, page)
    assert answer.url == page
    assert "see what stops it below" in words(technician.get(page))
    send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(count="8"))
    assert primary(technician.get(page)) == ["Finish dismantling"]
    assert send(technician, page).url == f"/jobs/{job.number}/"
    assert stage_of(job) == Stage.PLACE


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"count": "9"}, "count", "8 cells are left in the old pack."),
        ({"count": "0"}, "count", "Ensure this value is greater than or equal to 1."),
        ({"rest_voltage": "16 V"}, "rest_voltage", "cannot be the rest voltage of one Round 2.6 cell"),
        ({"rest_voltage": "-1"}, "rest_voltage", "cannot be the rest voltage of one Round 2.6 cell"),
        ({"rest_voltage": "3 A"}, "rest_voltage", "expected a voltage"),
        ({"rest_voltage": "three"}, "rest_voltage", "three"),
        ({"condition": "so-so"}, "condition", "Select a valid choice"),
    ],
)
def test_a_cell_that_cannot_be_is_refused_beside_its_field(
    technician: Client, changes: dict[str, str], field: str, message: str
) -> None:
    job = line.job_at(Stage.DISMANTLE)
    answer = send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(**changes))
    assert answer.status_code == 200
    assert set(errors(answer)) == {field}
    assert message in errors(answer)[field][0]
    assert not models.Cell.objects.filter(lot__donor_job=job).exists()
    if field != "condition":
        assert value(answer, field) == changes[field]
        assert f'id="id_{field}_error"' in answer.content.decode()


def test_a_cell_for_a_pack_that_is_apart_already_is_refused_in_words(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    answer = send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(rest_voltage="3.56"))
    assert answer.status_code == 409
    assert "Nothing was recorded: “Dismantle” is not what comes next on this job." in words(answer)
    assert ("Voltage at its ends", "3.56") in answer.context["unsent"]
    assert ("What it looks like", "intact") in answer.context["unsent"]
    assert models.Cell.objects.filter(lot__donor_job=job).count() == 8


def test_the_voltage_of_a_cell_too_many_is_told_while_the_step_is_open(technician: Client) -> None:
    """A second window still asked for the last cell when it was in the book already."""
    job = line.job_at(Stage.DISMANTLE)
    send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(count="8"))
    answer = send(technician, at(job, Stage.DISMANTLE, "cell/"), **removed_form(rest_voltage="3.56"))
    assert "0 cells are left in the old pack." in words(answer)
    assert "Voltage at its ends 3.56" in words(answer)


def test_an_empty_voltage_and_an_unseen_cell_are_asked_back(technician: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    cell = at(job, Stage.DISMANTLE, "cell/")
    assert " checked" not in technician.get(at(job, Stage.DISMANTLE)).content.decode().split('name="condition"')[1]
    answer = send(technician, cell, count="1")
    assert set(errors(answer)) == {"rest_voltage", "condition"}
    assert set(errors(send(technician, cell, **removed_form(not_measured="on")))) == {"not_measured"}
    assert not models.Cell.objects.filter(lot__donor_job=job).exists()
    send(technician, cell, count="1", condition="damaged", not_measured="on")
    send(technician, cell, count="1", condition="reactive")
    assert models.Cell.objects.filter(lot__donor_job=job).count() == 2


def test_the_waiting_position_is_named_and_ringed_and_the_scan_comes_first(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    answer = technician.get(at(job, Stage.PLACE))
    html = answer.content.decode()
    assert "Next: S001 at 1.1" in words(answer)
    assert answer.context["picture"].count("waiting") == 2
    assert html.index('name="code"') < html.index("Before you start") < html.index("<svg xmlns")
    assert "autofocus" in html.split('name="code"')[1].split(">")[0]


def test_a_scan_goes_into_its_own_position_and_the_next_one_waits(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    scan = at(job, Stage.PLACE, "cell/")
    assert send(technician, scan, code=" s002 ").url == at(job, Stage.PLACE), "letter case aside"
    answer = technician.get(at(job, Stage.PLACE))
    assert "Cell S002 is in position 2.1." in words(answer)
    assert "1 of 8 placed" in words(answer)
    assert answer.context["picture"].count(">placed<") == 2
    assert "Cautions of this step" in words(answer)


@pytest.mark.parametrize(
    ("code", "message"),
    [
        (
            "S999",
            "Cell S999 is not part of this plan. No cell in the book has this code. Due is cell S008 at 1.2.",
        ),
        ("S001", "Cell S001 is in position 1.1 already."),
        ("", "This field is required."),
    ],
)
def test_a_wrong_scan_is_refused_beside_the_field(technician: Client, code: str, message: str) -> None:
    job = line.job_at(Stage.PLACE)
    scan = at(job, Stage.PLACE, "cell/")
    send(technician, scan, code="S001")
    answer = send(technician, scan, code=code)
    assert errors(answer) == {"code": [message]}
    assert value(answer, "code") == code
    assert models.PlanPosition.objects.filter(placed_at__isnull=False).count() == 1


def test_a_cell_below_its_recovery_voltage_stays_out(technician: Client) -> None:
    """2.0 V: the reject line of the chemistry, from the product specification that `packs.chemistry` names."""
    job = line.job_at(Stage.PLACE)
    cell = models.Cell.objects.get(code="S001")
    rows.read(cell, Measure.REST_VOLTAGE, 1990)
    answer = send(technician, at(job, Stage.PLACE, "cell/"), code="S001")
    assert "1.99" in errors(answer)["__all__"][0]
    assert not models.PlanPosition.objects.filter(placed_at__isnull=False).exists()


def test_the_last_cell_leads_back_to_the_job(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    answers = [send(technician, at(job, Stage.PLACE, "cell/"), code=f"S{number:03d}") for number in range(1, 9)]
    assert answers[-1].url == f"/jobs/{job.number}/"
    assert stage_of(job) == Stage.MEASURE
