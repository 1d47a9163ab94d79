"""A tester file in a real browser: uploaded, looked at, accepted, and found again on the cell's page."""

from typing import TYPE_CHECKING

import pytest
from django.conf import LazySettings

from packs.terms import Role
from tests.factories import SettingsFactory
from tests.operations import tester_files
from tests.web.test_counter_and_bench_browser import sign_in
from tests.web.test_tester_files import REPAIRED

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("committed_db")]


def test_from_upload_to_readings(
    page: "Page", live_server: "LiveServer", settings: LazySettings, tmp_path: "Path"
) -> None:
    settings.MEDIA_ROOT, settings.DATA_DIR = str(tmp_path / "uploads"), tmp_path
    SettingsFactory()
    tester_files.cell()
    sign_in(page, live_server, Role.TECHNICIAN)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text) if message.type == "error" else None)
    (tmp_path / "run 7.csv").write_bytes(REPAIRED)

    page.goto(f"{live_server.url}/stock/cells/T1/")
    page.get_by_role("link", name="Read a tester file").click()
    page.get_by_label("Tester file").set_input_files(tmp_path / "run 7.csv")
    page.get_by_role("button", name="Read the file").click()
    page.get_by_text("The line of column names comes again").wait_for()
    for curve in ("Voltage", "Current", "Temperature"):
        page.get_by_role("img", name=f"{curve} over time").wait_for()
    page.wait_for_function("() => [...document.images].every(image => image.complete && image.naturalWidth > 0)")
    page.get_by_label("Rest voltage").uncheck()
    page.get_by_role("button", name="Keep the file and accept the ticked figures").click()

    from_file = page.locator("table tr", has_text="run 7.csv")
    capacity = from_file.filter(has_text="997 mAh").inner_text()
    # 1 A from the first row to the last of 360 at 10 s: 3590 s are 997 mAh.
    assert capacity.startswith("Capacity")
    assert "The line of column names comes again" in capacity
    assert from_file.filter(has_text="Rest voltage").count() == 0
    assert complaints == []
