"""Every page of the shop, found through the URL resolver: it answers, asks who is there, and asks the
database no more as the shop grows. A page without an entry in ``VISITS`` fails here, so that no new one escapes.
"""

import re
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import pytest
from django.core import signing
from django.db import connection, transaction
from django.forms import BaseForm
from django.template import Context
from django.test import Client
from django.test.utils import CaptureQueriesContext, ContextList
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from packs.terms import STEPS, Role, Stage
from shop import models
from shop.web.forms.match import SALT
from tests import shops
from tests.factories import SettingsFactory, UserFactory
from tests.shops import Things
from tests.web.desk import words

pytestmark = pytest.mark.django_db

FEW, MANY = 2, 6
"""Rows of everything in the small shop and in the large one, which has three times as many."""


# --- what there is to visit


class Visit(NamedTuple):
    """One address and what it must answer."""

    name: str
    arguments: dict[str, Any]
    query: str = ""
    status: tuple[int, ...] = (200,)

    @property
    def address(self) -> str:
        """The address with its query."""
        return reverse(self.name, kwargs=self.arguments) + self.query


ONLY_POST = {"status": (405,)}
PUBLIC = {"sign_in", "sign_out", "check_paper"}
"""Pages for whoever comes: whoever holds a paper may check it."""


def _plain(name: str, *queries: str, **more: Any) -> Callable[[Things], list[Visit]]:
    return lambda _: [Visit(name, {}, query, **more) for query in queries or [""]]


def _job(name: str, *stages: Stage, query: str = "", **more: Any) -> Callable[[Things], list[Visit]]:
    """Visit a page of a job: at its own stages, and once that is past."""
    return lambda things: [
        Visit(name, {"number": number} | more.get("arguments", {}), query, more.get("status", (200,)))
        for number in dict.fromkeys([*(things.at(stage) for stage in stages), things.late])
    ]


def _of_groups(things: Things, name: str) -> list[Visit]:
    """A picture of groups as they were shown: of the first cells in stock."""
    plan = models.Plan.objects.filter(job__number=things.at(Stage.MATCH)).latest("pk")
    cells = models.Cell.objects.in_stock().filter(lot__cell_model=plan.cell_model).values_list("code", flat=True)
    groups = [[code] for code in sorted(cells)[: len(plan.open_groups)]]
    shown = {"plan": [plan.pk, plan.version], "groups": groups, "bound": "2600"}
    query = f"?groups={signing.dumps(shown, salt=SALT, compress=True)}"
    return [Visit(name, {"number": things.at(Stage.MATCH)}, query)]


def _steps(things: Things) -> list[Visit]:
    pairs = [
        (number, stage)
        for stage in (Stage.TEST_PACK, *STEPS)
        for number in dict.fromkeys([things.at(stage), things.late])
    ]
    return [Visit("step", {"number": number, "stage": stage.value}) for number, stage in pairs]


def _sheets(things: Things) -> list[Visit]:
    return [
        Visit("job", {"number": number}) for number in dict.fromkeys([*things.jobs.values(), things.held, things.red])
    ]


def _in_stock(name: str, of: str, key: str = "code") -> Callable[[Things], list[Visit]]:
    return lambda things: [Visit(name, {key: getattr(things, of)})]


def _first(name: str, model: Any) -> Callable[[Things], list[Visit]]:
    return lambda _: [Visit(name, {"pk": model.objects.order_by("pk").first().pk})]


RECALLED = ("?welder=Bench+1", "?welder=Bench+1&setting=S+1,+pulse+4")

