"""What the description of the API promises, held against requests made from it, the same each time.

300 of them by default; ``API_REQUESTS=2000`` in front asks for more.
"""

import itertools
import os
import uuid
from collections.abc import Iterator
from math import ceil
from typing import Any

import pytest
import schemathesis
from django.conf import settings
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, transaction
from django.test import Client
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from packs.terms import STEPS, DocumentKind, Role, Stage
from shop import models
from shop.operations import documents, workshop
from tests import line
from tests.factories import CellFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db

REQUESTS = int(os.environ.get("API_REQUESTS", "300"))
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
EVERY = 3
"""Of so many requests one keeps what was made up; in the others names of things that are there stand in."""

SCHEMA = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))  # type: ignore[no-untyped-call]
SCHEMA.app = get_wsgi_application()
OPERATIONS = {operation.label: operation for operation in (one.ok() for one in SCHEMA.get_all_operations())}
EXAMPLES = ceil(REQUESTS / len(OPERATIONS))
STAGES = (Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)


@pytest.fixture(scope="module")
def numbers(django_db_setup: None, django_db_blocker: Any) -> Iterator[list[int]]:
    """Build a shop with a job at every stage, once; return the numbers of the jobs."""
    with django_db_blocker.unblock(), transaction.atomic():
        SettingsFactory()
        jobs = [line.job_at(stage) for stage in STAGES]
        CellFactory(code="A1")
        models.Instrument.objects.create(name="bench meter 1")
        line.containers()
        documents.issue(job=jobs[-1], kind=DocumentKind.TEST_REPORT, by=line.technician())
        workshop.add_instrument(name="bench meter 2", error_ppm=500, error_uv=0, by=line.technician())
        yield [job.number for job in jobs]
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def one_connection() -> Iterator[None]:
    """Keep the test's own connection between requests, as Django's test client does."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture
def cookies(numbers: list[int]) -> dict[str, str]:
    """Return the cookies of somebody who is signed in and may do everything."""
    client = Client()
    client.force_login(UserFactory(username="everyone", roles=tuple(Role)))
    session, token = client.cookies[settings.SESSION_COOKIE_NAME].value, "a" * 32
    return {settings.SESSION_COOKIE_NAME: session, settings.CSRF_COOKIE_NAME: token}


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_it_holds(label: str, numbers: list[int], cookies: dict[str, str]) -> None:
    operation, sent, seen = OPERATIONS[label], itertools.count(), set()
    known = itertools.cycle(numbers)
    cases = st.one_of(operation.as_strategy(), operation.as_strategy(GenerationMode.NEGATIVE))

    @hypothesis_settings(
        max_examples=EXAMPLES,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=cases)
    def ask(case: schemathesis.Case) -> None:
        if next(sent) % EVERY:
            _name_what_is_there(case, next(known))
        with transaction.atomic():
            case.cookies = {}
            answer = case.call(headers={"X-CSRFToken": cookies[settings.CSRF_COOKIE_NAME]}, cookies=cookies)
            transaction.set_rollback(True)
        seen.add(answer.status_code)
        case.validate_response(answer, checks=CHECKS)

    ask()
    assert seen - {401, 403}, "nobody was let in"


THERE: dict[str, Any] = {
    "cell_model": "Round 2.6",
    "lot": "L1",
    "cell": "A1",
    "instrument": "bench meter 1",
    "container": "W-DAMAGED",
    "cells": [],
}


def _name_what_is_there(case: schemathesis.Case, number: int) -> None:
    """Let a request be about a job, a cell, a lot that the shop has, and let it count as a new one."""
    if case.path_parameters:
        there = {"number": number, "code": "W-DAMAGED", "id": models.Reading.objects.filter(cell__code="A1")[0].pk}
        case.path_parameters = {name: there.get(name, value) for name, value in case.path_parameters.items()}
    if isinstance(case.body, dict):
        case.body = {name: THERE.get(name, value) for name, value in case.body.items()}
    if case.method == "POST":
        case.headers = {**(case.headers or {}), "Idempotency-Key": uuid.uuid4().hex}  # type: ignore[assignment]
