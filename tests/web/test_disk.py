"""A disk that is full or cannot be written: the page says so, nothing is half written, and work goes on afterwards.

SQLite itself refuses here: a bound on the pages of its file is what a full disk is to it, and `query_only` a disk that
may only be read. Behind the marker `long` a real file system fills up, which takes root to mount. On SQLite alone.
"""

import subprocess
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from packs.terms import Role
from shop import disk, models
from shop.management import databases
from shop.selectors import audit
from tests.doors import DOORS
from tests.factories import SettingsFactory
from tests.operations import calls
from tests.refusal import tables
from tests.web.desk import sign_in, words

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("committed_db")]


@pytest.fixture
def desk() -> Client:
    SettingsFactory()
    client = Client(raise_request_exception=False)
    sign_in(client, Role.COUNTER)
    assert send(client).status_code == 302
    return client


def send(client: Client, complaint: str = "runs five minutes") -> Any:
    way = DOORS["intake.take_in"].page(client, calls.TAKE_IN)
    named = {"customer_name": f"Customer {uuid.uuid4()}", "complaint": complaint}
    return client.post(way.address, way.sent | named | {"form_token": str(uuid.uuid4())})


def pragma(words: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {words}")
        row = cursor.fetchone()
    return int(row[0]) if row else 0


@contextmanager
def full() -> Iterator[None]:
    """The file may not grow, and what is free inside it is used up."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")
    pragma(f"max_page_count = {pragma('page_count')}")
    try:
        yield
    finally:
        pragma("max_page_count = 1073741823")


@contextmanager
def closed() -> Iterator[None]:
    pragma("query_only = ON")
    try:
        yield
    finally:
        pragma("query_only = OFF")


@pytest.mark.parametrize(("trouble", "heading"), [(full, "The disk is full"), (closed, "The disk cannot be written")])
def test_the_page_says_so_and_nothing_is_half_written(desk: Client, trouble: Any, heading: str) -> None:
    before = tables()
    with trouble():
        answers = [send(desk, "x" * 2000) for _ in range(12)]
        refused = [answer for answer in answers if answer.status_code != 302]
        assert refused, "everything went in, so this proves nothing"
        for answer in refused:
            assert answer.status_code == 503
            assert heading in words(answer)
            assert "What you sent just now was not recorded" in words(answer)
    assert pragma("page_count") > 0
    came = len(answers) - len(refused)
    assert models.Job.objects.count() == len(before["Job"]) + came
    assert list(audit.differences()) == []
    assert send(desk).status_code == 302, "work goes on once there is room"
    assert list(audit.differences()) == []


def test_the_api_says_so(desk: Client) -> None:
    user = models.User.objects.get(username="counter")
    desk.force_login(user)
    sent = {"customer_name": "Ida Moor", "nameplate": {"model": "GP-3", "device_class": "tool"}, "signs": []}
    with closed():
        answer = desk.post(
            "/api/v1/jobs/", sent | {"removed_owner": "shop"}, content_type="application/json",
            headers={"Idempotency-Key": "k1"},
        )  # fmt: skip
    assert (answer.status_code, answer.json()["code"]) == (503, "disk_closed")


def test_other_errors_are_no_trouble_with_the_disk() -> None:
    assert disk.trouble(None) is None
    assert disk.trouble(ValueError("disk full")) is None
    assert disk.trouble(PermissionError(13, "no")) is None
    assert disk.trouble(OSError(28, "No space left on device")) is disk.FULL


@pytest.mark.long
def test_a_real_disk_fills_up(tmp_path: Path, desk: Client) -> None:
    place, own = tmp_path / "small", connection.settings_dict["NAME"]
    place.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(place)], check=True)
    try:
        copy = databases.copy_database(Path(own), place / "shop.sqlite3")
        connection.close()
        connection.settings_dict["NAME"] = str(copy)
        answers = []
        while not answers or answers[-1].status_code == 302:
            answers.append(send(desk, "x" * 2000))
        assert (answers[-1].status_code, "The disk is full" in words(answers[-1])) == (503, True)
        assert models.Job.objects.count() == len(answers)
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            assert cursor.fetchone() == ("ok",)
        assert list(audit.differences()) == []
    finally:
        connection.close()
        connection.settings_dict["NAME"] = own
        subprocess.run(["umount", str(place)], check=True)
