"""Each rule that stops is attacked through its operation, its page, the API, and by sending an old request again.

One rebuild is walked from the target to its end; at each stage every attack is made and taken back. The shop has no
admin (``tests/test_roles.py`` looks), so there is no fourth door.
"""

import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from decimal import Decimal
from functools import partial
from html import unescape
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.db import transaction
from django.test import Client
from rest_framework.test import APIClient

from packs.rules import RULES
from packs.terms import DangerSign, JobKind, JointMethod, Protects, Role, Severity, Stage, Unpowered
from shop import models
from shop.bridge.rules import QUALIFIED, SECOND, stored_stops
from shop.errors import Held, ShopError
from shop.operations import opening_pack
from shop.operations.rebuild import StripJoined
from shop.operations.steps import StepResult
from tests import line
from tests.attacks import ATTACKS, GOOD, Attack
from tests.doors import DOORS, Way
from tests.factories import SettingsFactory, UserFactory
from tests.operations import calls, nickel
from tests.operations.stopped import rests

pytestmark = pytest.mark.django_db

Progress = tuple[Any, ...]
VIA = ("operation", "page", "API")


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def everyone() -> models.User:
    return UserFactory(username="everyone", roles=tuple(Role))


def progress(job: models.Job) -> Progress:
    """How far a job has come: stage, end, whether it is parked, plans, what is out of the old pack and in, steps done."""
    now = models.Job.objects.get(pk=job.pk)
    plans = list(job.plans.order_by("pk").values_list("pk", "state"))
    positions = models.PlanPosition.objects.filter(plan__job=job).order_by("pk")
    done = job.steps.filter(outcome=models.StepOutcome.DONE.value).count()
    out = models.Cell.objects.removed_from_pack_of(now).count()
    placed = list(positions.values_list("pk", "cell", "placed_at"))
    return now.stage, now.closed_at, now.parked_in, plans, out, placed, done


@dataclass
class Doors:
    """The three doors, with somebody at them who holds every role."""

    page: Client = field(default_factory=Client)
    api: APIClient = field(default_factory=APIClient)

    def __post_init__(self) -> None:
        self.page.force_login(everyone())
        self.api.force_login(everyone())

    def form(self, name: str, given: calls.Arguments) -> Way:
        """What the page of an operation sends."""
        return DOORS[name].page(self.page, given)

    def send(self, way: Way, typed: Any = None, *, mark: str = "", version: int = 0) -> Any:
        """Send a form, with the token and the version of a page that was opened some time."""
        form = {"form_token": mark or str(uuid.uuid4())} | ({"version": version} if version else {})
        sent = form | way.sent | dict(typed or {})
        return self.page.post(way.address, {key: value for key, value in sent.items() if value is not None})

    def body(self, name: str, given: calls.Arguments) -> Way:
        """What a program posts for an operation."""
        door = DOORS[name].api
        assert door is not None
        return door.way(given)

    def call(self, way: Way, *, mark: str = "", version: int = 0) -> Any:
        """Post to the API, with the key of an old request or a new one."""
        body = way.sent | ({"version": version} if version else {})
        headers = {"Idempotency-Key": mark or uuid.uuid4().hex}
        return self.api.post(way.address, body, format="json", headers=headers)


Said = dict[str, str]


def said(do: Callable[[], Any]) -> Said:
    """Return what stopped an operation: sentences by rule, or by code; nothing where it went through."""
    try:
        result = do()
    except Held as held:
        return {finding.rule_id: finding.message for finding in held.findings}  # type: ignore[attr-defined]
    except ShopError as error:
        return {error.code: error.message}
    stopped = isinstance(result, StepResult) and not result.done
    return {finding.rule_id: finding.message for finding in result.findings if finding.stops} if stopped else {}


def tried(attack: Attack, job: models.Job, doors: Doors) -> Iterator[str]:
    """Make an attack through every door; yield what got by, or was stopped by something else."""
    due = {attack.code} if attack.code else {attack.rule, *attack.also}
    told = ""
    for via in VIA:
        with taken_back():
            job.refresh_from_db()
            if attack.prepare:
                attack.prepare(job)
            given = calls.arguments(attack.name, job) | dict(attack.given(job))
            before = progress(job)
            if via == "operation":
                stops = said(partial(calls.function(attack.name), **given | {"by": everyone()}))
                told = stops.get(attack.code or attack.rule, "")
                wrong = set(stops) != due
            else:
                ask = _by_page if via == "page" else _by_api
                wrong = not ask(attack, job, doors, given, told)
            if wrong:
                yield f"{attack.rule}: the {via} stopped it with something else{f', {sorted(stops)}' if via == 'operation' else ''}"
            if progress(job) != before:
                yield f"{attack.rule} got by through the {via}"


