"""The one worker beside the server: takes long work in the order asked, says how far it is, and hears when to stop."""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

from packs.errors import PacksError
from packs.terms import TaskKind, TaskState
from shop.bridge import searching
from shop.models import Plan, Task
from shop.operations import many_files

BREATH = 1.0
"""Seconds between two looks for work."""


@dataclass(frozen=True)
class Heard:
    """How far a piece of work is, and its best answer so far."""

    share: float
    answer: Any


Work = Callable[[Task], Iterator[Heard]]


def _match(task: Task) -> Iterator[Heard]:
    for share, groups in searching.longer(Plan.objects.filter(job=task.job).latest("pk"), task.asked):
        yield Heard(share, groups)


def _read_files(task: Task) -> Iterator[Heard]:
    for share, became in many_files.work_off(task):
        yield Heard(share, became)


DOES: dict[TaskKind, Work] = {TaskKind.MATCHING: _match, TaskKind.TESTER_FILES: _read_files}


def run_next() -> Task | None:
    """Do the piece of work that waits longest, to its end or until it is stopped; None where nothing waits."""
    with transaction.atomic():
        task = Task.objects.select_for_update().filter(state=TaskState.WAITING.value).first()
        if task is None:
            return None
        task.state, task.began_at, task.heard_at = TaskState.RUNNING.value, timezone.now(), timezone.now()
        task.save()
    try:
        for heard in DOES[TaskKind(task.kind)](task):
            if _note(task, heard):
                return _end(task, TaskState.STOPPED)
    except PacksError as error:
        return _end(task, TaskState.FAILED, str(error))
    except Exception:
        _end(task, TaskState.FAILED, "an error of the program; the server's own words say more")
        raise
    return _end(task, TaskState.DONE)


def _note(task: Task, heard: Heard) -> bool:
    """Write down how far it is; True where somebody asked it to stop. Nobody waits for this in a transaction."""
    Task.objects.filter(pk=task.pk).update(share=min(1.0, heard.share), answer=heard.answer, heard_at=timezone.now())
    return Task.objects.values_list("stop_asked", flat=True).get(pk=task.pk)


def _end(task: Task, state: TaskState, told: str = "") -> Task:
    task.refresh_from_db()
    task.state, task.told, task.ended_at = state.value, told[:400], timezone.now()
    task.save(update_fields=["state", "told", "ended_at"])
    return task


def give_up_what_was_left() -> None:
    """What a worker before this one left running has no answer any more."""
    Task.objects.filter(state=TaskState.RUNNING.value).update(
        state=TaskState.FAILED.value, told="the shop was stopped while it ran", ended_at=timezone.now()
    )


def work(parent: int | None) -> None:
    """Take work until the server that started this one is gone."""
    give_up_what_was_left()
    while parent is None or os.getppid() == parent:
        if run_next() is None:
            connection.close()
            time.sleep(BREATH)


def start() -> subprocess.Popen[bytes]:
    """Start a worker for this shop; it ends with the server."""
    environment = os.environ | {"SHOP_DATABASE": settings.SHOP_DATABASE}
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "work", "--parent", str(os.getpid())]
    return subprocess.Popen(command, env=environment)  # noqa: S603 - our own command
