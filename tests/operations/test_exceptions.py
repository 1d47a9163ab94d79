"""Written exceptions: one rule, one job, one lead who says why; nothing leaks, and what can set fire is never accepted.

One job stands before its final test for all of these, with a pack that gives 4000 mAh where its cells promise 4873.5.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction

from packs.rules import RULES
from packs.terms import DocumentKind, Outcome, Stage
from shop import models, printing
from shop.bridge import rules
from shop.operations import documents, exceptions, proving
from shop.operations.steps import StepResult
from tests import line
from tests.refusal import refused

CAPACITY = "final.capacity"
WEAK = {
    "capacity_mah": Decimal(4000),
    "conditions": line.AS_THE_CELLS,
    "pack_rest_mv": Decimal(16560),
    "groups_mv": [Decimal(4140)] * 4,
    **line.proof(),
}


@pytest.fixture(scope="module")
def built(django_db_setup: None, django_db_blocker: Any) -> Iterator[models.Job]:
    with django_db_blocker.unblock(), transaction.atomic():
        yield line.job_at(Stage.FINAL_TEST)
        transaction.set_rollback(True)


@pytest.fixture
def job(db: None, built: models.Job) -> models.Job:
    built.refresh_from_db()
    return built


def final_test(job: models.Job, **changed: Any) -> StepResult:
    job.refresh_from_db()
    return proving.final_test(job=job, **(WEAK | changed), by=line.technician())


def stops(result: StepResult) -> list[str]:
    return [finding.rule_id for finding in result.findings if finding.stops]


def test_the_step_is_done_and_its_snapshot_says_who_when_and_why(job: models.Job) -> None:
    assert stops(final_test(job)) == [CAPACITY]
    row = line.accept_in_writing(job, CAPACITY, "for a lamp; agreed by telephone")
    result = final_test(job)
    assert result.done
    (found,) = [one for one in result.step.findings if one["rule_id"] == CAPACITY]
    assert found["outcome"] == Outcome.ACCEPTED
    assert found["accepted"] == {
        "number": row.pk,
        "by": str(line.lead()),
        "at": row.at.isoformat(),
        "reason": "for a lamp; agreed by telephone",
    }
    assert found["message"].endswith(f"Accepted in writing by {line.lead()}: for a lamp; agreed by telephone")
    assert "4000" in found["message"]


def test_nothing_measured_is_accepted_as_what_is_not_known(job: models.Job) -> None:
    assert stops(final_test(job, capacity_mah=None)) == [CAPACITY]
    line.accept_in_writing(job, CAPACITY)
    result = final_test(job, capacity_mah=None)
    assert result.done
    (found,) = [one for one in result.findings if one.rule_id == CAPACITY]
    assert found.outcome is Outcome.ACCEPTED
    assert found.message.startswith("Not known yet")


def test_another_rule_of_the_same_step_still_stops(job: models.Job) -> None:
    line.accept_in_writing(job, CAPACITY)
    assert stops(final_test(job, pack_rest_mv=Decimal(16300))) == ["final.rest_agreement"]


def test_another_job_is_not_covered(job: models.Job) -> None:
    line.accept_in_writing(job, CAPACITY)
    other = models.Job.objects.create(number=99, **_columns(job))
    assert rules.in_force(job).exceptions
    assert not rules.in_force(other).exceptions
    assert not rules.in_force().exceptions


def _columns(job: models.Job) -> dict[str, Any]:
    names = ("device", "stage", "danger_level", "removed_owner", "opened_at", "opened_by")
    return {name: getattr(job, name) for name in names}


@pytest.mark.parametrize("rule", [rule.id for rule in RULES.values() if rule.no_exception])
def test_from_what_can_set_fire_there_is_none(job: models.Job, rule: str) -> None:
    lead = line.lead()
    with refused("no_exception", field="rule_id") as caught:
        exceptions.write_exception(job=job, rule_id=rule, reason="we are in a hurry", by=lead)
    assert RULES[rule].no_exception in caught.value.message


@pytest.mark.parametrize(
    ("rule", "reason", "code"),
    [
        (CAPACITY, "  ", "reason_missing"),
        ("no.such_rule", "because", "no_such_rule"),
        ("first_charge.group_spread", "because", "stops_nothing"),
        ("join.peel_sample", "because", "out_of_order"),
        ("target.step_down", "because", "out_of_order"),
    ],
)
def test_what_is_refused(job: models.Job, rule: str, reason: str, code: str) -> None:
    lead = line.lead()
    with refused(code):
        exceptions.write_exception(job=job, rule_id=rule, reason=reason, by=lead)


def test_a_technician_writes_none_and_withdraws_none(job: models.Job) -> None:
    row, technician = line.accept_in_writing(job, CAPACITY), line.technician()
    with refused("not_allowed"):
        exceptions.write_exception(job=job, rule_id=CAPACITY, reason="it is fine", by=technician)
    with refused("not_allowed"):
        exceptions.withdraw_exception(job=job, exception=row, reason="not so", by=technician)


def test_the_same_is_not_written_twice(job: models.Job) -> None:
    line.accept_in_writing(job, CAPACITY)
    with refused("accepted_already"):
        line.accept_in_writing(job, CAPACITY)


def test_withdrawn_before_the_step_it_stops_again_and_can_be_written_anew(job: models.Job) -> None:
    row = line.accept_in_writing(job, CAPACITY)
    exceptions.withdraw_exception(job=job, exception=row, reason="the customer changed his mind", by=line.lead())
    assert stops(final_test(job)) == [CAPACITY]
    with refused("withdrawn_already"):
        exceptions.withdraw_exception(job=job, exception=row, reason="again", by=line.lead())
    line.accept_in_writing(job, CAPACITY)
    assert final_test(job).done


def test_once_a_step_was_done_with_it_it_stays(job: models.Job) -> None:
    row = line.accept_in_writing(job, CAPACITY)
    assert final_test(job).done
    lead = line.lead()
    with refused("exception_used"):
        exceptions.withdraw_exception(job=job, exception=row, reason="too late", by=lead)


def test_one_that_no_step_needed_can_be_withdrawn_after_it(job: models.Job) -> None:
    """The pack gave enough after all: nothing was done with the exception."""
    row = line.accept_in_writing(job, CAPACITY)
    assert final_test(job, capacity_mah=Decimal(5080)).done
    assert exceptions.withdraw_exception(job=job, exception=row, reason="not needed", by=line.lead())


def test_an_exception_of_another_job_is_not_withdrawn_here(job: models.Job) -> None:
    row = line.accept_in_writing(job, CAPACITY)
    other, lead = models.Job.objects.create(number=99, **_columns(job)), line.lead()
    with refused("no_such_exception"):
        exceptions.withdraw_exception(job=other, exception=row, reason="wrong one", by=lead)


def test_a_page_that_was_opened_before_is_stale(job: models.Job) -> None:
    before = job.version
    line.accept_in_writing(job, CAPACITY)
    technician = line.technician()
    with refused("stale"):
        proving.final_test(job=job, **WEAK, by=technician, version=before)


def test_every_paper_of_the_job_prints_what_stands_and_not_what_was_withdrawn(job: models.Job) -> None:
    gone = line.accept_in_writing(job, CAPACITY, "a first reason")
    exceptions.withdraw_exception(job=job, exception=gone, reason="no", by=line.lead())
    line.accept_in_writing(job, CAPACITY, "a second reason")
    assert final_test(job).done
    job.refresh_from_db()
    line.sort_removed(job)
    for kind in (DocumentKind.JOB_CARD, DocumentKind.TEST_REPORT, DocumentKind.HAND_OVER, DocumentKind.DISPOSAL_NOTE):
        content = documents.issue(job=job, kind=kind, by=line.technician()).content
        (told,) = content["heading"]["exceptions"]
        assert (told["reason"], told["by"], told["what"]) == (
            "a second reason",
            str(line.lead()),
            RULES[CAPACITY].quantity,
        )
        shown = printing.page(content)
        assert "a second reason" in shown
        assert "a first reason" not in shown


def test_the_log_tells_both(job: models.Job) -> None:
    row = line.accept_in_writing(job, CAPACITY)
    exceptions.withdraw_exception(job=job, exception=row, reason="no", by=line.lead())
    last = [(entry.verb, entry.facts["rule"]) for entry in job.log.order_by("-pk")[:2]]
    assert last == [("exception withdrawn", CAPACITY), ("exception written", CAPACITY)]
