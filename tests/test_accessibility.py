"""Every page in a browser, in both schemes, on a telephone and on a bench: nothing that keeps anybody from using it.

The rules are those of axe-core (its WCAG 2 and best-practice rules); what it calls serious or critical is refused.
Pages come straight from the shop's own code into the browser, so that one shop serves them all.
"""

import contextvars
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.db import transaction
from django.test import Client
from django.urls import reverse

from shop import models
from tests import shops
from tests.shops import Things
from tests.test_pages import NAMES, visits

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route

pytestmark = [pytest.mark.django_db, pytest.mark.browser]

HERE = "http://shop.test"
SCHEMES, WIDTHS = ("light", "dark"), (1280, 390)
GRAVE = {"serious", "critical"}
RUN = "options => axe.run(document, options).then(results => results.violations)"
ALL = {"resultTypes": ["violations"], "preload": False}
"""Without fetching styles a second time, which only a rule about turned screens wants that is not among these."""
OPTIONS = {"light": ALL, "dark": ALL | {"runOnly": ["color-contrast", "link-in-text-block"]}}
"""The scheme changes colours and nothing else."""

REFUSED = (
    "take_in",
    "container_new",
    "cell_model_new",
    "lot_new",
    "instrument_new",
    "people",
    "testers",
    "settings",
    "prices",
)
"""Pages whose form is looked at with nothing typed into it and all of it refused."""

PARTS = {
    "files_read_now",
    "customers",
    "group_fields",
    "target_figures",
    "target_path",
    "target_forecast",
    "match_search_now",
}
"""Parts of a page that come while somebody types: no pages of their own."""


FILES: dict[str, dict[str, Any]] = {}
"""Styles and scripts, which are the same for every page."""


class Seen(NamedTuple):
    """One page as it was asked for."""

    name: str
    address: str
    refused: bool = False


@pytest.fixture(scope="module")
def things(django_db_setup: None, django_db_blocker: Any) -> Iterator[Things]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield shops.demo()
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def clients(things: Things) -> tuple[Client, Client]:
    """Return the owner and somebody who is not signed in."""
    owner, nobody = Client(), Client()
    owner.force_login(models.User.objects.get(username="owner"))
    return owner, nobody


@pytest.fixture
def shown(clients: tuple[Client, Client], page: "Page") -> "Page":
    """Return a browser to which the shop answers as it does to its owner, and to nobody at the sign-in."""
    owner, nobody = clients
    # The browser's calls come in a context of their own, whose database connection would be another one.
    here = contextvars.copy_context()

    def asked(url: str) -> Any:
        address = urlsplit(url)
        client = nobody if address.path == reverse("sign_in") else owner
        ask = client.post if address.query == "refused" else client.get
        return ask(f"{address.path}?{address.query}", follow=True)

    def answer(route: "Route") -> None:
        url = route.request.url
        given = FILES.get(url) or _given(here.run(asked, url))
        if "/static/" in url:
            FILES[url] = given
        route.fulfill(**given)

    page.route("**/*", answer)
    page.emulate_media(reduced_motion="reduce")
    page.axe = Axe().axe_script  # type: ignore[attr-defined]
    return page


def _given(told: Any) -> dict[str, Any]:
    body = told.getvalue() if told.streaming else told.content
    return {"status": told.status_code, "headers": dict(told.headers), "body": body}


def looked_at(name: str, things: Things) -> list[Seen]:
    """Return the addresses of a page that show something; what only does something shows nothing."""
    found = [Seen(name, visit.address) for visit in visits(name, things) if 200 in visit.status]
    if name in REFUSED:
        found.append(Seen(name, found[0].address + "?refused"))
    return [seen for seen in found if not urlsplit(seen.address).path.endswith((".pdf", ".jpg", ".csv"))]


def grave(page: "Page", options: dict[str, Any]) -> list[str]:
    """Return what axe finds serious or critical on the page as it is shown now."""
    return [
        f"{found['impact']} {found['id']}: {node['html'][:200]} {node['any'][0]['message'] if node['any'] else ''}"
        for found in page.evaluate(RUN, options)
        if found["impact"] in GRAVE
        for node in found["nodes"]
    ]


def wrong_with(page: "Page", seen: Seen) -> list[str]:
    """Look at a page in every scheme and width."""
    page.goto(HERE + seen.address)
    assert seen.name == "sign_in" or "Sign in" not in page.title(), seen.address
    page.evaluate(page.axe)  # type: ignore[attr-defined]
    found = []
    for scheme, width in zip(SCHEMES, WIDTHS, strict=True):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        page.set_viewport_size({"width": width, "height": 900})
        found += [f"{seen.address} {scheme} {width}: {one}" for one in grave(page, OPTIONS[scheme])]
    return found


@pytest.mark.parametrize("name", sorted(set(NAMES) - PARTS))
def test_nothing_on_a_page_keeps_anybody_out(name: str, things: Things, shown: "Page") -> None:
    wrong = [one for seen in looked_at(name, things) for one in wrong_with(shown, seen)]
    assert not wrong, "\n".join(wrong)


def test_the_description_of_the_api(things: Things, shown: "Page") -> None:
    assert not wrong_with(shown, Seen("api-docs", reverse("api-docs")))


def test_an_address_that_is_not_there(things: Things, shown: "Page") -> None:
    assert not wrong_with(shown, Seen("404", "/nothing/"))


def test_axe_sees_what_is_wrong(shown: "Page") -> None:
    """A picture without words, a field without a name and pale words on white are found, or the rest proves nothing."""
    shown.route("**/bad/", lambda route: route.fulfill(body=BAD, content_type="text/html"))
    shown.goto(HERE + "/bad/")
    shown.evaluate(shown.axe)  # type: ignore[attr-defined]
    ids = {found.split()[1] for found in grave(shown, ALL)}
    assert {"image-alt:", "label:", "color-contrast:"} <= ids


BAD = "<html lang=en><title>x</title><main><img src='/x'><input><p style='color:#ccc;background:#fff'>pale</p></main></html>"
