"""What cannot be is refused by both doors: a stable code, words beside the field or row, nothing saved, all typed kept.

What one cell can be and what a bench meets is the shop's own practice (no source); 0 V and 0 mAh are true readings of
dead cells, kept as findings and refused where a cell would go into a pack.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from html import escape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from rest_framework.test import APIClient

from packs.terms import STEPS, Measure, Role, Stage
from shop import models
from shop.operations import disposal, stock
from shop.web.forms.importing import LARGEST_FILE
from shop.web.forms.match import AcceptForm
from tests import line
from tests.doors import DOORS
from tests.factories import CellFactory, CellModelFactory, LotFactory, SettingsFactory, UserFactory
from tests.operations import calls
from tests.refusal import tables
from tests.web.desk import send
from tests.web.test_importing import choice

pytestmark = pytest.mark.django_db

NUL, HALF = "\x00", "\ud800"
INVALID, TEXT = "invalid", "parse_error"


@dataclass(frozen=True, kw_only=True)
class Case:
    """One thing that cannot be: what it changes in a form that would pass, and what both doors say to it."""

    op: str
    at: Stage = Stage.TAKE_IN
    page: dict[str, Any] | None = None
    where: str = ""
    api: dict[str, Any] | None = None
    code: str = INVALID
    fact: str = ""

    @property
    def id(self) -> str:
        return f"{self.op.split('.')[1]}-{self.where or self.code}-{str(self.page or self.api)[:40]}"


def take_in(**more: Any) -> Case:
    return Case(op="intake.take_in", **more)


def nameplate(column: str, typed: str, sent: Any, code: str = INVALID) -> Case:
    return take_in(page={column: typed}, where=column, api={"nameplate": {column: sent}}, code=code)


def examine(**more: Any) -> Case:
    return Case(op="examination.examine", at=Stage.EXAMINE, **more)


def target(**more: Any) -> Case:
    return Case(op="planning.state_target", at=Stage.TARGET, **more)


def accept(**more: Any) -> Case:
    return Case(op="planning.accept", at=Stage.MATCH, **more)


def take_out(**more: Any) -> Case:
    return Case(op="rebuild.record_removed", at=Stage.DISMANTLE, **more)


def measured(**more: Any) -> Case:
    return Case(op="rebuild.measure_before_joining", at=Stage.MEASURE, **more)


def join(**more: Any) -> Case:
    return Case(op="rebuild.join", at=Stage.JOIN, **more)


def taps(**more: Any) -> Case:
    return Case(op="rebuild.check_taps", at=Stage.LADDER, **more)


def charge(**more: Any) -> Case:
    return Case(op="proving.first_charge", at=Stage.FIRST_CHARGE, **more)


def final(**more: Any) -> Case:
    return Case(op="proving.final_test", at=Stage.FINAL_TEST, **more)


def container(**more: Any) -> Case:
    return Case(op="containers.open_container", **more)


def model(**more: Any) -> Case:
    return Case(op="stock.add_cell_model", **more)


def lot(**more: Any) -> Case:
    return Case(op="stock.add_lot", **more)


def reading(**more: Any) -> Case:
    return Case(op="stock.record_reading", **more)


LOOK = {"minutes": 30, "pack_voltage_mv": "15200", "current_ma": "1000", "hottest_mdegc": "24000"}
FLAT = "3.3 3.3 3.3 3.3"
GROUPS = [3300, 3300, 3300, 3300]
STRANGE = "<b>S1</b>"

CASES = [
    # units, numbers that are none, values that cannot be
    nameplate("rated_voltage_mv", "14.4 Ah", "14.4 Ah"),
    nameplate("rated_voltage_mv", "-14.4 V", -14400),
    nameplate("rated_voltage_mv", "2000000 V", 2_000_000_000, "impossible_value"),
    nameplate("rated_voltage_mv", "0.0 V", 0, "impossible_value"),
    nameplate("rated_voltage_mv", "nan V", "NaN"),
    nameplate("rated_capacity_mah", "inf Ah", "Infinity"),
    nameplate("rated_capacity_mah", "1e999 Ah", "1e999"),
    nameplate("rated_capacity_mah", "2600", "2600 mAh"),
    nameplate("rated_capacity_mah", "2.600.000 mAh", "1,500"),
    nameplate("rated_capacity_mah", "1001 Ah", "1001000", "impossible_value"),
    nameplate("charger_voltage_mv", "sixteen", "sixteen"),
    nameplate("charger_voltage_mv", "1 501 V" * 9, 10**400),
    # texts
    nameplate("model", "", ""),
    nameplate("model", "G" * 81, "G" * 81),
    nameplate("device_class", "spaceship", "spaceship"),
    take_in(page={"customer_name": ""}, where="customer_name", api={"customer_name": ""}),
    take_in(page={"customer_name": "I" * 121}, where="customer_name", api={"customer_name": "I" * 121}),
    take_in(page={"model": f"GP{NUL}3"}, where="model", api={"nameplate": {"model": f"GP{NUL}3"}}, code=TEXT),
    take_in(api={"nameplate": {"model": f"GP{HALF}3"}}, code=TEXT),
    take_in(api={f"x{HALF}": 1}, code=TEXT),
    take_in(page={"email": "ida at home"}, where="email", api={"email": "ida at home"}),
    take_in(page={"complaint": "x" * 2001}, where="complaint", api={"complaint": "x" * 2001}),
    take_in(page={"removed_owner": ""}, where="removed_owner", api={"removed_owner": None}),
    take_in(page={"red_signs": ["glowing"]}, where="red_signs", api={"signs": ["glowing"]}),
    take_in(page={"customer_name": "Known", "customer": "999999"}, where="customer", api={"customer": 999_999}),
    # days that lie ahead, half a look for a recall
    take_in(
        page={"recall_source": "maker's page", "recall_result": "none", "recall_checked_on": "2999-01-01"},
        where="recall_checked_on",
        api={"recall": {"source": "maker's page", "result": "none", "checked_on": "2999-01-01"}},
        code="future_date",
        fact="recall_checked_on",
    ),
    take_in(
        page={"recalled": "on", "recall_result": "may catch fire"},
        where="recall_source",
        api={"recall": {"recalled": True, "result": "may catch fire"}},
        code="recall_incomplete",
        fact="recall_source",
    ),
    take_in(page={"recall_checked_on": "31.02."}, where="recall_checked_on", api={"recall": {"checked_on": "31.02."}}),
    # the pack as found
    examine(
        page={"group_voltages": "3.3 16 3.3 3.3"},
        where="group_voltages",
        api={"group_voltages_mv": [3300, 16000, 3300, 3300]},
        code="impossible_value",
        fact="group 2",
    ),
    examine(
        page={"group_voltages": "3.3 3.3 3.3"},
        where="group_voltages",
        api={"group_voltages_mv": [3300, 3300, 3300]},
        code="wrong_count",
        fact="group_voltages",
    ),
    examine(
        page={"pack_voltage": "144.2 V", "group_voltages": FLAT},
        where="pack_voltage",
        api={"pack_voltage_mv": 144_200, "group_voltages_mv": GROUPS},
        code="impossible_value",
        fact="pack_voltage",
    ),
    examine(page={"pack_voltage": "13.2 A"}, where="pack_voltage", api={"pack_voltage_mv": "13.2 A"}),
    examine(
        page={"arrangement": "40s40p"},
        where="arrangement",
        api={"series": 40, "parallel": 40},
        code="impossible_value",
        fact="arrangement",
    ),
    examine(page={"arrangement": "four by two"}, where="arrangement", api={"series": "four"}),
    examine(page={"arrangement": "0s2p"}, where="arrangement", api={"series": 0}),
    examine(page={"cell_model": "999999"}, where="cell_model", api={"cell_model": "No such cell"}),
    examine(page={"joint_method": "glue"}, where="joint_method", api={"joint_method": "glue"}),
    examine(page={"note": "x" * 4001}, where="note", api={"note": "x" * 4001}),
    Case(
        op="intake.clear_amber",
        at=Stage.EXAMINE,
        page={"findings": "dry <i>inside</i>"},
        api={"findings": "dry <i>inside</i>"},
        code="not_held",
    ),
    Case(op="intake.decline", at=Stage.EXAMINE, page={"reason": ""}, where="reason", api={"reason": ""}),
    Case(op="intake.report_danger", at=Stage.EXAMINE, page={"signs": []}, where="signs", api={"signs": []}),
    # the target pack
    target(
        page={"strip_thickness_um": "150 mm"},
        where="strip_thickness_um",
        api={"strip_thickness_um": 150_000},
        code="impossible_value",
        fact="strip_thickness_um",
    ),
    target(page={"strip_width_um": "8 kg"}, where="strip_width_um", api={"strip_width_um": "8 mm"}),
    target(page={"continuous_current_ma": "6 V"}, where="continuous_current_ma", api={"continuous_current_ma": "6 A"}),
    target(
        page={"continuous_current_ma": "1001 A"},
        where="continuous_current_ma",
        api={"continuous_current_ma": 1_001_000},
        code="impossible_value",
        fact="continuous_current_ma",
    ),
    # 4 groups of 4.2 V take no charger of 25 V (IEC 62133-2:2017, upper limit charging voltage)
    target(
        page={"charger_voltage_mv": "25 V"}, where="charger_voltage_mv", api={"charger_voltage_mv": 25_000}, code="held"
    ),
    target(page={"outlet_voltage_mv": "5 V"}, where="dropout_mv", api={"outlet_voltage_mv": 5000}, fact="dropout_mv"),
    target(page={"version": "stale"}, api={"version": "stale"}, code="stale"),
    # cells for it
    accept(page={"groups": "forged"}, where="groups", api={"groups": "forged"}),
    accept(page={"groups": [["S1", "S2"]]}, api={"groups": [["S1", "S2"]]}, code="wrong_shape"),
    accept(
        page={"groups": [["S1", "S1"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        api={"groups": [["S1", "S1"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        code="wrong_shape",
    ),
    accept(
        page={"groups": [["S1", "NONE"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        api={"groups": [["S1", "NONE"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        code="cells_gone",
    ),
    accept(
        page={"groups": [["S1", "OTHER"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        api={"groups": [["S1", "OTHER"], ["S2", "S3"], ["S4", "S5"], ["S6", "S7"]]},
        code="wrong_model",
    ),
    # the old pack comes apart
    take_out(page={"count": "99"}, where="count", api={"count": 99}, code="too_many_cells", fact="count"),
    take_out(page={"count": "two"}, where="count", api={"count": "two"}),
    take_out(page={"condition": "melted"}, where="condition", api={"condition": "melted"}),
    take_out(
        page={"rest_voltage": "16 V"},
        where="rest_voltage",
        api={"rest_voltage_mv": 16_000},
        code="impossible_value",
        fact="rest_voltage",
    ),
    take_out(
        page={"rest_voltage": "-1 V"},
        where="rest_voltage",
        api={"rest_voltage_mv": -1000},
        code="impossible_value",
        fact="rest_voltage",
    ),
    # cells into their positions
    Case(
        op="rebuild.place_cell",
        at=Stage.PLACE,
        page={"code": STRANGE},
        where="code",
        api={"code": STRANGE},
        code="wrong_cell",
        fact="code",
    ),
    Case(op="rebuild.place_cell", at=Stage.PLACE, page={"code": "0 V"}, api={"code": "0 V"}, code="held"),
    Case(op="rebuild.place_cell", at=Stage.PLACE, page={"code": "0 mAh"}, api={"code": "0 mAh"}, code="held"),
    measured(
        page={"v_2_1": "16 V"},
        where="v_2_1",
        api={"rest_voltages_mv": {"2.1": 16_000}},
        code="impossible_value",
        fact="2.1",
    ),
    measured(page={"v_2_1": "3.62 A"}, where="v_2_1", api={"rest_voltages_mv": {"2.1": "3.62 A"}}),
    measured(api={"rest_voltages_mv": {"9.9": 3620}}, code="no_such_position"),
    join(page={"spots_1": "0"}, where="spots_1", api={"strips": [{"strip": 1, "spots": -1}]}),
    join(
        page={"failed_1": "99"},
        where="failed_1",
        api={"strips": [{"strip": 1, "spots": 4, "failed": 99}]},
        code="impossible_value",
        fact="failed_1",
    ),
    join(api={"strips": [{"strip": 6, "spots": 4}]}, code="no_such_strip"),
    taps(page={"tap_2": "7.24 mΩ"}, where="tap_2", api={"taps_mv": ["3620", "7.24 mΩ", "10860", "14480"]}),
    taps(
        page={"tap_2": "1501 kV"},
        where="tap_2",
        api={"taps_mv": ["3620", "500000000", "10860", "14480"]},
        code="impossible_value",
        fact="tap 2",
    ),
    taps(api={"taps_mv": [3620] * 5}, code="wrong_count", fact="taps"),
    Case(
        op="proving.close_housing",
        at=Stage.HOUSING,
        api={"confirmed": {"housing.painted": True}},
        code="no_such_question",
        fact="confirmed",
    ),
    charge(page={"minutes_1": "half"}, where="minutes_1", api={"lines": [LOOK | {"minutes": "half"}]}),
    charge(
        page={"hottest_1": "2000 °C"},
        where="hottest_1",
        api={"lines": [LOOK | {"hottest_mdegc": "2000000"}]},
        code="impossible_value",
        fact="30 min",
    ),
    charge(page={"pack_1": ""}, where="pack_1", api={"lines": []}, code="no_readings", fact="lines"),
    charge(page={"minutes_4": "60"}, where="pack_4", api={"lines": [{"minutes": 60}]}),
    final(
        page={"group_2": "16 V"},
        where="group_2",
        api={"groups_mv": [4140, 16_000, 4140, 4140]},
        code="impossible_value",
        fact="group 2",
    ),
    final(page={"conditions": "x" * 121}, where="conditions", api={"conditions": "x" * 121}),
    # out of order
    Case(op="closeout.hand_over", at=Stage.MATCH, page={}, api={}, code="out_of_order"),
    Case(op="rebuild.join", at=Stage.MEASURE, page={}, api={}, code="out_of_order"),
    Case(op="proving.final_test", at=Stage.HOUSING, page={"capacity": "5080.5"}, api={}, code="out_of_order"),
    # what was removed
    Case(
        op="disposal.to_container",
        at=Stage.REMOVED,
        page={"damaged-insulated": ""},
        where="insulated",
        api={"insulated": False},
        code="not_insulated",
        fact="insulated",
    ),
    Case(
        op="disposal.to_container",
        at=Stage.REMOVED,
        page={"damaged-way": "container-999999"},
        where="way",
        api={"container": "W-NONE"},
    ),
    Case(
        op="disposal.to_stock",
        at=Stage.REMOVED,
        page={"which": "ticked"},
        where="things",
        api={"cells": []},
        code="nothing_chosen",
    ),
    Case(op="disposal.to_stock", at=Stage.REMOVED, api={"cells": ["S001"]}, code="not_on_bench"),
    Case(op="disposal.to_stock", at=Stage.REMOVED, page={"intact-way": "sea"}, where="way", api={"cells": ["NONE"]}),
    Case(op="disposal.finish_removed", at=Stage.REMOVED, page={}, where="said", api={}, code="held"),
    Case(
        op="closeout.hand_over",
        at=Stage.HAND_OVER,
        page={"received_by": ""},
        where="received_by",
        api={"received_by": ""},
        code="receiver_missing",
        fact="received_by",
    ),
    Case(op="closeout.hand_over", at=Stage.HAND_OVER, page={}, api={}, code="held"),
    # containers
    container(page={"code": "new"}, where="code", api={"code": "new"}, code="impossible_code", fact="code"),
    container(page={"code": "W-INTACT"}, where="code", api={"code": "W-INTACT"}, fact="code"),
    container(page={"code": "W" * 41}, where="code", api={"code": "W" * 41}),
    container(
        page={"started_on": "2999-01-01"},
        where="started_on",
        api={"started_on": "2999-01-01"},
        code="future_date",
        fact="started_on",
    ),
    Case(
        op="disposal.add_item",
        at=Stage.REMOVED,
        page={"kind": "device"},
        where="kind",
        api={"kind": "device"},
        code="device_is_known",
        fact="kind",
    ),
    Case(
        op="disposal.add_item",
        at=Stage.REMOVED,
        page={"kind": "pack", "mass_mg": "3000 kg"},
        where="mass_mg",
        api={"kind": "pack", "mass_mg": 2_000_000_001},
        code="impossible_value",
    ),
    container(page={"condition": "reactive"}, where="condition", api={"condition": "reactive"}, code="reactive"),
    # stock
    model(page={"name": "Round 2.6"}, where="name", api={"name": "Round 2.6"}, fact="name"),
    model(page={"nominal_voltage_mv": "4.3"}, where="charge_limit_mv", api={"nominal_voltage_mv": 4300}),
    model(
        page={"charge_limit_mv": "42"},
        where="charge_limit_mv",
        api={"charge_limit_mv": 42_000},
        code="impossible_value",
        fact="charge_limit_mv",
    ),
    model(page={"chemistry": "lead"}, where="chemistry", api={"chemistry": "lead"}),
    lot(
        page={"received_on": "2999-01-01"},
        where="received_on",
        api={"received_on": "2999-01-01"},
        code="future_date",
        fact="received_on",
    ),
    lot(page={"code": "L1"}, where="code", api={"code": "L1"}, fact="code"),
    lot(page={"owner": "customer"}, where="customer", api={"owner": "customer"}, fact="customer"),
    reading(
        page={"measure": "rest_voltage_mv", "value": "16 V"},
        where="value",
        api={"measure": "rest_voltage_mv", "value": "16000"},
        code="impossible_value",
        fact="value",
    ),
    reading(
        page={"measure": "dc_resistance_uohm", "value": "21.4 mΩ"},
        where="method",
        api={"measure": "dc_resistance_uohm", "value": "21400"},
        code="method_missing",
        fact="method",
    ),
    reading(page={"value": "3.6 V"}, where="value", api={"value": "3.6 V"}),
    reading(page={"value": "1e999"}, where="value", api={"value": "1e999"}),
    reading(page={"measure": "torque_mnm"}, where="measure", api={"measure": "torque_mnm"}, code="not_of_a_cell"),
    reading(api={"measured_at": "2999-01-01T00:00Z"}, code="future_date", fact="measured_at"),
    reading(api={"cell": "NONE"}),
    reading(api={"cell": f"C{NUL}"}, code=TEXT),
    Case(op="stock.correct_reading", page={"reason": ""}, where="reason", api={"reason": ""}),
    Case(op="stock.correct_reading", page={"value": "2500 V"}, where="value", api={"value": "2500 V"}),
    Case(op="stock.import_cells", api={"rows": []}, code="no_rows"),
    Case(op="stock.import_cells", api={"rows": [{"code": "T"}]}),
    Case(op="stock.import_cells", api={"rows": [{"code": "T", "readings": {"colour": 1}}]}),
    Case(op="stock.import_cells", api={"measured_at": "2999-01-01T00:00Z"}, code="future_date", fact="measured_at"),
]


# --- a shop with a job at every stage


@dataclass
class Shop:
    """One job at each stage, and things in the way."""

    jobs: dict[Stage, models.Job] = field(default_factory=dict)

    def job(self, case: Case) -> models.Job | None:
        return self.jobs.get(case.at)


@pytest.fixture(scope="module")
def shop(django_db_setup: None, django_db_blocker: Any) -> Iterator[Shop]:
    """Build the shop once; no case may change it."""
    with django_db_blocker.unblock(), transaction.atomic():
        SettingsFactory()
        jobs = {
            stage: line.job_at(stage)
            for stage in (Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)
        }
        for number in range(1, 9):
            CellFactory(code=f"S{number}")
        CellFactory(code="OTHER", lot=LotFactory(code="L2", cell_model=CellModelFactory(name="Round 9")))
        models.Customer.objects.create(name="Known", created_at=jobs[Stage.EXAMINE].opened_at)
        line.containers()
        yield Shop(jobs)
        transaction.set_rollback(True)


@pytest.fixture
def person(shop: Shop) -> models.User:
    return UserFactory(username="everyone", roles=tuple(Role))


def given_for(case: Case, shop: Shop) -> dict[str, Any]:
    """Return arguments that would pass, with what a case of the place step wants made of its cell."""
    given = calls.arguments(case.op, shop.job(case))
    if case.op == "rebuild.place_cell":
        given["code"] = _dead(shop.jobs[Stage.PLACE], (case.api or {})["code"])
    return given


def _dead(job: models.Job, how: str) -> str:
    """Return the code of a cell of the plan of which a reading of 0 is accepted as what it is."""
    cell = job.plans.get(state="accepted").positions.first().cell
    measure = {"0 V": Measure.REST_VOLTAGE, "0 mAh": Measure.CAPACITY}.get(how)
    if measure:
        stock.record_reading(cell=cell, measure=measure, value=Decimal(0), by=line.technician())
    return str(cell.code)


PAGES = [case for case in CASES if case.page is not None]
APIS = [case for case in CASES if case.api is not None]


def test_the_table_is_long_enough() -> None:
    assert len(PAGES) >= 60
    assert len(APIS) >= 60


@pytest.mark.parametrize("case", PAGES, ids=[case.id for case in PAGES])
def test_the_page_refuses(case: Case, shop: Shop, person: models.User, client: Client) -> None:
    client.force_login(person)
    given = given_for(case, shop)
    way = DOORS[case.op].page(client, given)
    typed = {name: _typed(text, shop, case, given) for name, text in (case.page or {}).items()}
    before = tables()
    answer = send(client, way.address, **way.sent | typed)
    assert tables() == before
    if case.where == "said":
        answer = client.get(answer.url)
        assert list(answer.context["messages"])
        return
    assert answer.status_code in (200, 409), answer.status_code
    html = answer.content.decode()
    _said_where(answer, case, html)
    for name, text in typed.items():
        if isinstance(text, str) and name not in NOT_TEXT and NUL not in text and text:
            assert escape(text) in html, f"{name} was typed and is gone"


NOT_TEXT = {"version", "groups", "which", "cell_model", "joint_method", "condition", "device_class", "chemistry"} | {
    "measure",
    "customer",
    "damaged-way",
    "intact-way",
}
"""Marks of the form itself, and choices from a list: what is not on the list cannot be chosen again."""


def _typed(text: Any, shop: Shop, case: Case, given: dict[str, Any]) -> Any:
    if text == "stale":
        return str(shop.jobs[case.at].version - 1)
    if case.op == "planning.accept" and isinstance(text, list):
        return AcceptForm.signed(
            shop.jobs[Stage.MATCH].plans.get(state="stated"), [tuple(group) for group in text], Decimal(0)
        )
    return given["code"] if text in ("0 V", "0 mAh") else text


def _said_where(answer: Any, case: Case, html: str) -> None:
    heaps = case.at is Stage.REMOVED and "waiting" in answer.context
    form = answer.context.get("accept") or answer.context.get("form") if not heaps else None
    if heaps:
        form = next(form for _, form in answer.context["waiting"] if form.is_bound)
    if case.where:
        assert case.where in form.errors, dict(form.errors)
        for message in form.errors[case.where]:
            assert escape(message) in html
    else:
        said = [*(form.non_field_errors() if form else []), *map(str, answer.context["messages"])]
        assert said
        assert all(escape(message) in html for message in said)


@pytest.mark.parametrize("case", APIS, ids=[case.id for case in APIS])
def test_the_api_refuses(case: Case, shop: Shop, person: models.User) -> None:
    client = APIClient()
    client.force_login(person)
    given = given_for(case, shop)
    door = DOORS[case.op].api
    assert door is not None
    way = door.way(given)
    body = merged(way.sent, {name: _sent(value, shop, case, given) for name, value in (case.api or {}).items()})
    before = tables()
    answer = client.generic(
        "POST", way.address, json.dumps(body), content_type="application/json", headers={"Idempotency-Key": "case"}
    )
    assert tables() == before
    told = answer.json()
    assert set(told) == {"code", "message", "facts"}
    assert (told["code"], bool(told["message"])) == (case.code, True), told
    unreadable = case.code == TEXT or (case.code == INVALID and "field" not in told["facts"])
    assert answer.status_code == (400 if unreadable else 409)
    if case.fact:
        assert told["facts"]["field"] == case.fact
    elif case.code == INVALID and answer.status_code == 400:
        assert set(told["facts"]["fields"]) & {*(case.api or {}), "non_field_errors"}
    if case.code == "held":
        assert told["facts"]["rules"]


def _sent(value: Any, shop: Shop, case: Case, given: dict[str, Any]) -> Any:
    if value == "stale":
        return shop.jobs[case.at].version - 1
    return given["code"] if value in ("0 V", "0 mAh") else value


def merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return JSON with changes, one level of objects deep."""
    both = {name: base[name] | new for name, new in changes.items() if isinstance(new, dict) and name in base}
    return base | changes | both


