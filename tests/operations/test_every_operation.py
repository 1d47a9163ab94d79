"""What holds for every operation, asked of every operation there is; a new one cannot escape."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction

from packs.terms import ROUTES, DangerSign, JobKind, Role, Stage
from shop import models
from shop.operations import closeout, intake
from shop.operations.base import VERBS
from tests import line
from tests.factories import UserFactory
from tests.operations import calls
from tests.refusal import refused

pytestmark = pytest.mark.django_db

OUT_OF_RED = {
    "channels.promise",
    "photographs.keep_photograph",
    "photographs.withdraw_photograph",
    "completing.complete_intake",
    "disposal.to_container",
    "disposal.to_emergency_route",
    "disposal.add_item",
    "disposal.finish_removed",
    "closeout.hand_over",
    "documents.issue",
    "incidents.report_incident",
}
WHILE_HELD = {
    "histories.state_order",
    "channels.queue_cells",
    "channels.promise",
    "photographs.keep_photograph",
    "photographs.withdraw_photograph",
    "intake.clear_amber",
    "intake.condemn",
    "intake.report_danger",
    "documents.issue",
    "completing.complete_intake",
    "incidents.report_incident",
}
OF_REMOVED = {"disposal.to_stock", "disposal.to_customer", "disposal.to_container", "disposal.to_emergency_route"}
ANY_TIME = {"intake.report_danger", "giving_up.give_up"}
"""What is refused for what became of the pack, not for the stage."""
REOPENED = ("rebuild.measure_before_joining", Stage.JOIN)
"""Cells that were measured long ago, as this job's were, are measured again while no joint is on."""
IN_ORDER = [name for name in calls.OF_JOBS if calls.CALLS[name].stages and name not in ANY_TIME]


@contextmanager
def taken_back() -> Iterator[None]:
    """Do something for a look at it, and undo it."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def holder(role: Role) -> models.User:
    return UserFactory(username=f"one {role.value}", roles=(role,))


def test_the_table_names_every_operation() -> None:
    assert set(calls.CALLS) == set(VERBS)


@pytest.mark.parametrize("name", sorted(VERBS))
def test_only_who_holds_a_role_for_it_may_and_the_log_says_who(name: str) -> None:
    job = calls.job_for(name)
    given = calls.arguments(name, job)
    gone = UserFactory(username="gone", roles=tuple(Role), is_active=False)
    for person in (gone, *(holder(role) for role in set(Role) - VERBS[name])):
        with refused("not_allowed"):
            calls.function(name)(**given | {"by": person})
    for role in VERBS[name]:
        person = holder(role)
        with taken_back():
            calls.function(name)(**given | {"by": person})
            if name != "stock.record_reading":  # the reading itself says who took it
                assert models.LogEntry.objects.filter(by=person).exists()


def test_nothing_is_added_to_a_closed_job() -> None:
    job = line.job_at(Stage.HAND_OVER)
    at_the_customers = "incidents.report_incident"
    asked = [(name, calls.arguments(name, job)) for name in calls.OF_JOBS if name != at_the_customers]
    line.hand_over(job)
    by = everyone()
    for name, given in asked:
        with refused("closed"):
            calls.function(name)(**given | {"by": by})


@pytest.mark.parametrize("name", [name for name in calls.OF_JOBS if calls.takes(name, "version")])
def test_a_page_that_somebody_overtook_is_refused(name: str) -> None:
    job = calls.job_for(name)
    assert job is not None
    given = calls.arguments(name, job)
    by = everyone()
    with refused("stale") as caught:
        calls.function(name)(**given | {"by": by, "version": job.version - 1})
    assert caught.value.facts["version"] == job.version
    calls.function(name)(**given | {"by": by, "version": job.version})


@pytest.mark.parametrize("stage", list(ROUTES[JobKind.REBUILD])[1:])
def test_a_step_out_of_its_order_is_refused(stage: Stage) -> None:
    job = line.job_at(stage)
    by = everyone()
    for name in IN_ORDER:
        if (name, stage) == REOPENED:
            continue
        if stage not in calls.CALLS[name].stages and name not in ("intake.clear_amber", "intake.condemn"):
            given = calls.arguments(name, job)
            with refused("out_of_order") as caught:
                calls.function(name)(**given | {"by": by})
            assert stage.label in caught.value.message


def test_an_amber_pack_waits_for_a_lead_with_everything() -> None:
    job = line.job_at(Stage.EXAMINE, **calls.AMBER)
    by = everyone()
    for name in sorted(set(calls.OF_JOBS) - WHILE_HELD - OF_REMOVED):
        given = calls.arguments(name, job)
        with refused("held"):
            calls.function(name)(**given | {"by": by})


@pytest.mark.parametrize("seen", ["at the door", "later"])
def test_a_red_pack_has_no_way_on_but_disposal(seen: str) -> None:
    job = red_job(seen)
    by = everyone()
    for name in sorted(set(calls.OF_JOBS) - OUT_OF_RED):
        given = calls.arguments(name, job)
        with refused():
            calls.function(name)(**given | {"by": by})


def red_job(seen: str) -> models.Job:
    if seen == "at the door":
        return line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
    job = line.job_at(Stage.DISMANTLE)
    intake.report_danger(job=job, signs=[DangerSign.SWELLING], by=line.technician())
    job.refresh_from_db()
    return job


def everyone() -> models.User:
    return UserFactory(username="everyone", roles=tuple(Role))


def test_a_refusal_says_what_a_person_can_do() -> None:
    """The code stays for programs, the sentence is for people."""
    job = line.job_at(Stage.EXAMINE)
    with refused("out_of_order") as caught:
        closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())
    assert caught.value.facts == {"job": job.code, "stage": "examine"}
    assert caught.value.message == f"Job {job.code} is at another stage; next is: Examine."
