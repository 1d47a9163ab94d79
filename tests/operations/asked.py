"""Which rules each operation asks, found by running every one of them on a job that stands where it is in order.

One rebuild is walked from the counter to its end; at each stage the operations of that stage are tried and taken back.
What asks another way of a job of another kind (bolted, with an outlet, tested only, amber) gets such a job of its own.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from django.db import transaction

from packs.rules import RuleSet
from packs.terms import Chemistry, Condition, JobKind, JointMethod, Measure, Protects, Role, Stage, Travels, Unpowered
from shop import models
from shop.bridge.rules import RestHold
from shop.errors import ShopError
from shop.operations import (
    closeout,
    examination,
    giving_up,
    intake,
    opening_pack,
    planning,
    proving,
    rebuild,
    stock,
)
from tests import line
from tests.factories import CellFactory, SettingsFactory, UserFactory
from tests.operations import calls, nickel
from tests.operations.stopped import rests

Asked = dict[str, set[str]]
OUTLET = {"outlet_voltage_mv": 5000, "dropout_mv": 300}
DESIGNED = {
    "charger_tolerance_mv": 100,
    "board_groups": 4,
    "peak_current_ma": 9000,
    "peak_time_ms": 1000,
    "fuse_current_ma": 10_000,
}


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


class Listener:
    """Hears which rule is asked while an operation runs; the rule itself answers as it always does."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.asked: Asked = defaultdict(set)
        self.running = ""
        really = RuleSet.check

        def heard(rules: RuleSet, rule_id: str, *given: Any, **more: Any) -> Any:
            self.asked[self.running].add(rule_id)
            return really(rules, rule_id, *given, **more)

        patch.setattr(RuleSet, "check", heard)

    def run(self, name: str, job: models.Job | None, prepare: Callable[[models.Job], Any] | None = None) -> None:
        """Run an operation with the arguments that it accepts."""
        if prepare and job:
            prepare(job)
            job.refresh_from_db()
        given = calls.arguments(name, job) | {"by": everyone()}
        self.during(name, lambda: calls.function(name)(**given))

    def refused(self, name: str, do: Callable[[], Any]) -> None:
        """Run an operation that a hold point refuses."""
        with pytest.raises(ShopError):
            self.during(name, do)

    def during(self, name: str, do: Callable[[], Any]) -> None:
        self.asked[name]  # an operation that asks nothing is named all the same
        self.running, before = name, self.running
        try:
            do()
        finally:
            self.running = before


def everyone() -> models.User:
    return UserFactory(username="everyone", roles=tuple(Role))


def ask_all() -> Asked:
    """Return by operation the rules that it asked."""
    SettingsFactory()
    with pytest.MonkeyPatch.context() as patch:
        listener = Listener(patch)
        listener.running = "what led there"
        _walk(listener)
        _others(listener)
        _variants(listener)
    return listener.asked


def _walk(listener: Listener) -> None:
    job = line.job_at(Stage.EXAMINE)
    while job.closed_at is None:
        for name, call in calls.CALLS.items():
            if calls.takes(name, "job") and not call.taken_in and (call.stages or (Stage.REMOVED,))[0] == job.stage:
                with taken_back():
                    listener.run(name, job, call.prepare)
                job.refresh_from_db()
        line.WAY[Stage(job.stage)](job)
        job.refresh_from_db()


def _others(listener: Listener) -> None:
    """Run what needs no job, and what needs one that came in another way or is of another kind."""
    for name in sorted(set(calls.CALLS) - set(listener.asked)):
        with taken_back():
            listener.run(name, calls.job_for(name))


def _variants(listener: Listener) -> None:
    for variant in (
        _outlet,
        _designed,
        _repaired,
        _amber,
        _live,
        _one_by_one,
        _bolted,
        _charged,
        _proved,
        _nickel,
        _of_lfp,
        _sent_by_air,
        _tested_only,
        _voltages,
    ):
        with taken_back():
            variant(listener)


