"""What every operation shares: who may, one transaction, locks that notice a stale page, and the clock."""

import functools
from collections.abc import Callable
from datetime import datetime
from typing import ParamSpec, TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, models, transaction
from django.utils import timezone

from packs.errors import PacksError
from packs.terms import Role, Stage
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import Incident, Job, Plan, PlanState, User

P = ParamSpec("P")
R = TypeVar("R")
M = TypeVar("M", bound=models.Model)

EVERYONE = (Role.COUNTER, Role.TECHNICIAN, Role.LEAD, Role.OWNER)
BENCH = (Role.TECHNICIAN, Role.LEAD, Role.OWNER)
LEADS = (Role.LEAD, Role.OWNER)

TURN = 7_402_315
"""The number of the one lock that operations take turns by; it means nothing."""

VERBS: dict[str, frozenset[Role]] = {}
"""Every operation of the shop by module and name, and the roles that may call it."""


def verb(*roles: Role) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Make a function an operation: only the given roles may call it, it is one transaction, and refuses one way."""

    def wrap(function: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(function)
        def run(*args: P.args, **kwargs: P.kwargs) -> R:
            require_role(kwargs.get("by"), roles)
            try:
                with transaction.atomic():
                    take_turn()
                    return function(*args, **kwargs)
            except PacksError as error:
                raise ShopError("impossible_value", str(error)) from error

        VERBS[f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__}"] = frozenset(roles)
        return run

    return wrap


def take_turn() -> None:
    """Let one operation write at a time, before it locks anything else.

    Every operation adds to the chains of log and movements, so two of them would wait for each other there, and in a
    circle where each held a row that the other wants. SQLite's IMMEDIATE transactions take turns by themselves.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [TURN])


def require_role(by: object, roles: tuple[Role, ...]) -> None:
    """Refuse a person who holds none of the roles."""
    if isinstance(by, User) and by.is_active and by.holds(*roles):
        return
    names = " or ".join(role.label for role in roles)
    raise ShopError("not_allowed", f"This is for the {names}.", roles=[role.value for role in roles])


def moment(now: datetime | None) -> datetime:
    """Return the given moment, or this one."""
    return now or timezone.now()


def lock_job(job: Job, version: int | None = None, *, closed_too: bool = False, frozen_too: bool = False) -> Job:
    """Return the job as the database has it, locked; refuse when it moved on since ``version`` was read, or is frozen."""
    locked = Job.objects.select_for_update().get(pk=job.pk)
    if locked.closed_at is not None and not closed_too:
        raise ShopError("closed", f"Job {locked.code} is closed; nothing can be added to it.", job=locked.code)
    if not frozen_too and (incident := Incident.objects.freezing().filter(job=locked).first()):
        raise ShopError(
            "frozen",
            f"Nothing goes on with job {locked.code}: {incident}. A lead releases it in writing first.",
            job=locked.code,
        )
    if version is not None and locked.version != version:
        raise ShopError(
            "stale",
            f"Somebody changed job {locked.code} since this page was opened. What you typed is still here; "
            "read the job again and send it once more.",
            job=locked.code,
            version=locked.version,
        )
    return locked


def require_stage(job: Job, *stages: Stage, parked_too: bool = False) -> None:
    """Refuse a step out of order or on a parked pack, and say what is next instead."""
    if rules.stopping(rules.amber_cleared(job)):
        raise ShopError("held", f"Job {job.code} waits for a lead's written findings.", job=job.code)
    if Stage(job.stage) not in stages:
        raise ShopError(
            "out_of_order",
            f"Job {job.code} is at another stage; next is: {job.label_of(Stage(job.stage))}.",
            job=job.code,
            stage=job.stage,
        )
    if job.parked and not parked_too:
        raise ShopError(
            "parked",
            f"The pack of job {job.code} is parked: {job.parked_in}. Measure it and take it up again first.",
            job=job.code,
            place=job.parked_in,
        )


def advance(job: Job, stage: Stage) -> None:
    """Move the job to its next stage."""
    job.stage = stage.value
    job.version += 1
    save(job)


def standing_plan(job: Job) -> Plan:
    """Return the plan that counts for the job, locked."""
    plan = Plan.objects.select_for_update().filter(job=job).exclude(state=PlanState.ABANDONED.value).first()
    if plan is None:
        raise ShopError("no_plan", f"Job {job.code} has no target pack yet.", job=job.code)
    return plan


def save(row: M) -> M:
    """Check a row as a whole, save it, return it; what the models refuse becomes a plain refusal."""
    try:
        row.full_clean(validate_constraints=False)
        _write(row)
    except ValidationError as error:
        field, refusals = next(iter(error.error_dict.items()))
        text = " ".join(error.message_dict[field])
        if field == "__all__":
            raise ShopError("invalid", text) from error
        if taken := _taken(error.error_dict[field][0]):
            raise ShopError("invalid", taken, field=field) from error
        name = field.removesuffix("_id").replace("_", " ")
        if any(refusal.code == "unique" for refusal in refusals):
            raise ShopError(
                "invalid", f"This {name} already exists in the book. Choose another.", field=field
            ) from error
        raise ShopError("invalid", f"{name.capitalize()}: {text}", field=field) from error
    return row


def _taken(error: ValidationError) -> str:
    """Say in the shop's words that another row has this name or code; nothing for any other fault."""
    if error.code != "unique" or not error.params:
        return ""
    return f"Another {error.params['model_name'].lower()} has this {error.params['field_label'].lower()} already."


def _write(row: models.Model) -> None:
    """Let the database hold its own constraints, and ask them for words only when one was broken: each costs a query."""
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError:
        row.validate_constraints()
        raise