def _by_page(attack: Attack, job: models.Job, doors: Doors, given: calls.Arguments, told: str) -> bool:
    """Whether the page refused with the rule's own sentence, led to where nothing is done, or kept it with the step."""
    answer = doors.send(doors.form(attack.name, given), attack.typed(job))
    if answer.status_code == 302:
        return _stopped(job, attack) or told in {str(one) for one in get_messages(answer.wsgi_request)}
    return answer.status_code == 409 or told in unescape(answer.content.decode())


def _by_api(attack: Attack, job: models.Job, doors: Doors, given: calls.Arguments, told: str) -> bool:
    """Whether the API refused with the rule's own sentence, or kept it with the step; what is blank is refused before."""
    answer = doors.call(doors.body(attack.name, given))
    if answer.status_code == 200:
        return _stopped(job, attack)
    return answer.status_code == 400 or (answer.status_code == 409 and told in answer.json()["message"])


def _stopped(job: models.Job, attack: Attack) -> bool:
    step = job.steps.filter(stage=attack.stage.value).last()
    return step is not None and not step.done and attack.rule in {one["rule_id"] for one in stored_stops(step.findings)}


def repeated(job: models.Job, doors: Doors) -> Iterator[str]:
    """Do what a stage is for, and send the same again: with its token or key, and as an old page or program would."""
    name, prepare = GOOD[Stage(job.stage)]
    for via in ("page", "API"):
        with taken_back():
            if prepare:
                prepare(job)
            job.refresh_from_db()
            given, version, mark = calls.arguments(name, job), job.version, str(uuid.uuid4())
            way = (doors.form if via == "page" else doors.body)(name, given)
            again = partial(doors.send if via == "page" else doors.call, way, version=version)
            before = progress(job)
            first, after = again(mark=mark), progress(job)
            if after == before:
                yield f"{name}: a good request by the {via} did nothing ({first.status_code})"
            if again(mark=mark).status_code != first.status_code or progress(job) != after:
                yield f"{name}: the same request by the {via} counted twice"
            again()
            if progress(job) != after:
                yield f"{name}: an old request by the {via} was taken once more"
            old = given | {"by": everyone(), "version": version}
            if not said(partial(calls.function(name), **old)) or progress(job) != after:
                yield f"{name}: an old version was taken by the operation"
    job.refresh_from_db()


@dataclass
class Outcome:
    """What came of all of it."""

    got_by: list[str] = field(default_factory=list)
    made: list[str] = field(default_factory=list)
    repeated: list[Stage] = field(default_factory=list)


@pytest.fixture(scope="module")
def walked(django_db_setup: None, django_db_blocker: Any) -> Iterator[Outcome]:
    with django_db_blocker.unblock(), transaction.atomic():
        SettingsFactory()
        came, doors, job = Outcome(), Doors(), line.job_at(Stage.TARGET)
        while job.closed_at is None:
            stage = Stage(job.stage)
            for attack in (attack for attack in ATTACKS if attack.stage is stage):
                came.got_by += tried(attack, job, doors)
                came.made.append(attack.rule)
            job.refresh_from_db()
            came.got_by += repeated(job, doors)
            came.repeated.append(stage)
            line.WAY[stage](job)
            job.refresh_from_db()
        yield came
        transaction.set_rollback(True)


def test_none_gets_by_and_each_is_stopped_by_its_rule(walked: Outcome) -> None:
    assert not walked.got_by, "\n".join(walked.got_by)


def test_every_attack_was_made_and_every_stage_repeated(walked: Outcome) -> None:
    """Without this the test above could pass by trying nothing."""
    assert sorted(walked.made) == sorted(attack.rule for attack in ATTACKS)
    assert set(walked.repeated) == set(GOOD)


# --- jobs of other kinds


@pytest.fixture
def doors(db: None) -> Doors:
    SettingsFactory()
    return Doors()