def _outlet(listener: Listener) -> None:
    job, plan = line.job_at(Stage.TARGET), line.target(**OUTLET)
    listener.during("planning.state_target", lambda: planning.state_target(job=job, target=plan, by=everyone()))


def _designed(listener: Listener) -> None:
    """A board of which the rest is not said, and a fuse that breaks nothing, are refused."""
    given = {"job": line.job_at(Stage.TARGET), "target": line.target(**DESIGNED), "by": everyone()}
    listener.refused("planning.state_target", partial(planning.state_target, **given))


def _live(listener: Listener) -> None:
    """15 groups of 4.2 V are above 60 V; what the board does without supply is not known."""
    board = {"protects": [Protects.MEMORY], "unpowered": Unpowered.UNKNOWN}
    job = line.to_be_cut(15, [3200] * 15, **board)
    given = {"job": job, "by": everyone()}
    listener.refused("rebuild.record_removed", partial(rebuild.record_removed, condition=Condition.INTACT, **given))
    prepare = partial(opening_pack.prepare_dismantling, confirmed={}, **given)
    listener.during("opening_pack.prepare_dismantling", prepare)


def _charged(listener: Listener) -> None:
    """A pack that is low is brought up slowly; its charge may pause."""
    job = line.job_at(Stage.JOIN)
    again = {"second_look_by": "", "by": everyone()}
    listener.refused("rebuild.join", lambda: rebuild.join(**calls.arguments("rebuild.join", job) | again))
    line.on(job, Stage.FIRST_CHARGE)
    listener.run("parking.park", job)
    listener.run("parking.resume", job)
    low = dataclasses.replace(calls.CHARGE_LINE, pack_voltage_mv=Decimal(11_000))
    given = calls.arguments("proving.first_charge", job) | {"lines": [low], "by": everyone()}
    listener.during("proving.first_charge", partial(proving.first_charge, **given))
    above = given | {"groups_mv": [Decimal(4251), *given["groups_mv"][1:]], "since": "the charger was set lower"}
    listener.during("proving.first_charge", partial(proving.first_charge, **above))


def _proved(listener: Listener) -> None:
    """Insulation is measured where there is metal to touch."""
    job = line.job_at(Stage.FINAL_TEST)
    line.with_metal(job)
    hold = RestHold(hours=Decimal(24), groups_mv=[Decimal(4136)] * line.SERIES)
    given = calls.arguments("proving.final_test", job) | {"hold": hold, "by": everyone()}
    listener.during("proving.final_test", partial(proving.final_test, **given))


def _nickel(listener: Listener) -> None:
    job = nickel.at(Stage.MEASURE)
    rest = dict.fromkeys(nickel.NAMES, 1290)
    listener.during("rebuild.measure_before_joining", lambda: nickel.measure(job, rest))
    nickel.on(job, Stage.FIRST_CHARGE)
    listener.during("proving.first_charge", lambda: nickel.form(job))


def _of_lfp(listener: Listener) -> None:
    """Where the voltage says little of the charge, cells and groups are held closer."""
    job = line.job_at(Stage.MEASURE)
    models.CellModel.objects.update(chemistry=Chemistry.LFP.value)
    given = calls.arguments("rebuild.measure_before_joining", job) | {"by": everyone()}
    listener.during("rebuild.measure_before_joining", partial(rebuild.measure_before_joining, **given))


def _sent_by_air(listener: Listener) -> None:
    job = line.job_at(Stage.HAND_OVER)
    given = calls.arguments("closeout.hand_over", job) | {"travels": Travels.AIR, "by": everyone()}
    listener.refused("closeout.hand_over", partial(closeout.hand_over, **given))


