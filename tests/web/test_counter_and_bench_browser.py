"""What only a browser shows: the danger sign answers at once, groups and figures follow the arrangement."""

from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.test import Client

from packs.terms import Role, Stage
from tests import line
from tests.factories import CustomerFactory, SettingsFactory, UserFactory

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = [pytest.mark.browser, pytest.mark.usefixtures("committed_db")]


def sign_in(page: "Page", server: "LiveServer", role: Role) -> None:
    client = Client()
    client.force_login(UserFactory(username=role.value, roles=(role,)))
    cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
    page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": server.url}])


def test_a_ticked_danger_sign_answers_at_once(page: "Page", live_server: "LiveServer") -> None:
    SettingsFactory(emergency_number="119")
    sign_in(page, live_server, Role.COUNTER)
    page.route("**/*.js", lambda route: route.abort())
    page.goto(f"{live_server.url}/jobs/new/")
    outside, apart = page.get_by_text("It stays outside", exact=True), page.get_by_text("Separate bench", exact=True)
    assert not outside.is_visible()
    page.get_by_label("no sign of life").check()
    assert apart.is_visible()
    page.get_by_label("smoke or vapour").check()
    assert outside.is_visible()
    assert not apart.is_visible()
    assert page.get_by_role("alert").get_by_text("119").is_visible()
    page.get_by_label("smoke or vapour").uncheck()
    assert not outside.is_visible()


def test_known_customers_appear_while_a_name_is_typed(page: "Page", live_server: "LiveServer") -> None:
    SettingsFactory()
    CustomerFactory(name="Ida Moor", phone="0660 555 0199")
    sign_in(page, live_server, Role.COUNTER)
    page.goto(f"{live_server.url}/jobs/new/")
    page.get_by_label("Name", exact=True).press_sequentially("moo")
    page.get_by_label("Ida Moor, 0660 555 0199").check()
    assert page.get_by_label("Name", exact=True).input_value() == "moo"


def test_the_arrangement_brings_a_field_for_each_group(page: "Page", live_server: "LiveServer") -> None:
    job = line.job_at(Stage.EXAMINE)
    sign_in(page, live_server, Role.TECHNICIAN)
    page.goto(f"{live_server.url}/jobs/{job.number}/examine/")
    page.get_by_label("Arrangement").press_sequentially("3s1p")
    page.get_by_label("Group 3").fill("3.59")
    page.get_by_label("Arrangement").fill("")
    page.get_by_label("Arrangement").press_sequentially("4s1p")
    page.get_by_label("Group 4").wait_for()
    assert page.get_by_label("Group 3").input_value() == "3.59"


def test_figures_and_drawing_follow_the_target(page: "Page", live_server: "LiveServer") -> None:
    """Five groups of 3.0 V to 4.2 V: 15 V to 21 V, Kirchhoff's law of voltages, by hand."""
    job = line.job_at(Stage.TARGET)
    sign_in(page, live_server, Role.TECHNICIAN)
    page.goto(f"{live_server.url}/jobs/{job.number}/target/")
    page.get_by_label("Arrangement").fill("5s2p")
    page.get_by_text("21.00").wait_for()
    page.locator("svg[aria-label^='Pack 5s2p']").wait_for()
    page.get_by_label("Continuous current").press_sequentially("12 A")
    page.get_by_label("Charger voltage").press_sequentially("21 V")
    page.get_by_text("at most 5.20\N{NARROW NO-BREAK SPACE}A is allowed").wait_for()
    assert page.evaluate("document.activeElement.name") == "charger_voltage_mv"


def test_the_way_of_the_current_follows_the_width_of_the_strip(page: "Page", live_server: "LiveServer") -> None:
    """Strip to cut overhangs by half its width at both ends: cells 19.8 mm apart, 27.8 mm at 8 mm, 29.8 mm at 10 mm."""
    job = line.job_at(Stage.TARGET)
    sign_in(page, live_server, Role.TECHNICIAN)
    page.goto(f"{live_server.url}/jobs/{job.number}/target/")
    page.get_by_label("Continuous current").fill("6 A")
    page.get_by_label("Charger voltage").fill("16.8 V")
    page.get_by_label("Strip or bar").select_option("nickel_200")
    page.get_by_label("Thickness").fill("0.15")
    page.get_by_label("Width").fill("8")
    cut = page.locator("#path-parts")
    cut.get_by_text("27.80").first.wait_for()
    weakest = page.locator("#target-path strong").first.locator("..").inner_text()
    page.evaluate("window.sameDocument = true")
    page.get_by_label("Width").fill("10")
    cut.get_by_text("29.80").first.wait_for()
    assert page.locator("#target-path strong").first.locator("..").inner_text() != weakest
    assert cut.get_by_text("27.80").count() == 0
    assert page.evaluate("window.sameDocument") is True
