"""The job log."""

from datetime import datetime
from typing import Any

from shop.models import Job, LogEntry, User


def record(verb: str, *, by: User, at: datetime, job: Job | None = None, **facts: Any) -> LogEntry:
    """Add one line to the job log."""
    return LogEntry.objects.create(job=job, at=at, by=by, verb=verb, facts=facts)