BOLTED = {"strips": [StripJoined(strip=n, torque_mnm=20_000, contact_uohm=100) for n in (1, 2, 3)]}  # type: ignore[arg-type]
BOLTED_TYPED = {"clean_faces": "on"} | {
    f"{name}_{n}": text
    for n in range(1, 6)
    for name, text in (("done", "on"), ("failed", "0"), ("spots", None), ("torque", "20"), ("contact", "0.1"))
}


def _bolted(rule: str, typed: Any, **given: Any) -> Attack:
    whole = {"clean_faces": True, "second_look": True} | BOLTED
    return Attack(rule, Stage.JOIN, "rebuild.join", lambda _: whole | given, lambda _: BOLTED_TYPED | typed)


def _bar(**changed: int) -> list[StripJoined]:
    one = {"strip": 2, "torque_mnm": 20_000, "contact_uohm": 100} | changed
    return [*BOLTED["strips"][:1], StripJoined(**one), *BOLTED["strips"][2:]]  # type: ignore[arg-type]


ON_BOLTS = (
    _bolted("join.clean_faces", {"clean_faces": None}, clean_faces=False),
    _bolted("join.torque", {"torque_2": "25"}, strips=_bar(torque_mnm=25_000)),
    _bolted("join.contact_resistance", {"contact_2": "0.3"}, strips=_bar(contact_uohm=300)),
)


def test_bolted_packs(doors: Doors) -> None:
    """An invented data sheet asks for 20 N·m."""
    job = line.built_of(2, 2, joint_method=JointMethod.BOLTED)
    models.CellModel.objects.update(terminal_torque_mnm=20_000)
    assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
    assert [got for attack in ON_BOLTS for got in tried(attack, job, doors)] == []


HEALTH = Attack("handover.health_report", Stage.HAND_OVER, "closeout.hand_over")
INTO_STOCK = Attack("handover.report", Stage.INTO_STOCK, "for_stock.into_stock", also=("handover.label",))


def test_a_pack_that_was_only_tested_does_not_leave_without_its_report(doors: Doors) -> None:
    assert list(tried(HEALTH, line.job_at(Stage.HAND_OVER, kind=JobKind.TEST_ONLY), doors)) == []


def test_a_pack_does_not_go_into_stock_without_its_report(doors: Doors) -> None:
    assert list(tried(INTO_STOCK, line.job_at(Stage.INTO_STOCK), doors)) == []


AT_THE_DOOR = {
    "takein.amber_cleared": (calls.AMBER, "held"),
    "takein.no_red_sign": ({"signs": [DangerSign.SWELLING]}, "out_of_order"),
}


@pytest.mark.parametrize("rule", AT_THE_DOOR)
def test_a_sign_of_danger_keeps_a_pack_from_the_bench(doors: Doors, rule: str) -> None:
    signs, code = AT_THE_DOOR[rule]
    job = line.take_in(**signs)
    attack = Attack(rule, Stage.EXAMINE, "examination.examine", code=code)
    assert list(tried(attack, job, doors)) == []


def _free(job: models.Job) -> list[str]:
    cells = models.Cell.objects.free(job).filter(code__startswith="S0")
    return sorted(cells.values_list("code", flat=True))


LEVEL = Attack(
    "measure.group_level",
    Stage.MEASURE,
    "rebuild.measure_before_joining",
    lambda _: {"rest_voltages_mv": {"2.1": Decimal(3700), "2.2": Decimal(3700)} | STAYING},
    lambda _: {"v_2_1": "3.7", "v_2_2": "3.7"} | {f"v_group_{n}": "3.62" for n in (1, 3, 4)},
)
OLD = Attack(
    "target.old_beside_new",
    Stage.MATCH,
    "planning.accept",
    lambda job: {"groups": [_free(job)[-2:]]},
    prepare=lambda _: line.stock(),
)
STAYING = {f"group {n}": Decimal(3620) for n in (1, 3, 4)}
ON_RECORD = Attack(
    "final.capacity_on_record",
    Stage.FINAL_TEST,
    "proving.final_test",
    lambda _: {"capacity_mah": None},
    lambda _: {"capacity": ""},
)


@pytest.mark.parametrize("attack", [OLD, LEVEL, ON_RECORD], ids=lambda attack: attack.rule)
def test_a_pack_of_which_groups_stay(doors: Doors, attack: Attack) -> None:
    job = line.job_at(attack.stage, kind=JobKind.GROUP_REPAIR)
    assert list(tried(attack, job, doors)) == []


