"""What only a browser shows at the bench: a scan needs no click, Enter goes on, nothing reaches past the screen."""

from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.test import Client

from packs.terms import Role, Stage
from tests import line, rows
from tests.factories import SettingsFactory, UserFactory

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("committed_db")]


@pytest.fixture
def technician(page: "Page", live_server: "LiveServer") -> "Page":
    SettingsFactory()
    client = Client()
    client.force_login(UserFactory(username="technician", roles=(Role.TECHNICIAN,)))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}])
    return page


def scan(page: "Page", code: str) -> None:
    """Type as a scanner does: the code and Enter, nothing clicked before."""
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def test_scan_after_scan_without_a_click_and_a_wrong_one_is_replaced(
    technician: "Page", live_server: "LiveServer"
) -> None:
    job = line.job_at(Stage.PLACE)
    technician.goto(f"{live_server.url}/jobs/{job.number}/steps/place/")
    scan(technician, "S001")
    technician.get_by_text("1 of 8 placed").wait_for()
    scan(technician, "S999")
    technician.get_by_text("Cell S999 is not part of this plan.").wait_for()
    scan(technician, "S002")
    technician.get_by_text("2 of 8 placed").wait_for()
    technician.get_by_role("heading", name="Where it goes").click()
    scan(technician, "S003")
    technician.get_by_text("3 of 8 placed").wait_for()


def test_enter_goes_from_reading_to_reading_and_records_after_the_last(
    technician: "Page", live_server: "LiveServer"
) -> None:
    job = line.job_at(Stage.MEASURE)
    technician.goto(f"{live_server.url}/jobs/{job.number}/steps/measure/")
    technician.get_by_label("1.1 S001").focus()
    for _ in range(8):
        scan(technician, "3.62")
    technician.wait_for_url(f"{live_server.url}/jobs/{job.number}/")
    assert technician.get_by_text("Done: measure before joining.").is_visible()


def test_a_refused_reading_gets_the_focus(technician: "Page", live_server: "LiveServer") -> None:
    job = line.job_at(Stage.MEASURE)
    technician.goto(f"{live_server.url}/jobs/{job.number}/steps/measure/")
    technician.get_by_label("2.1 S002").fill("16")
    technician.get_by_role("button", name="Record the resting voltages").click()
    technician.get_by_text("cannot be the rest voltage").wait_for()
    assert technician.evaluate("document.activeElement.name") == "v_2_1"


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_a_pack_of_84_cells_fits_every_screen(technician: "Page", live_server: "LiveServer", width: int) -> None:
    technician.set_viewport_size({"width": width, "height": 900})
    for stage, page in ((Stage.MEASURE, "steps/measure/"), (Stage.PLACE, "steps/place/"), (Stage.PLACE, "")):
        job = rows.planned(14, 6, stage).job
        technician.goto(f"{live_server.url}/jobs/{job.number}/{page}")
        assert technician.evaluate("document.documentElement.scrollWidth") <= width


def test_ticking_only_some_of_what_was_removed(technician: "Page", live_server: "LiveServer") -> None:
    job = rows.job(Stage.REMOVED)
    cells = rows.removed(job, 40)
    technician.goto(f"{live_server.url}/jobs/{job.number}/removed/")
    technician.get_by_label("Where they go").select_option("stock")
    technician.get_by_text("Only some of them").click()
    technician.get_by_label(cells[39].code, exact=True).check()
    technician.get_by_role("button", name="Put the ticked ones there").click()
    technician.get_by_text("1 back to stock as reclaimed, to be tested.").wait_for()
    assert technician.get_by_role("heading", name="39 intact").is_visible()