# A page that does one thing only may answer that one way; a paper that was not printed leads to its page.
VISITS: dict[str, Callable[[Things], list[Visit]]] = {
    "sign_in": _plain("sign_in"),
    "sign_out": _plain("sign_out", **ONLY_POST),
    "jobs": _plain("jobs", "", "?show=closed"),
    "job": _sheets,
    "take_in": _plain("take_in"),
    "customers": _plain("customers", "?customer_name=moor"),
    "build_for_stock": _plain("build_for_stock"),
    "take_in_return": _job("take_in_return", Stage.EXAMINE),
    "give_up": _job("give_up", Stage.TARGET, Stage.PLACE, Stage.JOIN),
    "findings": lambda things: [Visit("findings", {"number": number}) for number in (things.held, things.late)],
    "danger": _job("danger", Stage.EXAMINE, Stage.PLACE, Stage.JOIN),
    "decline": _job("decline", Stage.EXAMINE),
    "examine": _job("examine", Stage.EXAMINE),
    "group_fields": _job("group_fields", Stage.EXAMINE, query="?arrangement=4s2p"),
    "faults": _job("faults", Stage.EXAMINE, Stage.TARGET, Stage.DISMANTLE),
    "fault_pack": _job("fault_pack", Stage.EXAMINE, Stage.TARGET),
    "search_anew": _job("search_anew", Stage.EXAMINE, Stage.TARGET),
    "take_back_probe": lambda things: [
        Visit("take_back_probe", {"number": things.at(Stage.EXAMINE), "pk": things.probe})
    ],
    "pack_details": _job("pack_details", Stage.EXAMINE, Stage.TARGET),
    "photographs": _job("photographs", Stage.EXAMINE, Stage.JOIN),
    "photograph": lambda things: [Visit("photograph", {"number": things.late, "pk": things.photograph})],
    "withdraw_photograph": lambda things: [
        Visit("withdraw_photograph", {"number": things.late, "pk": things.photograph})
    ],
    "quote": _job("quote", Stage.TARGET, Stage.MATCH),
    "quote_answer": _job("quote_answer", Stage.MATCH, **ONLY_POST),
    "prices": _plain("prices"),
    "limits": _plain("limits"),
    "areas": _plain("areas"),
    "area": lambda _: [Visit("area", {"area": "stock"})],
    "criteria": _plain("criteria"),
    "check_lot": lambda things: [Visit("check_lot", {"code": things.lot})],
    "release_lot": lambda things: [Visit("release_lot", {"code": things.lot})],
    "many_files": _plain("many_files"),
    **{
        name: lambda things, name=name: [Visit(name, {"pk": things.files_task})]  # type: ignore[misc]
        for name in ("files_read", "files_read_now")
    },
    "bench": _plain("bench"),
    "upkeep": _plain("upkeep"),
    "promise": _job("promise", Stage.EXAMINE),
    "channel_new": _plain("channel_new"),
    "channel_check": lambda things: [Visit("channel_check", {"pk": things.channel})],
    "check_cell_new": _plain("check_cell_new"),
    "queue_cells": _plain("queue_cells", "", "?lot=B1"),
    "begin_run": lambda things: [Visit("begin_run", {"pk": things.run})],
    "end_run": lambda things: [Visit("end_run", {"pk": things.run})],
    "preparation_picture": lambda things: [Visit("preparation_picture", {"pk": things.print_pk})],
    "lot_check_picture": lambda things: [Visit("lot_check_picture", {"pk": things.print_of_lot})],
    "prepare_cells": _plain("prepare_cells", "", "?lot=B1"),
    "lot_history": lambda things: [Visit("lot_history", {"code": things.lot})],
    "sign_lot": lambda things: [Visit("sign_lot", {"code": things.lot})],
    "facility_order": _job("facility_order", Stage.EXAMINE),
    "labels": _plain("labels", "", "?lot=B1"),
    "new_cell": lambda _: [Visit("new_cell", {"pk": models.CellModel.objects.order_by("pk")[0].pk})],
    "limits_annex": _plain("limits_annex", **ONLY_POST),
    "limit": lambda _: [Visit("limit", {"rule_id": rule}) for rule in ("measure.rest_spread", "ladder.tap")],
    "exceptions": _job("exceptions", Stage.TARGET, Stage.JOIN, query="?rule=final.capacity"),
    "withdraw_exception": lambda things: [Visit("withdraw_exception", {"number": things.late, "pk": things.exception})],
    "pack_book": _plain("pack_book"),
    "pack_notes": _job("pack_notes", Stage.EXAMINE, Stage.TARGET),
    "labour_time": _job("labour_time", Stage.HAND_OVER),
    "target": _job("target", Stage.TARGET),
    "target_figures": _job("target_figures", Stage.TARGET, query="?arrangement=4s2p"),
    "target_path": _job("target_path", Stage.MATCH),
    "target_forecast": _job("target_forecast", Stage.MATCH),
    "target_curve": lambda things: [
        Visit("target_curve", {"number": things.late, "of": of}) for of in ("pack", "groups")
    ],
    "match": _job("match", Stage.MATCH),
    "match_stock": lambda things: _of_groups(things, "match_stock"),
    "match_groups": lambda things: _of_groups(things, "match_groups"),
    **{name: _job(name, Stage.MATCH) for name in ("match_search", "match_search_now")},
    "match_price": lambda things: [Visit("match_price", {"number": things.at(Stage.MATCH)})],
    "match_together": _plain("match_together"),
    "release": _job("release", Stage.PLACE),
    "step": _steps,
    "before_cutting": lambda things: [
        Visit("before_cutting", {"number": things.at(Stage.DISMANTLE)}, status=(200, 302))
    ],
    "breached": _job("breached", Stage.JOIN, status=(200, 302)),
    "replace_cell": _job("replace_cell", Stage.PLACE, Stage.JOIN, status=(200, 302)),
    "park": _job("park", *STEPS[1:], status=(200, 302)),
    "resume": _job("resume", Stage.JOIN, status=(302,)),
    "remove_cell": lambda things: [Visit("remove_cell", {"number": things.at(Stage.DISMANTLE)}, status=(200, 302))],
    "peel_samples": lambda things: [
        Visit("peel_samples", {"number": things.at(Stage.JOIN)}, status=(200, 302)),
        Visit("peel_samples", {"number": things.late}, status=(302,)),
    ],
    "welder_leads": _job("welder_leads", Stage.JOIN),
    "place_cell": lambda things: [Visit("place_cell", {"number": things.at(Stage.PLACE)}, status=(200, 302))],
    "removed": lambda things: [
        Visit("removed", {"number": number}) for number in (things.at(Stage.REMOVED), things.red, things.late)
    ],
    "finish_removed": _job("finish_removed", Stage.REMOVED, **ONLY_POST),
    "emergency": lambda things: [
        Visit("emergency", {"number": things.red, "kind": "item", "pk": things.reacting}),
    ],
    "complete_intake": _job("complete_intake", Stage.EXAMINE),
    "into_stock": _job("into_stock", Stage.INTO_STOCK),
    "hand_over": _job("hand_over", Stage.HAND_OVER),
    "issue": _job("issue", Stage.HAND_OVER, arguments={"kind": "test_report"}, **ONLY_POST),
    "documents": _plain("documents", "", "?kind=test_report"),
    "document": _in_stock("document", "document"),
    "check_paper": _plain("check_paper", "", "?code=7K3Q-9FJX-2M4T", "?code=x"),
    "reissue": _in_stock("reissue", "document"),
    "void": _in_stock("void", "document"),
    "document_pdf": lambda things: [Visit("document_pdf", {"code": things.document}, status=(200, 302))],
    "stock": _plain("stock"),
    "cell": _in_stock("cell", "cell"),
    "lower_condition": _in_stock("lower_condition", "cell"),
    "discard": _in_stock("discard", "cell"),
    "correct_reading": _in_stock("correct_reading", "reading", "pk"),
    "cell_new": _plain("cell_new"),
    "withdraw_reading": _in_stock("withdraw_reading", "reading", "pk"),
    "cell_models": _plain("cell_models"),
    "cell_model_new": _plain("cell_model_new"),
    "cell_model": _first("cell_model", models.CellModel),
    "cell_model_correct": _first("cell_model_correct", models.CellModel),
    "lot_correct": _first("lot_correct", models.Lot),
    "instrument": _first("instrument", models.Instrument),
    "person": _first("person", models.User),
    "own_password": _plain("own_password"),
    "lot_new": _plain("lot_new"),
    "lot": _in_stock("lot", "lot"),
    "import_cells": _plain("import_cells"),
    "read_trace": lambda things: [
        Visit("read_trace", {"code": things.cell}, query) for query in ("", f"?file={things.waiting}")
    ],
    "trace_layout": lambda things: [Visit("trace_layout", {"code": things.cell}, f"?file={things.waiting}")],
    "waiting_curve": lambda things: [
        Visit("waiting_curve", {"code": things.cell, "curve": "voltage"}, f"?file={things.waiting}")
    ],
    "trace": _in_stock("trace", "trace", "pk"),
    "lot_capacity": lambda things: [Visit("lot_capacity", {"code": things.lot}, status=(200, 404))],
    "lot_resistance": lambda things: [Visit("lot_resistance", {"code": things.lot}, status=(200, 404))],
    "cell_drift": lambda things: [Visit("cell_drift", {"code": things.cell}, status=(200, 404))],
    "move_trace": _in_stock("move_trace", "trace", "pk"),
    "trace_curve": lambda things: [Visit("trace_curve", {"pk": things.trace, "curve": "current"})],
    "recall": _plain("recall", "", "?q=nothing"),
    "recall_of": lambda things: [
        Visit("recall_of", {}, query) for query in (f"?lot={things.lot}", f"?cell={things.cell}", *RECALLED)
    ],
    "recall_list": lambda things: [Visit("recall_list", {}, f"?lot={things.lot}")],
    "went_in": lambda things: [Visit("went_in", {"number": things.late})],
    "incidents": _plain("incidents"),
    "incident_new": _plain("incident_new"),
    "incident_of_job": _job("incident_of_job", Stage.JOIN),
    "incident_release": lambda things: [Visit("incident_release", {"pk": things.incident})],
    "emergency_text": _plain("emergency_text"),
    "containers": _plain("containers"),
    "container_new": _plain("container_new"),
    "container": _in_stock("container", "container"),
    "container_reopen": lambda things: [Visit("container_reopen", {"pk": things.container_pk}, **ONLY_POST)],
    "container_label": lambda things: [Visit("container_label", {"pk": things.container_pk}, **ONLY_POST)],
    "consignment": _in_stock("consignment", "consignment", "number"),
    "consignment_note": lambda things: [Visit("consignment_note", {"number": things.consignment}, **ONLY_POST)],
    "waste_rules": _plain("waste_rules"),
    "waste_item_new": _job("waste_item_new", Stage.REMOVED),
    "settings": _plain("settings"),
    "people": _plain("people"),
    "instrument_new": _plain("instrument_new"),
    "testers": _plain("testers"),
    "withdraw_tester": lambda things: [Visit("withdraw_tester", {"pk": things.tester})],
}


