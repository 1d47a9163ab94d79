"""Every refusal speaks one language, whatever refused: the address, the method, the body, the framework."""

import json
import uuid
from typing import Any

import pytest
from django.conf import settings
from drf_spectacular.generators import SchemaGenerator
from rest_framework import exceptions
from rest_framework.test import APIClient

from packs.terms import Role
from shop.api.errors import handle
from tests.factories import CellFactory, UserFactory

pytestmark = pytest.mark.django_db
MODELS = "/api/v1/cell-models/"


@pytest.fixture
def client(db: None) -> APIClient:
    client = APIClient(raise_request_exception=False)
    client.force_login(UserFactory(username="technician", roles=(Role.TECHNICIAN, Role.LEAD)))
    return client


def refusal(answer: Any, status: int) -> dict[str, Any]:
    assert answer.status_code == status, answer.content
    told: dict[str, Any] = json.loads(answer.content)
    assert set(told) == {"code", "message", "facts"}
    assert told["message"]
    return told


def post(client: APIClient, body: bytes | str, kind: str = "application/json") -> Any:
    return client.generic("POST", MODELS, body, content_type=kind, headers={"Idempotency-Key": "k"})


@pytest.mark.parametrize(
    ("address", "code"),
    [
        ("/api/v1/nothing/", "not_found"),
        ("/api/v2/", "not_found"),
        ("/api/v1/jobs/99/", "not_found"),
        ("/api/v1/jobs/99/items/", "not_found"),
        ("/api/v1/jobs/99999999999999999999999/", "not_found"),
        ("/api/v1/cells/?page=99", "not_found"),
        ("/api/v1/cells/?page=x", "not_found"),
        ("/api/v1/containers/%00/closing/", "not_found"),
    ],
)
def test_what_is_not_there(client: APIClient, address: str, code: str) -> None:
    assert refusal(client.get(address), 404)["code"] == code


@pytest.mark.parametrize("query", ["?colour=red", "?job=seven", "?job=-1"])
def test_a_filter_nobody_knows_or_nobody_can_read(client: APIClient, query: str) -> None:
    assert refusal(client.get("/api/v1/cells/" + query), 400)["code"] in ("unknown_filter", "bad_filter")


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE"])
def test_a_method_that_is_not_there(client: APIClient, method: str) -> None:
    answer = client.generic(method, MODELS, "{}", content_type="application/json")
    assert refusal(answer, 405)["code"] == "method_not_allowed"
    assert "POST" in answer.headers["Allow"]


def test_another_media_type(client: APIClient) -> None:
    assert refusal(post(client, "name=A", "application/x-www-form-urlencoded"), 415)["code"] == "unsupported_media_type"
    assert refusal(client.get(MODELS, headers={"Accept": "text/csv"}), 406)["code"] == "not_acceptable"


@pytest.mark.parametrize(
    "body",
    [
        b"{",
        b"",
        b"\xff\xfe",
        b'{"name": NaN}',
        b"[" * 100_000,
        b"1" * 10_000,
        b'{"name": "\\u0000"}',
        b'{"name": "\\ud800"}',
        b'{"\\ud800": 1}',
        b"[]",
        b'"name"',
        b"null",
    ],
    ids=lambda body: repr(body[:16]),
)
def test_a_body_that_is_none(client: APIClient, body: bytes) -> None:
    assert refusal(post(client, body), 400)["code"] in ("parse_error", "invalid")


READING = {"cell": "C1", "measure": "capacity_mah", "value": "2500"}


def reading(client: APIClient, **changed: Any) -> Any:
    headers = {"Idempotency-Key": uuid.uuid4().hex}
    return client.post("/api/v1/readings/", READING | changed, format="json", headers=headers)


def test_a_field_nobody_knows_is_refused_and_not_passed_over(client: APIClient) -> None:
    CellFactory(code="C1")
    told = refusal(reading(client, taken_at="2031-01-01"), 400)
    assert told["facts"]["fields"] == {"taken_at": ["There is no such field here."]}
    rows = [{"code": "C2", "readings": {}, "colour": "red"}]
    answer = client.post(
        "/api/v1/cells/import/", {"lot": "L1", "rows": rows}, format="json", headers={"Idempotency-Key": "k"}
    )
    assert "rows.0.colour" in refusal(answer, 400)["facts"]["fields"]


