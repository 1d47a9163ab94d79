"""The server is killed in the middle of work (SIGKILL): nothing it had acknowledged is lost, and the books balance.

Three people post at once; the server is killed at a random moment of their posting. What was acknowledged is there,
what was not is there whole or not at all, and sent again under its key it happens once.
"""

import http.client
import itertools
import json
import os
import random
import secrets
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from packs.terms import Role
from shop import models
from shop.selectors import audit
from tests import line
from tests.factories import CellFactory, SettingsFactory, UserFactory

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("committed_db")]

ROOT = Path(__file__).resolve().parents[2]
PEOPLE = 3
MOST, LONGEST = 4, 0.03
"""Answers and then seconds until the kill: a posting takes some 20 ms, so that it meets the next ones half-way."""


@dataclass
class Person:
    """Somebody who posts, each thing under a key of its own, and remembers what was acknowledged."""

    number: int
    cookies: str
    token: str
    keys: Iterator[int] = field(default_factory=itertools.count)
    jobs: dict[str, int] = field(default_factory=dict)
    readings: dict[str, int] = field(default_factory=dict)
    unanswered: list[tuple[str, str, dict[str, Any]]] = field(default_factory=list)
    strange: list[str] = field(default_factory=list)

    def work(self, port: int) -> None:
        """Post until the server is gone."""
        try:
            for key, path, body in list(self.unanswered):
                self.post(port, key, path, body)
                self.unanswered.remove((key, path, body))
            while True:
                key = f"p{self.number}-{next(self.keys)}"
                job = secrets.randbelow(2) == 0
                asked = (key, "jobs/", self.take_in(key)) if job else (key, "readings/", self.reading(key))
                self.unanswered.append(asked)
                self.post(port, *asked)
                self.unanswered.remove(asked)
        except (OSError, http.client.HTTPException):
            pass  # the server is gone

    def take_in(self, key: str) -> dict[str, Any]:
        nameplate = {"model": "Garden pump GP-3", "device_class": "tool"}
        return {"customer_name": key, "nameplate": nameplate, "signs": [], "removed_owner": "shop"}

    def reading(self, key: str) -> dict[str, Any]:
        return {"cell": "R1", "measure": "capacity_mah", "value": "2500", "conditions": key}

    def post(self, port: int, key: str, path: str, body: dict[str, Any]) -> None:
        server = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        try:
            headers = {
                "Content-Type": "application/json", "Idempotency-Key": key, "Cookie": self.cookies,
                "X-CSRFToken": self.token,
            }  # fmt: skip
            server.request("POST", f"/api/v1/{path}", json.dumps(body), headers)
            answer = server.getresponse()
            said = json.loads(answer.read())
        finally:
            server.close()
        if answer.status != 201:
            self.strange.append(f"{answer.status} {said}")
        elif path == "jobs/":
            self.jobs[key] = said["number"]
        else:
            self.readings[key] = said["id"]


def people() -> list[Person]:
    """Sign three people in, as their browsers would be."""
    found = []
    for number in range(PEOPLE):
        client, token = Client(), secrets.token_hex(16)
        client.force_login(UserFactory(username=f"bench {number}", roles=(Role.TECHNICIAN,)))
        found.append(Person(number, f"sessionid={client.cookies['sessionid'].value}; csrftoken={token}", token))
    return found


class Mortal:
    """A server that can be started and killed quickly."""

    def __init__(self) -> None:
        name = str(connection.settings_dict["NAME"])
        self.parent = subprocess.Popen(
            [sys.executable, "-m", "tests.operations.mortal", name],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip

    def start(self) -> tuple[int, int]:
        assert self.parent.stdin
        assert self.parent.stdout
        self.parent.stdin.write("start\n")
        self.parent.stdin.flush()
        process, port = self.parent.stdout.readline().split()
        return int(process), int(port)

    def end(self, last: int) -> None:
        if last:
            with suppress(ProcessLookupError):
                os.kill(last, signal.SIGKILL)
        assert self.parent.stdin
        self.parent.stdin.close()
        self.parent.wait(timeout=20)


@pytest.mark.parametrize("kills", [20, pytest.param(200, marks=pytest.mark.long)])
def test_nothing_acknowledged_is_lost(kills: int) -> None:
    SettingsFactory()
    line.technician()
    CellFactory(code="R1", readings={})
    benches, mortal, moments = people(), Mortal(), random.Random(11)
    met, process = 0, 0
    try:
        for _ in range(kills):
            process, port = mortal.start()
            threads = [threading.Thread(target=bench.work, args=(port,)) for bench in benches]
            for thread in threads:
                thread.start()
            wait_for(benches, moments.randint(0, MOST))
            time.sleep(moments.uniform(0, LONGEST))
            os.kill(process, signal.SIGKILL)
            for thread in threads:
                thread.join()
            met += any(bench.unanswered for bench in benches)
            require_nothing_lost(benches)
    finally:
        mortal.end(process)
    assert met > kills / 2, "hardly any kill met somebody at work, so this proves little"
    assert answered(benches) > kills
    assert list(audit.differences()) == []


def answered(benches: list[Person]) -> int:
    return sum(len(bench.jobs) + len(bench.readings) + len(bench.strange) for bench in benches)


def wait_for(benches: list[Person], more: int) -> None:
    """Wait until so many more postings were answered."""
    due = answered(benches) + more
    until = time.monotonic() + 60
    while answered(benches) < due:
        assert time.monotonic() < until, "the server does not answer"
        time.sleep(0.001)


def require_nothing_lost(benches: list[Person]) -> None:
    assert [bench.strange for bench in benches if bench.strange] == []
    jobs = dict(models.Job.objects.values_list("device__customer__name", "number"))
    readings = dict(models.Reading.objects.values_list("conditions", "pk"))
    for bench in benches:
        assert bench.jobs.items() <= jobs.items()
        assert bench.readings.items() <= readings.items()
    assert len(jobs) == models.Job.objects.count(), "a posting that was sent again came in twice"
    assert len(readings) == models.Reading.objects.count()
    # whole or not at all: each job has its device in the book and its line in the log
    numbers = list(models.Job.objects.order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    assert models.Item.objects.count() == models.Movement.objects.filter(item__isnull=False).count() == len(numbers)
    assert models.LogEntry.objects.filter(verb="taken in").count() == len(numbers)
