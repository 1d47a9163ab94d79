"""Every operation tried as every role, by page and by API; every address of either door in one of the tables here."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.apps import apps
from django.conf import settings
from django.db import transaction
from django.test import Client
from django.urls import get_resolver, resolve
from rest_framework.test import APIClient

from packs.terms import Role
from shop import models
from shop.operations.base import VERBS
from tests import shops
from tests.doors import DOORS, by_api, by_page
from tests.factories import SettingsFactory, UserFactory
from tests.operations import calls
from tests.refusal import tables
from tests.shops import Things
from tests.test_pages import NAMES, PUBLIC, VISITS

pytestmark = pytest.mark.django_db

EVERYONE = frozenset(Role)
BENCH = EVERYONE - {Role.COUNTER}
LEADS = frozenset({Role.LEAD, Role.OWNER})

PAGES: dict[str, frozenset[Role]] = {
    **dict.fromkeys(("jobs", "job", "take_in", "customers", "findings", "danger", "decline", "hand_over"), EVERYONE),
    **dict.fromkeys(("take_in_return", "into_stock", "complete_intake", "issue"), EVERYONE),
    **dict.fromkeys(("documents", "document", "document_pdf", "stock", "cell", "cell_models", "lot"), EVERYONE),
    **dict.fromkeys(("incidents", "incident_new", "incident_of_job", "emergency_text", "areas"), EVERYONE),
    **dict.fromkeys(("recall", "recall_of", "recall_list", "went_in"), EVERYONE),
    **dict.fromkeys(("containers", "container", "consignment", "waste_rules", "settings"), EVERYONE),
    **dict.fromkeys(
        ("examine", "pack_details", "group_fields", "target", "target_figures", "match", "match_together", "release"),
        BENCH,
    ),
    **dict.fromkeys(("match_stock", "match_groups", "match_price", "match_search", "match_search_now"), BENCH),
    **dict.fromkeys(
        (
            "step",
            "before_cutting",
            "peel_samples",
            "remove_cell",
            "place_cell",
            "breached",
            "replace_cell",
            "park",
            "resume",
        ),
        BENCH,
    ),
    **dict.fromkeys(("removed", "finish_removed", "emergency", "welder_leads"), BENCH),
    **dict.fromkeys(("withdraw_reading", "move_trace", "cell_new"), BENCH),
    **dict.fromkeys(("correct_reading", "cell_model_new", "lot_new", "import_cells", "container_new"), BENCH),
    **dict.fromkeys(("container_reopen", "container_label", "consignment_note", "waste_item_new"), BENCH),
    **dict.fromkeys(("instrument_new", "give_up", "build_for_stock", "lower_condition", "discard"), BENCH),
    **dict.fromkeys(("quote", "quote_answer", "pack_book", "photographs", "photograph"), EVERYONE),
    **dict.fromkeys(("faults", "search_anew", "fault_pack", "take_back_probe", "pack_notes", "labour_time"), BENCH),
    **dict.fromkeys(("testers", "withdraw_tester", "limit", "withdraw_exception", "withdraw_photograph"), LEADS),
    **dict.fromkeys(("limits", "limits_annex", "exceptions", "criteria"), EVERYONE),
    **dict.fromkeys(("trace", "trace_curve", "lot_capacity", "lot_resistance", "cell_drift"), EVERYONE),
    **dict.fromkeys(("new_cell", "labels", "check_lot"), BENCH),
    **dict.fromkeys(("release_lot", "sign_lot"), LEADS),
    **dict.fromkeys(("lot_history", "prepare_cells"), BENCH),
    **dict.fromkeys(("many_files", "files_read", "files_read_now"), BENCH),
    **dict.fromkeys(("bench", "upkeep", "promise", "preparation_picture", "lot_check_picture"), EVERYONE),
    **dict.fromkeys(("channel_new", "channel_check", "check_cell_new", "queue_cells", "begin_run", "end_run"), BENCH),
    "facility_order": EVERYONE,
    "reissue": BENCH,
    "void": LEADS,
    "incident_release": LEADS,
    **dict.fromkeys(
        ("read_trace", "waiting_curve", "trace_layout", "target_path", "target_forecast", "target_curve"), BENCH
    ),
    **dict.fromkeys(("cell_model", "own_password"), EVERYONE),
    **dict.fromkeys(("cell_model_correct", "lot_correct", "instrument"), BENCH),
    **dict.fromkeys(("people", "person", "prices", "area"), frozenset({Role.OWNER})),
}
"""Who may look at a page that is not for whoever comes."""

READ_ONLY = {
    "api-jobs",
    "api-job",
    "api-items",
    "api-steps",
    "api-photographs",
    "api-customers",
    "api-instruments",
    "api-cells",
    "api-cell-models",
    "api-lots",
    "api-readings",
    "api-plans",
    "api-documents",
    "api-limits",
    "api-places",
    "api-incidents",
    "api-emergency-text",
    "api-criteria",
    "api-new-cells",
    "api-containers",
    "api-consignments",
    "api-files-read",
    "api-schema",
    "api-docs",
}
"""Addresses of the API that everybody who is signed in may read."""


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def people(name: str) -> Iterator[tuple[models.User, bool]]:
    """Yield one person per role, and one who holds all that may not beside one that may, with what is due to each."""
    for role in Role:
        yield UserFactory(username=f"only {role.value}", roles=(role,)), role in VERBS[name]
    if others := EVERYONE - VERBS[name]:
        yield UserFactory(username="both", roles=(*others, min(VERBS[name]))), True


def refused_for_the_role(answer: Any) -> bool:
    return answer.status_code == 403 or "This is for the " in answer.content.decode()


def test_every_operation_has_a_row_and_every_row_an_operation() -> None:
    assert set(DOORS) == set(VERBS)


@pytest.mark.parametrize("name", sorted(VERBS))
def test_both_doors_do_it_for_who_may_and_for_nobody_else(name: str) -> None:
    job = calls.job_for(name)
    given = calls.arguments(name, job)
    for person, may in list(people(name)):
        with taken_back():
            _ask_the_page(name, given, person, may)
        if DOORS[name].api:
            with taken_back():
                _ask_the_api(name, given, person, may)


def _ask_the_page(name: str, given: dict[str, Any], person: models.User, may: bool) -> None:
    client = Client()
    client.force_login(person)
    before = tables()
    way, answer = by_page(client, name, given)
    assert refused_for_the_role(answer) is not may, (person, answer.status_code)
    assert not may or answer.status_code in way.done, _said(answer)
    assert may is (tables() != before)


def _ask_the_api(name: str, given: dict[str, Any], person: models.User, may: bool) -> None:
    client = APIClient()
    client.force_login(person)
    before = tables()
    way, answer = by_api(client, name, given)
    if may:
        assert answer.status_code in way.done, answer.content
    else:
        assert (answer.status_code, answer.json()["code"]) == (403, "not_allowed")
        assert set(answer.json()["facts"]["roles"]) == VERBS[name]
    assert may is (tables() != before)


def _said(answer: Any) -> Any:
    return dict(answer.context["form"].errors) if answer.context and "form" in answer.context else answer.content[:500]


# --- no address escapes


def test_every_page_is_in_the_table() -> None:
    assert set(PAGES) | PUBLIC == set(NAMES)


def test_every_address_of_the_api_reads_or_runs_an_operation_of_the_table() -> None:
    names = {pattern.name for pattern in get_resolver("shop.api.urls").url_patterns}
    assert names == READ_ONLY | {"api-proposal"} | {doors.api.name for doors in DOORS.values() if doors.api}


@pytest.fixture(scope="module")
def things(django_db_setup: None, django_db_blocker: Any) -> Iterator[Things]:
    with django_db_blocker.unblock(), transaction.atomic():
        SettingsFactory()
        yield shops.grown(2)
        transaction.set_rollback(True)


def looked_at(name: str, role: Role, things: Things) -> Iterator[tuple[str, int]]:
    """Yield the addresses of a page, and how the shop answers somebody of a role."""
    client = Client()
    client.force_login(UserFactory(username=f"only {role.value}", roles=(role,)))
    for visit in VISITS[name](things):
        ask = client.post if visit.status == (405,) else client.get
        yield visit.address, ask(visit.address).status_code


@pytest.mark.parametrize("role", list(Role))
def test_a_page_is_refused_to_who_may_not_look(role: Role, things: Things) -> None:
    for name in (name for name, roles in PAGES.items() if role not in roles):
        assert all(status == 403 for _, status in looked_at(name, role, things)), name


def test_a_page_is_shown_to_who_may_look(things: Things) -> None:
    """To one role after the other, and each page names the roles of the table as its own."""
    for count, (name, roles) in enumerate(PAGES.items()):
        role = sorted(roles)[count % len(roles)]
        for address, status in looked_at(name, role, things):
            assert status != 403, (address, role)
            assert (resolve(urlsplit(address).path).func.roles or EVERYONE) == roles, address


@pytest.mark.parametrize("role", list(Role))
def test_everybody_may_read_the_api(role: Role, things: Things) -> None:
    client = APIClient()
    client.force_login(UserFactory(username=f"only {role.value}", roles=(role,)))
    for pattern in get_resolver("shop.api.urls").url_patterns:
        if pattern.name in READ_ONLY:
            address = "/api/v1/" + str(pattern.pattern).replace("<int:number>", str(things.late))
            address = address.replace("<int:pk>", str(things.files_task))
            assert client.get(address).status_code == 200, address


def test_who_holds_no_role_does_nothing() -> None:
    person = models.User.objects.create(username="no role")
    client, api = Client(), APIClient()
    client.force_login(person)
    api.force_login(person)
    for name in ("intake.take_in", "stock.add_cell_model", "workshop.add_person"):
        given = calls.arguments(name, calls.job_for(name))
        assert refused_for_the_role(by_page(client, name, given)[1])
        if DOORS[name].api:
            assert by_api(api, name, given)[1].status_code == 403


def test_there_is_no_third_door() -> None:
    """Django's own admin would write past the operations: it is not installed, and no address leads to it."""
    assert "django.contrib.admin" not in settings.INSTALLED_APPS
    assert not apps.is_installed("django.contrib.admin")
    roots = {str(pattern.pattern) for pattern in get_resolver().url_patterns}
    assert roots == {"api/v1/", ""}