def test_a_cell_is_found_as_a_scanner_sends_its_code(client: APIClient) -> None:
    CellFactory(code="C1")
    assert reading(client, cell="c1").json()["cell"] == "C1"


def test_what_is_missing_is_said_in_the_shops_words(client: APIClient) -> None:
    fields = refusal(reading(client, cell="NOPE"), 400)["facts"]["fields"]
    assert fields == {"cell": ["“NOPE” is not in the book."]}
    told = refusal(post(client, b"[]"), 400)
    assert told["facts"]["fields"] == {"non_field_errors": ["Send one JSON object, its fields by their names."]}


def test_a_body_without_end(client: APIClient) -> None:
    body = json.dumps({"name": "x" * settings.DATA_UPLOAD_MAX_MEMORY_SIZE})
    assert refusal(post(client, body), 413)["code"] == "too_large"


@pytest.mark.parametrize("key", ["", "x" * 61, "two words", "tab\t", "é"])
def test_a_post_names_its_key(client: APIClient, key: str) -> None:
    body = {"code": "W1", "condition": "damaged", "started_on": "2026-11-02"}
    answer = client.post("/api/v1/containers/", body, format="json", headers={"Idempotency-Key": key})
    assert refusal(answer, 400)["code"] == "key_missing"


def test_who_asks_too_often_is_told_when_to_come_back() -> None:
    answer = handle(exceptions.Throttled(wait=7), {})
    assert answer is not None
    assert (answer.status_code, answer.data["code"], answer.headers["Retry-After"]) == (429, "throttled", "7")


def test_a_session_that_ended(client: APIClient) -> None:
    client.logout()
    assert refusal(client.get(MODELS), 401)["code"] == "not_authenticated"


def test_a_signed_in_browser_needs_its_own_page_behind_it() -> None:
    """A form on another site cannot post with the shop's cookie."""
    strict = APIClient(enforce_csrf_checks=True)
    strict.force_login(UserFactory(username="technician"))
    assert refusal(post(strict, "{}"), 403)["code"] == "permission_denied"


class TestDescription:
    def test_it_holds_and_nothing_in_it_is_guessed(self, capsys: pytest.CaptureFixture[str]) -> None:
        from django.core.management import call_command

        call_command("spectacular", validate=True, fail_on_warn=True)
        described = capsys.readouterr().out
        assert "testerKey" in described
        assert "Idempotency-Key" in described

    def test_every_operation_has_a_line_in_the_list(self) -> None:
        described = SchemaGenerator().get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
        listed = [one for path in described["paths"].values() for one in path.values()]
        assert [one["operationId"] for one in listed if not one.get("summary")] == []
        assert len({one["summary"] for one in listed}) > len(listed) * 0.9

    def test_its_page_holds_no_script_of_its_own(self, client: APIClient) -> None:
        answer = client.get("/api/v1/docs/")
        html = answer.content.decode()
        assert answer.status_code == 200
        assert "<script>" not in html
        assert "style" not in html.replace("stylesheet", "")
        assert "//" not in html.replace("http://www.w3.org", "")
        assert "unsafe" not in answer.headers["Content-Security-Policy"]

    def test_its_files_are_ours(self, client: APIClient) -> None:
        import re

        html = client.get("/api/v1/docs/").content.decode()
        for address in re.findall(r'(?:src|href)="(/static/[^"]+)"', html):
            assert client.get(address).status_code == 200, address


def test_what_hardly_any_cell_has_is_asked_back_with_the_field_that_confirms_it(client: APIClient) -> None:
    """Invented: ampere hours sent where milliampere hours are asked."""
    CellFactory(code="A1", readings={})
    sent: dict[str, Any] = {"cell": "A1", "measure": "capacity_mah", "value": "2.507"}
    readings = "/api/v1/readings/"
    told = refusal(client.post(readings, sent, format="json", headers={"Idempotency-Key": "a"}), 409)
    assert (told["code"], told["facts"]["confirm"], told["facts"]["field"]) == ("unlikely_value", "sure", "value")
    answer = client.post(readings, sent | {"sure": True}, format="json", headers={"Idempotency-Key": "b"})
    assert (answer.status_code, answer.json()["value"]) == (201, "2.507")