# --- what only one door has


class TestTables:
    @pytest.fixture(autouse=True)
    def kept_apart(self, settings: Any, tmp_path: Any) -> None:
        settings.MEDIA_ROOT = str(tmp_path)

    @pytest.mark.parametrize(
        ("content", "said"),
        [
            (b"PK\x03\x04\x14\x00\x06\x00", "workbook"),
            (b"\x89PNG\r\n\x1a\n\x00\x00", ""),
            (b"%PDF-1.7\n\x00\xff", ""),
            (b"", "empty"),
            (b"x" * (LARGEST_FILE + 1), "MB"),
            (b"code,capacity\n", ""),
            (b'code,capacity\n"A,1\n', ""),
        ],
        ids=["sheet", "picture", "paper", "empty", "huge", "headings", "quotation"],
    )
    def test_a_file_that_is_no_table(
        self, content: bytes, said: str, shop: Shop, person: models.User, client: Client
    ) -> None:
        client.force_login(person)
        before = tables()
        answer = send(client, "/stock/import/", table=SimpleUploadedFile("cells.csv", content))
        assert answer.status_code == 200
        assert said in " ".join(answer.context["form"].errors["table"])
        assert tables() == before

    def test_half_a_table_is_broken(self, shop: Shop, person: models.User, client: Client) -> None:
        """The good rows stay out with the bad ones, and each bad one is named with its line."""
        client.force_login(person)
        text = 'code,mAh\nT1,2500\nT2,"1,500"\nT3,2500 V\nT1,2400\nS1,2500\nT4,nan\n'
        file = SimpleUploadedFile("cells.csv", text.encode())
        address = send(client, "/stock/import/", table=file).url
        api = APIClient()
        api.force_login(person)
        said = choice(models.Lot.objects.get(code="L1"), capacity_mah_column="1", decimal=".")
        before = tables()
        looked = client.post(address, said)
        assert [fault for fault, _ in looked.context["preview"].faults] == [2, 3, 4, 5, 6, 7]
        client.post(address, said | {"looked_at": looked.context["preview"].sign, "import": "1"})
        assert tables() == before
        rows = [
            {"code": "T1", "readings": {"capacity_mah": 2500}},
            {"code": "T2", "readings": {"capacity_mah": 2_000_000}},
            {"code": "S1", "readings": {"rest_voltage_mv": 16_000}},
        ]
        body = {"lot": "L1", "rows": rows}
        answer = api.post("/api/v1/cells/import/", body, format="json", headers={"Idempotency-Key": "half"})
        assert (answer.status_code, answer.json()["code"]) == (409, "bad_rows")
        assert set(answer.json()["facts"]["rows"]) == {2, 3}
        assert tables() == before


