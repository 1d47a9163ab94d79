"""Long work, asked for and stopped; the worker beside the server does it (`shop.management.worker`)."""

from datetime import datetime, timedelta
from typing import Any

from packs.terms import Stage, TaskKind, TaskState
from shop.errors import ShopError
from shop.models import Job, Task, User

from . import log
from .base import BENCH, lock_job, moment, require_stage, save, verb

SILENT_AFTER = timedelta(minutes=2)
"""A worker that has said nothing for so long is gone, and its work with it; our own, no source."""
OPEN = (TaskState.WAITING.value, TaskState.RUNNING.value)


@verb(*BENCH)
def search_longer(*, job: Job, asked: dict[str, Any], by: User, now: datetime | None = None) -> Task:
    """A search for better groups goes on without anybody waiting for its page; one at a time for a job."""
    at = moment(now)
    job = lock_job(job)
    require_stage(job, Stage.MATCH)
    if (going := Task.objects.filter(job=job, state__in=OPEN).first()) is not None:
        if at - (going.heard_at or going.at) < SILENT_AFTER:
            raise ShopError("search_runs", "A search for this job is running; stop it first.")
        going.state, going.ended_at, going.told = TaskState.FAILED.value, at, "the worker stopped answering"
        save(going)
    task = save(Task(kind=TaskKind.MATCHING.value, job=job, asked=asked, by=by, at=at))
    log.record("longer search begun", by=by, at=at, job=job)
    return task


@verb(*BENCH)
def stop(*, task: Task, by: User, now: datetime | None = None) -> Task:
    """Long work ends at its next breath; the best that it has so far stays."""
    at = moment(now)
    task = Task.objects.select_for_update().get(pk=task.pk)
    if task.over:
        raise ShopError("over_already", "This has ended already.")
    task.stop_asked = True
    if TaskState(task.state) is TaskState.WAITING or at - (task.heard_at or task.at) >= SILENT_AFTER:
        task.state, task.ended_at = TaskState.STOPPED.value, at
    save(task)
    log.record("long work stopped", by=by, at=at, job=task.job)
    return task