def _repaired(listener: Listener) -> None:
    """Groups that stay are asked about when they are named, before the new ones are in series with them, and at the end."""
    job = line.job_at(Stage.TARGET, kind=JobKind.GROUP_REPAIR)
    listener.during("planning.state_target", lambda: line.state_target(job))
    job.refresh_from_db()
    listener.during("planning.accept", lambda: line.accept(job))
    for stage, name in ((Stage.MEASURE, "rebuild.measure_before_joining"), (Stage.FINAL_TEST, "proving.final_test")):
        job.refresh_from_db()
        while job.stage != stage:
            line.WAY[Stage(job.stage)](job)
            job.refresh_from_db()
        listener.during(name, partial(line.WAY[stage], job))


def _amber(listener: Listener) -> None:
    """It is refused while the sign stands open, and asked again when it is examined, here with unequal groups."""
    job = line.job_at(Stage.EXAMINE, **calls.AMBER)
    models.Device.objects.filter(pk=job.device_id).update(rated_voltage_mv=14_400)
    given = calls.arguments("examination.examine", job) | {"by": everyone()}
    given |= {"pack_voltage_mv": Decimal(13200), "group_voltages_mv": [Decimal(3300)] * 4, "counts": [2, 1, 2, 2]}
    listener.refused("examination.examine", lambda: examination.examine(**given))
    intake.clear_amber(job=job, findings="dry inside", by=everyone())
    listener.during("examination.examine", lambda: examination.examine(**given))


def _one_by_one(listener: Listener) -> None:
    """The last cell that is placed concludes the step; what comes off again is judged by its voltage."""
    job = line.job_at(Stage.PLACE)
    for position in job.plans.get().positions.select_related("cell"):
        given = {"job": job, "code": position.cell.code, "by": everyone()}
        listener.during("rebuild.place_cell", partial(rebuild.place_cell, **given))
    listener.during("giving_up.give_up", lambda: giving_up.give_up(job=job, reason="cracked", by=everyone()))


def _bolted(listener: Listener) -> None:
    job = line.built_of(2, 2, joint_method=JointMethod.BOLTED, **OUTLET)
    assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
    job.refresh_from_db()
    listener.refused("rebuild.join", lambda: rebuild.join(job=job, strips=[], second_look=True, by=everyone()))
    again = [rebuild.StripJoined(strip=1, failed=1)]
    look = {"second_look": True, "second_look_by": "Jon Adler", "by": everyone()}
    listener.during("rebuild.join", lambda: rebuild.join(job=job, strips=again, **look))
    models.Job.objects.update(stage=Stage.FINAL_TEST.value)
    given = {"job": job, "capacity_mah": None, "pack_rest_mv": None, "groups_mv": [], "by": everyone()}
    listener.during("proving.final_test", partial(proving.final_test, **given))


def _tested_only(listener: Listener) -> None:
    job = line.job_at(Stage.HAND_OVER, kind=JobKind.TEST_ONLY)
    given = {"job": job, "received_by": "Ida Moor", "by": everyone()}
    listener.refused("closeout.hand_over", partial(closeout.hand_over, **given))


def _voltages(listener: Listener) -> None:
    """Wherever the rest voltage of a cell is written it can reject the cell."""
    job, volts = line.job_at(Stage.DISMANTLE), Decimal(3300)
    given = {"condition": Condition.INTACT, "rest_voltage_mv": volts, "by": everyone()}
    listener.during("rebuild.record_removed", partial(rebuild.record_removed, job=job, **given))
    cell = CellFactory(code="V1")
    read = {"cell": cell, "measure": Measure.REST_VOLTAGE, "value": volts, "by": everyone()}
    listener.during("stock.record_reading", partial(stock.record_reading, **read))
    right = {"reading": cell.readings.last(), "value": Decimal(3310), "reason": "digits", "by": everyone()}
    listener.during("stock.correct_reading", partial(stock.correct_reading, **right))
    row = stock.CellRow(line=2, code="V2", readings={Measure.REST_VOLTAGE: volts})
    listener.during("stock.import_cells", partial(stock.import_cells, lot=cell.lot, rows=[row], by=everyone()))