class TestLostSession:
    def test_what_was_typed_is_sent_after_signing_in_again(self, client: Client) -> None:
        SettingsFactory()
        user = UserFactory(username="ida", roles=(Role.TECHNICIAN,))
        user.set_password("a long passphrase")
        user.save()
        form = {"code": "W<7>", "condition": "damaged", "started_on": "2026-11-02", "form_token": "7" * 32}
        asked = client.post("/containers/new/", form)
        assert asked.status_code == 401
        assert escape("W<7>") in asked.content.decode()
        kept = {f"kept.{name}": text for name, text in form.items()}
        wrong = client.post("/sign-in/", kept | {"username": "ida", "password": "x", "next": "/containers/new/"})
        assert ("code", "W<7>") in wrong.context["kept"]
        right = {"username": "ida", "password": "a long passphrase", "next": "/containers/new/"}
        again = client.post("/sign-in/", kept | right)
        assert (again.context["to"], dict(again.context["kept"])) == ("/containers/new/", form)
        assert not models.Container.objects.filter(code="W<7>").exists()
        assert client.post(again.context["to"], dict(again.context["kept"])).status_code == 302
        assert models.Container.objects.get(code="W<7>").condition == "damaged"

    def test_a_file_is_said_not_to_wait(self, client: Client) -> None:
        """A page can give back what was typed, and no file: whoever chose one is told before it is missed."""
        SettingsFactory()
        file = SimpleUploadedFile("cells.csv", b"code,mAh\nT1,2500\n")
        assert (
            "choose it once more" in client.post("/stock/import/", {"table": file, "form_token": "7"}).content.decode()
        )
        assert "choose it once more" not in client.post("/containers/new/", {"code": "W7"}).content.decode()

    def test_a_secret_never_waits_on_a_page(self, client: Client) -> None:
        answer = client.post("/settings/people/", {"username": "nell", "password": "a long passphrase"})
        assert "a long passphrase" not in answer.content.decode()

    def test_nobody_is_sent_to_another_house(self, client: Client) -> None:
        user = UserFactory(username="ida")
        user.set_password("a long passphrase")
        user.save()
        sent = {
            "kept.code": "x",
            "username": "ida",
            "password": "a long passphrase",
            "next": "https://elsewhere.example/",
        }
        assert client.post("/sign-in/", sent).context["to"] == "/"


