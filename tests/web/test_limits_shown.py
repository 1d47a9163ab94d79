"""What the shop set is what pages and the job card show, and what a value just beyond is stopped or warned by."""

from decimal import Decimal

import pytest
from django.test import Client

from packs.terms import DocumentKind, Role, Stage
from shop import models
from shop.bridge.documents.card_steps import card_steps
from shop.operations import documents
from tests import line
from tests.factories import SettingsFactory
from tests.web.desk import at, sign_in, words
from tests.web.test_shown_limits import edges, filled, found, shown_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


# Stricter than the catalogue by an invented tenth or so: what pages show and what rules ask is the shop's limit then.
STRICTER = {
    "cell.recovery_voltage": 120,
    "measure.rest_spread": 30,
    "measure.groups_apart": 40,
    "ladder.tap": 60,
    "ladder.rest_agreement": 70,
    "ladder.overcharge_trip": 99.6,
    "ladder.undervoltage_trip": 101,
    "first_charge.charger_voltage": 99.98,
    "first_charge.pack_voltage": 99.8,
    "first_charge.group_voltage": 99.8,
    "first_charge.current": 80,
    "first_charge.temperature": 80,
    "first_charge.mid_spread": 40,
    "final.capacity": 97,
    "final.rest_agreement": 60,
    "final.group_spread": 20,
    "final.rest_hours": 1500,
    "final.rest_hold": 8,
    "final.resistance": 150,
    "final.joint_drop": 400,
    "final.temperature": 55,
    "pack_test.group_spread": 20,
}
CHANGED = (Stage.MEASURE, Stage.LADDER, Stage.FIRST_CHARGE, Stage.FINAL_TEST)


@pytest.mark.parametrize("stage", CHANGED)
def test_a_limit_of_the_shop_is_shown_and_asked(technician: Client, stage: Stage) -> None:
    job = line.job_at(stage)
    before = shown_on(technician.get(at(job, stage)))
    for rule, value in STRICTER.items():
        line.set_limit(rule, value)
    after = shown_on(technician.get(at(job, stage)))
    changed = [new.name for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [one.name for one in after], "a field shows the catalogue's limit still"
    for name, text in [*after[:3], after[-1]]:
        for within, over in edges(text):
            # Other readings of the form may lie beyond their own stricter limits: what is new beyond this one counts.
            held = found(technician, job, stage, filled(stage, name, within))
            assert found(technician, job, stage, filled(stage, name, over)) - held


def test_the_job_card_prints_the_limits_of_the_shop() -> None:
    job = line.job_at(Stage.REMOVED)
    printed = [_limits(job)]
    for rule, value in STRICTER.items():
        line.set_limit(rule, value)
    printed.append(_limits(job))
    same = [name for name in printed[0] if printed[0][name] == printed[1][name]]
    # counts are nobody's to set, and one limit of the card was left as it is above
    assert set(same) == {
        "number of cells recorded as taken out",
        "number of cells placed",
        "number of cells measured before joining",
        "largest current on joining the cells of the group",
        "number of joints made",
        "tries at one joint",
    }


def test_the_head_of_the_job_card_and_the_page_of_the_target_show_the_limits_of_the_shop(technician: Client) -> None:
    """Data sheet: 5.2 A a cell, 2 × 2.6 A charging, 16.8 V; the shop: 90 % of the first, 80 % of the second, 99 % of 16.8 V."""
    job = line.job_at(Stage.DISMANTLE)
    for rule, value in {"target.cell_current": 90, "first_charge.current": 80, "target.charger_voltage": 99}.items():
        line.set_limit(rule, value)
    shown = documents.issue(job=job, kind=DocumentKind.JOB_CARD, by=line.technician()).content["target"]
    names = ("cell_current_limit_ma", "charge_current_limit_ma", "charger_limit_mv")
    assert [Decimal(shown[name]) for name in names] == [4680, 4160, 16630]
    page = words(technician.get(f"/jobs/{job.number}/target/"))
    assert "of at most 4.680 A" in page


def _limits(job: models.Job) -> dict[str, tuple[Decimal | None, Decimal | None]]:
    steps = card_steps(job.plans.get())
    return {limit.what: (limit.low, limit.high) for step in steps for limit in step.limits}
