"""All operations in any order, by several people, with right and wrong inputs: the books balance whatever is tried.

A state machine asks for operations as `calls` and `line` do, on jobs at every stage. Each sequence is undone after its
audit. ``ANY_ORDER=200 pytest tests/operations/test_any_order.py`` asks as many sequences of 30 steps instead.
"""

import os
import sys
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, transaction
from django.db import models as orm
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from packs.terms import Role, Stage
from shop import models
from shop.errors import ShopError
from shop.operations.base import VERBS
from shop.selectors import audit
from tests import line
from tests.factories import UserFactory
from tests.operations import calls

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

ROOT = Path(__file__).resolve().parents[2]
USUAL, ENOUGH = 2, 12
SEQUENCES = int(os.environ.get("ANY_ORDER", str(USUAL)))
SEEN = {"held", "invalid", "not_allowed", "out_of_order", "stale", "frozen"}
"""Refusals that a dozen sequences meet; a long run meets far more, and tells them."""

STEPS_EACH = 30
NAMES = sorted(VERBS)
VERSIONED = sorted(name for name in calls.OF_JOBS if calls.takes(name, "version"))
NOBODY_ASKS = frozenset({"people.bar_person"})
"""Who was barred in a sequence could not go on; `test_people` does it."""


class Shop:
    """The shop that every sequence begins in: a job at which each operation is in order, and people of all roles."""

    def __init__(self) -> None:
        self.people = {role: UserFactory(username=f"any {role.value}", roles=(role,)) for role in Role}
        self.everyone = UserFactory(username="everyone", roles=tuple(Role))
        self.jobs: dict[str, int] = {}
        alike: dict[str, int] = {}
        for name in calls.OF_JOBS:
            call = calls.CALLS[name]
            kind = repr((call.stages[:1], call.taken_in, name if call.prepare else ""))
            if kind not in alike:
                job = calls.job_for(name)
                assert job is not None
                alike[kind] = job.pk
            self.jobs[name] = alike[kind]
        self.pks = sorted(set(self.jobs.values()))


SHOP: list[Shop] = []
DONE: Counter[str] = Counter()
REFUSED: Counter[str] = Counter()
NOT_ASKED: Counter[str] = Counter()
TRIED: Counter[str] = Counter()
SPOILED: Counter[str] = Counter()
AUDITED: Counter[str] = Counter()


@pytest.fixture(scope="module")
def shop(django_db_setup: None, django_db_blocker: Any) -> Iterator[Shop]:
    with django_db_blocker.unblock(), transaction.atomic():
        SHOP[:] = [Shop()]
        yield SHOP[0]
        transaction.set_rollback(True)


class AnyOrder(RuleBasedStateMachine):
    """People who do anything at any time."""

    @initialize()
    def begin(self) -> None:
        self.shop = SHOP[0]
        self.savepoint = transaction.savepoint()

    @rule(pick=st.integers(0, 6))
    def in_order(self, pick: int) -> None:
        """What is due on a job, by who may: of what was tried least often until now."""
        name = sorted(NAMES, key=lambda name: (TRIED[name], name))[pick]
        TRIED[name] += 1
        self.ask(name, self.shop.jobs.get(name), self.shop.everyone)

    @rule(
        name=st.sampled_from(NAMES),
        pick=st.integers(0, 10_000),
        role=st.sampled_from(list(Role)),
    )
    def out_of_order(self, name: str, pick: int, role: Role) -> None:
        """Anything on any job, by anybody."""
        self.ask(name, self.any_job(pick), self.shop.people[role])

    @rule(name=st.sampled_from(VERSIONED))
    def overtaken(self, name: str) -> None:
        """What was due on a page that somebody overtook."""
        self.ask(name, self.shop.jobs[name], self.shop.everyone, stale=True)

    @rule(pick=st.integers(0, 6), at=st.integers(0, 10_000), how=st.integers(0, 10_000), twice=st.booleans())
    def spoiled(self, pick: int, at: int, how: int, twice: bool) -> None:
        """What is due, with something wrong in it: of what was spoiled least often until now."""
        name = sorted(NAMES, key=lambda name: (SPOILED[name], name))[pick]
        SPOILED[name] += 1
        self.ask(name, self.shop.jobs.get(name), self.shop.everyone, spoil=(at, how))
        if twice:
            self.ask(name, self.shop.jobs.get(name), self.shop.everyone)

    @rule(pick=st.integers(0, 10_000))
    def walk_on(self, pick: int) -> None:
        """A job goes on by what comes next on it."""
        job = models.Job.objects.get(pk=self.any_job(pick))
        if job.closed_at is None and Stage(job.stage) in line.WAY:
            self.do("on", lambda: line.WAY[Stage(job.stage)](job))

    def any_job(self, pick: int) -> int:
        return self.shop.pks[pick % len(self.shop.pks)]

    def ask(
        self,
        name: str,
        job_pk: int | None,
        by: models.User,
        *,
        stale: bool = False,
        spoil: tuple[int, int] | None = None,
    ) -> None:
        if name in NOBODY_ASKS:
            return
        job = models.Job.objects.get(pk=job_pk or self.shop.pks[0]) if calls.takes(name, "job") else None
        given = self.arguments(name, job)
        if given is None:
            return
        given["by"] = by
        if stale and job is not None and calls.takes(name, "version"):
            given["version"] = job.version - 1
        if spoil:
            given = spoiled(given, *spoil)
        self.do(name, lambda: calls.function(name)(**given))

    def arguments(self, name: str, job: models.Job | None) -> dict[str, Any] | None:
        """Return arguments as `calls` makes them; where the job has gone on since, they may not be to be had."""
        try:
            with transaction.atomic():
                return dict(calls.arguments(name, job))
        except Exception as error:
            if of_the_shop(error):
                raise
            NOT_ASKED[name] += 1
            return None

    def do(self, name: str, call: Callable[[], Any]) -> None:
        """Do it; a refusal is a refusal and changes nothing, and nothing else may come of it."""
        before = heads()
        try:
            with transaction.atomic():
                call()
            DONE[name] += 1
            return
        except ShopError as error:
            refusal = error
            REFUSED[error.code] += 1
        except Exception as error:
            if of_the_shop(error):
                raise
            NOT_ASKED[name] += 1
            return
        assert refusal.message
        assert heads() == before

    def teardown(self) -> None:
        try:
            assert list(audit.differences()) == []
            assert unsafe() == []
            connection.check_constraints()
            AUDITED["sequences"] += 1
        finally:
            transaction.savepoint_rollback(self.savepoint)