def test_what_a_customer_is_called_is_shown_as_letters(person: models.User, client: Client) -> None:
    """Markup in a name is a name: accepted, and text on every page and in the API."""
    name = "<script>alert(1)</script>"
    job = line.take_in(customer_name=name)
    client.force_login(person)
    for address in ("/", f"/jobs/{job.number}/"):
        html = client.get(address).content.decode()
        assert name not in html
        assert escape(name) in html
    answer = client.get(f"/api/v1/jobs/{job.number}/")
    assert answer.json()["customer"] == name
    assert answer.headers["Content-Type"] == "application/json"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_an_empty_container_and_one_that_is_gone_go_nowhere(shop: Shop, person: models.User, client: Client) -> None:
    intact, _ = line.containers()
    client.force_login(person)
    api = APIClient()
    api.force_login(person)
    names = {"carrier": "Vale Haulage", "receiver": "Vale Recycling", "taken_by": "Per Lund"}
    before = tables()
    answer = send(client, f"/containers/{intact.code}/", **names | {"handed_over_by": "Jon Adler", "mode": "road"})
    assert "is empty" in answer.content.decode()
    assert escape("Vale Haulage") in answer.content.decode()
    for code, due in ((intact.code, (409, "container_empty")), ("W-NONE", (400, "invalid"))):
        body = names | {"containers": [code]}
        told = api.post("/api/v1/consignments/", body, format="json", headers={"Idempotency-Key": code})
        assert (told.status_code, told.json()["code"]) == due
    closing = {"gross_mass_mg": 1, "secured": True, "lid_vents": True}
    gone = api.post("/api/v1/containers/W-NONE/closing/", closing, format="json", headers={"Idempotency-Key": "2"})
    assert (gone.status_code, gone.json()["code"]) == (404, "not_found")
    assert tables() == before
    assert disposal.waiting(shop.jobs[Stage.REMOVED]) == 8