def _cut(rule: str) -> Attack:
    return Attack(
        rule,
        Stage.DISMANTLE,
        "rebuild.record_removed",
        prepare=partial(_confirmed, but=rule),
    )


def _confirmed(job: models.Job, *, but: str) -> None:
    """Confirm all that is asked before a pack is cut, and name two people, but for one rule."""
    ticked = [rule for rule in BEFORE_CUTTING if rule not in (but, QUALIFIED, SECOND)]
    opening_pack.prepare_dismantling(
        job=job,
        confirmed=dict.fromkeys(ticked, True),
        qualified="" if but == QUALIFIED else "Nell Sand",
        second="" if but == SECOND else "Jon Adler",
        by=line.technician(),
    )


BEFORE_CUTTING = (
    "dismantle.board_saved",
    "dismantle.unpowered_accepted",
    QUALIFIED,
    SECOND,
    "dismantle.insulated_tools",
    "dismantle.groups_covered",
)
ON_LIVE = [_cut(rule) for rule in BEFORE_CUTTING]


def test_a_pack_above_60_v_with_a_board(doors: Doors) -> None:
    """15 groups of 4.2 V; what its board does without supply is not known."""
    job = line.to_be_cut(15, [3200] * 15, protects=[Protects.MEMORY], unpowered=Unpowered.UNKNOWN)
    assert [got for attack in ON_LIVE for got in tried(attack, job, doors)] == []


FORMED = {
    "charger_voltage_mv": Decimal(14_000),
    "groups_mv": [Decimal(1450)] * nickel.SIX,
    "lines": nickel.looks_at(0, 240, 480, 720, 840),
    "ends_itself": True,
}
FORMED_TYPED = {f"group_{n}": "1.45" for n in range(1, nickel.SIX + 1)} | {
    "charger_voltage": "14",
    "ends_itself": "on",
}
for _look, _minutes in enumerate((0, 240, 480, 720, 840), start=1):
    FORMED_TYPED |= {f"minutes_{_look}": f"{_minutes}", f"pack_{_look}": "8.7", f"hottest_{_look}": "26"}
    FORMED_TYPED[f"current_{_look}"] = "0.3"
RESTS = {name: Decimal(1290) for name in nickel.NAMES}
ON_NICKEL = {
    Stage.MEASURE: [
        Attack(
            "measure.not_reversed",
            Stage.MEASURE,
            "rebuild.measure_before_joining",
            lambda _: {"rest_voltages_mv": RESTS | {"3.1": Decimal(-200)}},
            also=("measure.groups_apart",),
        )
    ],
    Stage.HOUSING: [Attack("housing.thermal_cutoff", Stage.HOUSING, "proving.close_housing")],
    Stage.FIRST_CHARGE: [
        Attack(
            "first_charge.ends_itself",
            Stage.FIRST_CHARGE,
            "proving.first_charge",
            lambda _: FORMED | {"ends_itself": False},
            lambda _: FORMED_TYPED | {"ends_itself": None},
        ),
        Attack(
            "first_charge.forming_current",
            Stage.FIRST_CHARGE,
            "proving.first_charge",
            lambda _: FORMED | {"lines": nickel.looks_at(0, 240, 480, 720, 840, current_ma=301)},
            lambda _: FORMED_TYPED | {f"current_{n}": "0.301" for n in range(1, 6)},
        ),
        Attack(
            "first_charge.forming_interval",
            Stage.FIRST_CHARGE,
            "proving.first_charge",
            lambda _: FORMED | {"lines": nickel.looks_at(0, 241, 480, 720, 840)},
            lambda _: FORMED_TYPED | {"minutes_2": "241"},
        ),
    ],
}


def test_a_nickel_pack(doors: Doors) -> None:
    job, got_by = nickel.at(Stage.MEASURE), []
    for stage, attacks in ON_NICKEL.items():
        nickel.on(job, stage)
        got_by += [got for attack in attacks for got in tried(attack, job, doors)]
    assert got_by == []


def test_every_rule_that_stops_is_attacked() -> None:
    alone = (*ON_BOLTS, *ON_LIVE, *(attack for attacks in ON_NICKEL.values() for attack in attacks))
    made = {attack.rule for attack in (*ATTACKS, *alone, HEALTH, INTO_STOCK, OLD, LEVEL, ON_RECORD)} | set(AT_THE_DOOR)
    assert made == {rule.id for rule in RULES.values() if rule.severity is Severity.STOP}