def of_the_shop(error: Exception) -> bool:
    """Whether an error came up in the shop's own code, and not in what the tests prepare for a job that went on since."""
    if isinstance(error, ShopError):
        return False
    frames = [frame.filename for frame in traceback.extract_tb(error.__traceback__)]
    known = [path for path in frames if path.startswith((f"{ROOT}/shop/", f"{ROOT}/packs/", f"{ROOT}/tests/"))]
    return not known or not known[-1].startswith(f"{ROOT}/tests/")


def heads() -> list[tuple[str, int]]:
    return list(models.ChainHead.objects.order_by("table").values_list("table", "count"))


def unsafe() -> list[str]:
    """What must never be, asked of the tables by words of its own: not of the rules, which may be wrong.

    Cells of a pack that may react take its condition in their positions: it leaves in one piece, as an item.
    """
    found = [
        f"{job} is red and at {job.stage}"
        for job in models.Job.objects.filter(danger_level="red").exclude(stage__in=["removed", "hand_over"])
    ]
    for position in models.PlanPosition.objects.filter(open=True, placed_at__isnull=False).select_related(
        "cell", "plan"
    ):
        cell = position.cell
        if cell.condition != "intact" and not position.plan.job.items.filter(kind="pack").exists():
            found.append(f"{cell} is {cell.condition} and placed in {position}")
    twice = models.PlanPosition.objects.filter(open=True).values("cell").annotate(n=orm.Count("pk")).filter(n__gt=1)
    found += [f"cell {row['cell']} is promised twice" for row in twice]
    for step in models.Step.objects.filter(outcome="done"):
        stops = [
            finding["rule_id"]
            for finding in step.findings
            if finding.get("severity") == "stop" and finding.get("outcome") in ("fail", "unknown")
        ]
        found += [f"{step} is done though {rule_id} does not hold" for rule_id in stops]
    return found


def spoiled(given: dict[str, Any], at: int, how: int) -> dict[str, Any]:
    """Return the arguments with one of them wrong."""
    names = sorted(name for name in given if name not in ("by", "now"))
    if not names:
        return given
    name = names[at % len(names)]
    wrong = list(wrong_of(given[name]))
    return given | {name: wrong[how % len(wrong)]} if wrong else given


def wrong_of(value: Any) -> Iterator[Any]:
    """Yield what could stand there by mistake, of the same kind."""
    if isinstance(value, bool):
        yield not value
    elif isinstance(value, str) and type(value) is str:
        yield from ("", "   ", "no such thing", "x" * 3000)
    elif isinstance(value, int):
        yield from (0, -1, 10**9)
    elif isinstance(value, Decimal):
        yield from (Decimal(0), Decimal(-1), Decimal(10) ** 9)
    elif isinstance(value, datetime | date):
        yield from (value + timedelta(days=800), value - timedelta(days=8000))
    elif isinstance(value, list):
        yield from ([], value[:-1], value * 2, value[::-1])
    elif isinstance(value, dict):
        yield {}
        for key, each in value.items():
            yield from (value | {key: wrong} for wrong in wrong_of(each))
    elif isinstance(value, orm.Model):
        others = type(value)._default_manager.exclude(pk=value.pk)
        yield from [row for row in (others.order_by("pk").first(), others.order_by("-pk").first()) if row is not None]


def test_the_books_balance_whatever_is_tried(shop: Shop) -> None:
    assert list(audit.differences()) == []
    run_state_machine_as_test(
        AnyOrder,
        settings=settings(
            max_examples=SEQUENCES,
            stateful_step_count=STEPS_EACH,
            derandomize=True,
            database=None,
            suppress_health_check=list(HealthCheck),
            phases=[Phase.generate],
        ),
    )
    for name in sorted(set(VERBS) - set(DONE) - NOBODY_ASKS):
        alone(name)
    assert AUDITED["sequences"] >= SEQUENCES
    assert set(DONE) >= set(VERBS) - NOBODY_ASKS
    if SEQUENCES >= ENOUGH:
        assert set(REFUSED) >= SEEN
    assert sum(NOT_ASKED.values()) < sum(DONE.values()) + sum(REFUSED.values())


def alone(name: str) -> None:
    """Ask for what did not come up, or came too late on its job, in a sequence of its own."""
    machine = AnyOrder()
    machine.begin()
    machine.ask(name, machine.shop.jobs.get(name), machine.shop.everyone)
    machine.teardown()


def test_what_was_seen_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """How often each operation was done and each refusal was seen, for whoever runs it long: with ``-s``."""
    with capsys.disabled():
        if SEQUENCES > USUAL:
            sys.stdout.write(
                f"\n{dict(AUDITED)}, done {sum(DONE.values())}, refused {sum(REFUSED.values())}"
                f"\nrefusals: {dict(REFUSED.most_common())}\n"
                f"seen fewer than 20 times: {sorted(code for code in REFUSED if REFUSED[code] < 20)}\n"
            )
    assert AUDITED