def _names(patterns: list[URLPattern | URLResolver]) -> Iterator[str]:
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from _names(pattern.url_patterns)
        else:
            yield pattern.name or f"an address without a name: {pattern.pattern}"


NAMES = sorted(_names(get_resolver("shop.web.urls").url_patterns))


def visits(name: str, things: Things) -> list[Visit]:
    if name not in VISITS:
        pytest.fail(f"The page {name} has no entry in VISITS: say which addresses of it are to be visited.")
    return VISITS[name](things)


def test_every_entry_is_a_page() -> None:
    assert set(VISITS) <= set(NAMES)
    assert len(NAMES) == len(set(NAMES))


# --- the demo's shop


@pytest.fixture(scope="module")
def demo(django_db_setup: None, django_db_blocker: Any) -> Iterator[Things]:
    """Build the demo shop with everything an address can name, once for all pages; take it away afterwards."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield shops.demo()
        transaction.set_rollback(True)


@pytest.fixture
def owner(demo: Things, client: Client) -> Client:
    client.force_login(models.User.objects.get(username="owner"))
    return client


@pytest.mark.parametrize("name", NAMES)
def test_a_page_answers_its_owner(name: str, demo: Things, owner: Client) -> None:
    for visit in visits(name, demo):
        answer = owner.get(visit.address)
        assert answer.status_code in visit.status, visit.address


@pytest.mark.parametrize("name", NAMES)
def test_a_page_shows_every_field_of_its_forms(name: str, demo: Things, owner: Client) -> None:
    """What a form takes can be typed on its page; a field that no template names would be lost without a word."""
    for visit in visits(name, demo):
        answer = owner.get(visit.address)
        shown = answer.content.decode() if answer.context else ""
        for form in _forms(answer):
            fields = {field.html_name for field in form}
            there = {field for field in fields if f'name="{field}' in shown}
            assert not there or there == fields or name in PARTLY, f"{visit.address} hides {fields - there}"


PARTLY = {"group_fields", "customers", "removed"}
"""Pieces of a page that are fetched while its form is typed into, and a heap of one thing, where none is chosen."""


def _forms(answer: Any) -> list[BaseForm]:
    """Return the forms that a page was made of."""
    contexts = answer.context if isinstance(answer.context, ContextList) else [answer.context or Context()]
    given = [value for context in contexts for value in context.flatten().values()]
    return [value for value in given if isinstance(value, BaseForm)]


@pytest.mark.parametrize("name", sorted(set(NAMES) - PUBLIC))
def test_a_page_asks_who_is_there(name: str, demo: Things, client: Client) -> None:
    for visit in visits(name, demo):
        if visit.status != (405,):
            answer = client.get(visit.address)
            assert answer.status_code == 302, visit.address
            assert answer.url.startswith(reverse("sign_in")), visit.address
        sent = client.post(visit.address, {"form_token": "x"})
        assert (sent.status_code, sent.context["next"]) == (401, visit.address)


# --- a shop that writes commas


UNITS = "V|mV|A|mA|Ah|mAh|Ω|mΩ|µΩ|W|Wh|kg|g|°C|%|mm|min|h|s|N·m"
POINT = re.compile(rf"(?<![\w.])\d+\.\d+(?= ?(?:{UNITS})(?!\w))|such as \d+\.\d")
NAMES_OF_MATERIALS = re.compile(r"\(99\.6 %, nickel 200\)|nickel 99\.9 % and more")
WITH_NUMBERS = (
    *("cell", "correct_reading", "cell_model_new", "lot", "lot_new", "import_cells", "read_trace", "trace"),
    *("take_in", "examine", "faults", "target", "match", "limits", "instrument_new", "prices"),
)


@pytest.fixture
def comma(demo: Things, owner: Client) -> Client:
    settings = models.WorkshopSettings.objects.last()
    assert settings is not None
    settings.pk, settings.number_locale, settings._state.adding = None, "de", True
    settings.save()
    return owner


@pytest.mark.parametrize("name", WITH_NUMBERS)
def test_hints_errors_and_check_results_of_a_comma_shop_show_no_decimal_point(
    name: str, demo: Things, comma: Client
) -> None:
    for visit in visits(name, demo):
        for answer in (comma.get(visit.address), comma.post(visit.address, {"form_token": str(uuid.uuid4())})):
            told = NAMES_OF_MATERIALS.sub("", words(answer))
            assert not [told[max(0, found.start() - 60) : found.end() + 10] for found in POINT.finditer(told)]


# --- a shop that grows


@pytest.fixture(scope="module")
def queries(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple["Asked", "Asked"]]:
    """Count the queries of every address in a shop with few rows, and again when it has three times as many."""
    with django_db_blocker.unblock(), transaction.atomic():
        SettingsFactory()
        client = Client()
        client.force_login(UserFactory(username="owner", roles=(Role.OWNER,)))
        counted = []
        for rows_of_each in (FEW, MANY):
            counted.append(Asked(shops.grown(rows_of_each), client))
        yield counted[0], counted[1]
        transaction.set_rollback(True)


@dataclass
class Asked:
    """The queries that each address of a shop takes."""

    things: Things
    client: Client
    of: dict[str, list[list[str]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name in NAMES:
            if name in VISITS:
                self.of[name] = [self._queries(visit.address) for visit in VISITS[name](self.things)]

    def _queries(self, address: str) -> list[str]:
        # what is read once per process, such as content types, is read before
        self.client.get(address)
        with CaptureQueriesContext(connection) as seen:
            self.client.get(address)
        return [query["sql"] for query in seen.captured_queries]


@pytest.mark.parametrize("name", NAMES)
def test_a_page_asks_no_more_of_a_larger_shop(name: str, queries: tuple[Asked, Asked]) -> None:
    small, large = queries
    assert name in small.of, f"The page {name} has no entry in VISITS."
    for few, many in zip(small.of[name], large.of[name], strict=True):
        new = [query for query in many if query not in few]
        assert len(few) == len(many), (
            f"{len(few)} queries became {len(many)}, such as {new[-1][:300] if new else many[-1]}"
        )
