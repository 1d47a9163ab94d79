"""Pages that tell tries of a step apart: the step's own, the sheet, a cell's history, the correction of a reading."""

import pytest
from django.test import Client

from packs.terms import Role, Stage
from shop import models
from tests import line
from tests.factories import SettingsFactory
from tests.web.desk import at, send, sign_in, value, voltages, words
from tests.web.test_proving import charge

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


@pytest.fixture
def charged(technician: Client) -> models.Job:
    """A pack whose second group passed 4.2 V twice before it kept it; each time at another minute."""
    job = line.job_at(Stage.FIRST_CHARGE)
    for minutes, volts in (("111", "4.25"), ("115", "4.24"), ("118", "4.19")):
        send(
            technician,
            at(job, Stage.FIRST_CHARGE),
            **charge(minutes_3=minutes, group_2=volts, since="charger set lower"),
        )
    job.refresh_from_db()
    assert job.stage == Stage.FINAL_TEST
    return job


def told(answer: object) -> str:
    return words(answer).replace("\u202f", " ").replace("\u2009", " ")  # type: ignore[arg-type]


def test_a_step_that_was_done_again_tells_the_try_that_counts_and_the_others_beneath(
    technician: Client, charged: models.Job
) -> None:
    page = told(technician.get(at(charged, Stage.FIRST_CHARGE)))
    counts, _, earlier = page.partition("Earlier tries")
    assert ", at try 3" in counts
    assert "118 min" in counts
    assert "111 min" not in counts
    assert "115 min" not in counts
    first, _, second = earlier.partition("Try 2")
    assert "Try 1 stopped" in first
    assert "Group 2:" in first
    assert "4.25 V" in first
    assert "111 min" in first
    assert "4.24 V" in second
    assert "115 min" in second


def test_a_step_that_was_stopped_twice_shows_the_first_try_beneath_its_form(technician: Client) -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    send(technician, at(job, Stage.FIRST_CHARGE), **charge(minutes_3="111", group_2="4.25"))
    assert "Earlier tries" not in told(technician.get(at(job, Stage.FIRST_CHARGE)))
    send(technician, at(job, Stage.FIRST_CHARGE), **charge(minutes_3="115", group_2="4.24", since="charger set lower"))
    answer = technician.get(at(job, Stage.FIRST_CHARGE))
    assert (value(answer, "minutes_3"), value(answer, "minutes_4"), value(answer, "group_2")) == ("115", "", "4.240")
    form, _, earlier = told(answer).partition("Earlier tries")
    assert "Check results of try 2, the last one" in form
    assert "4.24 V" in form
    assert "4.25 V" not in form
    assert "4.25 V" in earlier


def test_the_sheet_says_that_it_took_more_than_one_try(technician: Client, charged: models.Job) -> None:
    page = told(technician.get(f"/jobs/{charged.number}/"))
    assert "Done at try 3; what stopped the earlier ones is kept." in page
    assert "Stopped at “First charge”, try 2:" in page


@pytest.mark.parametrize(("again", "says"), [(False, False), (True, True)])
def test_a_cell_says_which_reading_was_taken_in_a_stopped_try(technician: Client, again: bool, says: bool) -> None:
    job = line.job_at(Stage.MEASURE)
    send(technician, at(job, Stage.MEASURE), **voltages(v_1_1="4.10"))
    if again:
        send(technician, at(job, Stage.MEASURE), **voltages(since="levelled"))
    cell = job.plans.get().positions.get(group=1, place=1).cell
    page = told(technician.get(f"/stock/cells/{cell.code}/"))
    assert "stopped try Measure before joining, try 1" in page
    assert ("this reading does not count" in page) is says
    assert page.count("stopped try") == 1


def test_a_typing_error_in_a_step_is_corrected_from_its_page(technician: Client, charged: models.Job) -> None:
    wrong = charged.readings.get(step__number=2, point="group 2")
    address = at(charged, Stage.FIRST_CHARGE)
    link = f"/stock/readings/{wrong.pk}/correct/?next={address}"
    assert link in technician.get(address).content.decode()
    page = told(technician.get(link))
    assert f"{charged.code}, first charge, try 2: group 2" in page
    assert send(technician, link, value="4.14", reason="digits").url == address
    right = models.Reading.objects.get(corrects=wrong)
    assert (right.value, right.step, right.point) == (4140, wrong.step, "group 2")
    assert send(technician, f"/stock/readings/{right.pk}/correct/", value="4.15", reason="again").url == address


def test_a_reading_of_before_the_steps_is_corrected_too(technician: Client) -> None:
    job = line.job_at(Stage.TARGET)
    found = job.readings.get(point="pack")
    address = f"/stock/readings/{found.pk}/correct/"
    assert technician.get(address).status_code == 200
    assert send(technician, address, value="13.1", reason="digits").url == f"/jobs/{job.number}/examine/"
    assert technician.get(f"/jobs/{job.number}/examine/").status_code == 200
