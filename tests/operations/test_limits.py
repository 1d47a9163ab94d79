"""Limits that the shop sets: who may, how far, what is kept of it, and that every rule then asks by them.

Numbers are invented; what may be loosened follows from the order: the shop's own practice and nothing else.
"""

from decimal import Decimal

import pytest

from packs.rules import RULE_SET_VERSION, RULES
from packs.terms import Outcome, Stage
from shop import models
from shop.bridge import rules
from shop.operations import limits, proving
from tests import line
from tests.factories import SettingsFactory
from tests.operations.stopped import rests
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def test_a_change_keeps_who_when_why_and_both_numbers() -> None:
    first = line.set_limit("measure.rest_spread", 40)
    second = line.set_limit("measure.rest_spread", 60)
    third = line.set_limit("measure.rest_spread", None)
    told = [(row.number, row.old, row.new, row.own, row.by) for row in (first, second, third)]
    lead = line.lead()
    assert told == [(1, 50, 40, True, lead), (2, 40, 60, True, lead), (3, 60, 50, False, lead)]
    entry = models.LogEntry.objects.filter(verb="limit changed").last()
    assert entry is not None
    assert entry.facts == {"rule": "measure.rest_spread", "old": "60.000", "new": "50.000", "reason": third.reason}


@pytest.mark.parametrize(
    ("rule_id", "value", "reason", "code", "field"),
    [
        ("measure.rest_spread", 40, " ", "reason_missing", "reason"),
        ("measure.rest_spread", 5000, "typed in volts", "limit_refused", "value"),
        ("measure.rest_spread", 0, "nothing", "limit_refused", "value"),
        ("ladder.tap", 101, "old meters", "limit_refused", "value"),
        ("first_charge.group_voltage", 101, "more capacity", "limit_refused", "value"),
        ("cell.recovery_voltage", 99, "too many rejected", "limit_refused", "value"),
        ("first_charge.supervised", 1, "we are busy", "no_number", "rule_id"),
        ("place.all_placed", 1, "one is missing", "no_number", "rule_id"),
        ("no.such_rule", 1, "why not", "no_such_rule", "rule_id"),
    ],
)
def test_what_is_refused(rule_id: str, value: int, reason: str, code: str, field: str) -> None:
    lead = line.lead()
    with refused(code, field=field):
        limits.set_limit(rule_id=rule_id, value=Decimal(value), reason=reason, by=lead)


def test_the_version_of_the_rules_moves_with_each_change_and_is_kept_with_what_was_found() -> None:
    before = line.job_at(Stage.TARGET)
    assert before.steps.get().rule_set == rules.version() == RULE_SET_VERSION
    line.set_limit("measure.rest_spread", 40)
    job = line.job_at(Stage.TARGET)
    assert job.steps.get().rule_set == rules.version() == f"{RULE_SET_VERSION}.1"
    line.set_limit("measure.rest_spread", None)
    assert rules.version() == f"{RULE_SET_VERSION}.2"
    assert before.steps.get().rule_set == RULE_SET_VERSION


def test_what_a_step_found_is_not_found_anew_when_a_limit_changes() -> None:
    job = line.job_at(Stage.JOIN)
    step = job.steps.get(stage=Stage.MEASURE.value)
    found = step.findings
    line.set_limit("measure.rest_spread", 5)
    step.refresh_from_db()
    assert step.findings == found


def test_a_tightened_limit_stops_what_went_through_before() -> None:
    """40 mΩ each, 3.62 V beside 3.58 V: 40 mV over 80 mΩ drive 0.5 A; the data sheet allows far more, the shop 0.49 A."""
    job = line.job_at(Stage.MEASURE)
    uneven = {name: 3580 if name == "2.1" else 3620 for name in line.names()}
    sheet = job.plans.get().cell_model.max_charge_current_ma
    assert sheet is not None
    line.set_limit("measure.joining_current", 100 * 490 / sheet)
    step = rests(job, uneven).step
    stopped = [found for found in step.findings if found["outcome"] == Outcome.FAIL]
    assert [(found["rule_id"], found["where"]) for found in stopped] == [("measure.joining_current", "group 2")]
    assert "the shop's own" in stopped[0]["source"]
    line.set_limit("measure.joining_current", None)
    job.refresh_from_db()
    assert rests(job, uneven).done


def test_a_rule_that_the_catalogue_dropped_does_no_harm() -> None:
    line.set_limit("measure.rest_spread", 40)
    columns = {"rule_id": "gone.rule", "old": 1, "new": 2, "reason": "long ago", "at": "2026-01-01T00:00Z"}
    models.ShopLimit.objects.create(number=2, by=line.lead(), **columns)
    assert set(rules.in_force().numbers) == {"measure.rest_spread"}


def test_a_looser_rejection_is_never_read_back_from_the_history() -> None:
    """A row written past the operation, such as from an older catalogue: 80 % of 2.0 V would let a cell of 1.7 V in."""
    columns = {"rule_id": "cell.recovery_voltage", "old": 100, "new": 80, "reason": "x", "at": "2026-01-01T00:00Z"}
    models.ShopLimit.objects.create(number=1, by=line.lead(), **columns)
    SettingsFactory()
    model = line.target().cell_model
    assert rules.rejection(model, Decimal(1700))
    assert not rules.rejection(model, Decimal(2000))


def test_a_tightened_rejection_rejects_wherever_a_voltage_is_written() -> None:
    """2.0 V for the chemistry; 125 % of it is 2.5 V."""
    line.set_limit("cell.recovery_voltage", 125)
    model = line.target().cell_model
    assert rules.rejection(model, Decimal(2499))
    assert not rules.rejection(model, Decimal(2500))
    window = rules.reusable(model)
    assert window is not None
    assert [end.m_as("mV") for end in window] == pytest.approx([2500, 4250])


def test_the_middle_of_the_charging_window_is_what_counts() -> None:
    """NMC: 10 to 40 °C; the middle 80 % is 13 to 37 °C."""
    line.set_limit("first_charge.temperature", 80)
    job = line.job_at(Stage.FIRST_CHARGE)
    window = rules.charge_limits(job.plans.get()).temperature
    assert window is not None
    assert [end.m_as("degC") for end in window] == pytest.approx([13, 37])
    looked = {"minutes": 0, "pack_voltage_mv": Decimal(15200), "current_ma": Decimal(1000)}
    warm = proving.ChargeLine(**looked, hottest_mdegc=Decimal(37100))
    answer = proving.first_charge(
        job=job,
        supervised_by="Technician",
        charger_voltage_mv=Decimal(16790),
        lines=[warm, *line.looks_at(30, 60)],
        mid_groups_mv=[Decimal(3900)] * 4,
        groups_mv=[Decimal(4180)] * 4,
        by=line.technician(),
    )
    failed = [found.rule_id for found in answer.findings if found.outcome is Outcome.FAIL]
    assert failed == ["first_charge.temperature"]


def test_nothing_asks_a_rule_past_what_is_in_force() -> None:
    """The bare catalogue is for whoever knows no shop: nothing of the shop reads ``check`` from it."""
    import ast
    from pathlib import Path

    import shop

    for path in Path(shop.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("packs.rules"):
                assert "check" not in {alias.name for alias in node.names}, path


def test_every_rule_with_a_number_can_be_set_and_set_back() -> None:
    for rule in [rule for rule in RULES.values() if rule.acts is not None]:
        row = line.set_limit(rule.id, None)
        assert row.old == row.new
    assert not rules.in_force().numbers
