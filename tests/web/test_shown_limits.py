"""Every bound that a step shows, on its page or on the job card, is asked: a value just beyond it stops or warns."""

import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any, NamedTuple

import pytest
from django.db import transaction
from django.test import Client

from packs.rules import RULES
from packs.terms import STEPS, JobKind, JointMethod, Outcome, Role, Stage
from shop import models
from shop.bridge import rules
from shop.bridge.documents.card_steps import card_steps
from shop.bridge.rules import HOUSING_RULES
from tests import line
from tests.factories import SettingsFactory
from tests.operations.stopped import joined, rests
from tests.web.desk import at, send, sign_in, voltages
from tests.web.test_proving import charge, final

pytestmark = pytest.mark.django_db

Form = dict[str, str]
WITH_FORMS = tuple(stage for stage in STEPS if stage not in (Stage.DISMANTLE, Stage.PLACE))
OUTLET = {"outlet_voltage_mv": 5000, "dropout_mv": 300}


class Shown(NamedTuple):
    """A bound beside a field, or in the heading of several alike, as a page has it."""

    name: str
    text: str


def shown_on(page: Any) -> list[Shown]:
    """Return the bounds on a page; a rated capacity beside a measured one is no bound."""
    html = page.content.decode()
    beside = re.findall(r'class="field-limit" id="id_([a-z_0-9]+)_limit">([^<]*)<', html)
    above = re.findall(r'data-limit="([a-z]+)">([^<]*)<', html)
    plain = [Shown(name, text.replace("\u202f", " ")) for name, text in [*beside, *above]]
    return [shown for shown in plain if not shown.text.startswith("rated ")]


class Edge(NamedTuple):
    """A value that a bound still allows, and the next one of its last shown digit beyond it."""

    within: str
    beyond: str


REST = Decimal("4.14")
"""Where the groups of the last tests rest, in volts; four of them are the pack."""


def edges(text: str) -> list[Edge]:
    """Read the ends of a bound out of the words that a page shows."""
    numbers = [
        (Decimal(number.replace(",", "")), unit) for number, unit in re.findall(r"(\d[\d.,]*) ([^\s\d,]+)", text)
    ]
    first, unit = numbers[0]
    digit = _digit(first)
    if text.startswith("the sum of its groups ± "):
        off, digit = (first / 1000, digit / 1000) if unit == "mV" else (first, digit)
        return [_edge(4 * REST + way * off, "V", way * digit) for way in (-1, +1)]
    if " apart at most" in text:
        apart = first / 1000 if unit == "mV" else first
        return [_edge(REST + apart, "V", digit / 1000 if unit == "mV" else digit)]
    if " ± " in text:
        (off, of), digit = numbers[1], _digit(numbers[1][0])
        if (unit, of) == ("V", "mV"):
            off, digit = off / 1000, digit / 1000
        return [_edge(first + way * off, unit, way * digit) for way in (-1, +1)]
    if found := re.search(r"at (most|least) ", text):
        return [_edge(first, unit, digit if found[1] == "most" else -digit)]
    assert " to " in text, f"nobody can read the bound {text}"
    return [_edge(end, of, way * _digit(end)) for (end, of), way in zip(numbers, (-1, +1), strict=True)]


def _digit(number: Decimal) -> Decimal:
    """One of the last digit shown."""
    return Decimal(1).scaleb(number.as_tuple().exponent)  # type: ignore[arg-type]


def _edge(number: Decimal, unit: str, step: Decimal) -> Edge:
    return Edge(f"{number} {unit}", f"{number + step} {unit}")


# --- a form that keeps every limit, and how the field of a shown bound is filled in it


def looks(name: str, text: str) -> Form:
    """A look is written down whole or not at all."""
    number = name.rpartition("_")[2]
    whole = {"minutes": "90", "pack": "15.2", "current": "1", "hottest": "24"} if int(number) > 3 else {}
    return {f"{key}_{number}": typed for key, typed in whole.items()} | {name: text}


BOARD = {"suits": "on", "overcharge_trip": "4.225", "undervoltage_trip": "3.1"}
FULL: dict[Stage, Callable[[], Form]] = {
    Stage.MEASURE: voltages,
    Stage.JOIN: dict,
    Stage.LADDER: lambda: {f"tap_{number}": f"{3.62 * number:.2f}" for number in range(1, 5)} | BOARD,
    Stage.HOUSING: lambda: dict.fromkeys(HOUSING_RULES, "on"),
    Stage.FIRST_CHARGE: charge,
    Stage.FINAL_TEST: final,
    Stage.TEST_PACK: lambda: {"pack_rest": "16.56"} | {f"group_{group}": str(REST) for group in range(1, 5)},
}


def filled(stage: Stage, name: str, text: str) -> Form:
    """Return the form of a step with the value of a shown bound typed in, and all else within its limits."""
    form = FULL[stage]()
    if name == "cell":  # all of them, so that nothing flows between them
        return form | dict.fromkeys(form, text)
    if name == "groups":  # the whole of group 2, as far from the others at 3.62 V as from the rest of the tests
        moved = str(Decimal("3.62") + Decimal(text.removesuffix(" V")) - REST)
        return form | {"v_2_1": moved, "v_2_2": moved}
    if name in ("group", "spread"):  # and where it rested, so that it did not fall
        return form | {"group_2": text} | ({"held_2": text} if "held_2" in form else {})
    if name == "mid":
        return form | {f"mid-charge_group_{n}": str(REST) for n in range(1, 5)} | {"mid-charge_group_2": text}
    if name == "fall":
        return form | {"held_2": f"{REST - Decimal(text.removesuffix(' mV')) / 1000} V"}
    if name == "held_hours":
        return form | {name: text.removesuffix(" h")}
    if name in ("load_pack", "load_joint"):
        return form | {name: _under(name, text)}
    if stage is Stage.FIRST_CHARGE and name != "charger_voltage":
        return form | looks(name, text)
    return form | {name: text}


def _under(name: str, resistance: str) -> str:
    """What 5 A over a resistance come to: the fall of a joint, or the voltage that 4 × 4.14 V fall to."""
    number, unit = resistance.split(" ")
    fall = 5 * Decimal(number) / {"mΩ": 1000, "µΩ": 1_000_000}[unit]
    return f"{4 * REST - fall if name == 'load_pack' else fall} V"


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def found(client: Client, job: models.Job, stage: Stage, form: Form) -> set[str]:
    """Send a form and return the rules that did not hold; then it is as if nobody had sent it."""
    with transaction.atomic():
        answer = send(client, at(job, stage), **form)
        assert answer.status_code == 302, answer.context["form"].errors
        step = job.steps.filter(stage=stage.value).last()
        failed = {one["rule_id"] for one in step.findings if one["outcome"] == Outcome.FAIL}
        transaction.set_rollback(True)
    return failed


def tried(client: Client, job: models.Job, stage: Stage) -> Iterator[str]:
    """Try the edges of every bound that the page of a step shows; yield what is shown and not asked."""
    for name, text in shown_on(client.get(at(job, stage))):
        if name.rpartition("_")[2] in LATER_LOOKS:
            continue
        for within, beyond in edges(text):
            if wrong := found(client, job, stage, filled(stage, name, within)):
                yield f"{name}, {text}: {within} is refused by {wrong}"
            if not found(client, job, stage, filled(stage, name, beyond)):
                yield f"{name}, {text}: nothing asks about {beyond}"


LATER_LOOKS = {str(look) for look in range(1, 13)} - {"1", "4"}
"""Made in the same loop as the first and the fourth, which are tried."""


# How many bounds each page shows: 4s2p without an outlet; twelve looks of three readings at the first charge.
@pytest.mark.parametrize(
    ("stage", "shows"),
    [
        (Stage.MEASURE, 4 + 1),
        (Stage.JOIN, 0),
        (Stage.LADDER, 4 + 2),
        (Stage.HOUSING, 0),
        (Stage.FIRST_CHARGE, 1 + 12 * 3 + 1 + 1),
        (Stage.FINAL_TEST, 3 + 1 + 1 + 3),
        (Stage.TEST_PACK, 1),
    ],
)
def test_a_value_just_beyond_a_bound_on_the_page_stops_or_warns(technician: Client, stage: Stage, shows: int) -> None:
    job = line.job_at(stage)
    if stage is Stage.MEASURE:
        line.set_limit("measure.charge_for_welding", 115)  # up to the highest that a cell may ever rest at
    assert len(shown_on(technician.get(at(job, stage)))) == shows
    assert not list(tried(technician, job, stage))


def test_the_window_of_an_outlet_is_asked_too(technician: Client) -> None:
    """A 5 V outlet behind two cells in series, with the groups of the test at 4.14 V."""
    job = line.built_of(2, 4, **OUTLET)
    models.Job.objects.update(stage=Stage.FINAL_TEST.value)
    page = technician.get(at(job, Stage.FINAL_TEST))
    (outlet,) = (one for one in shown_on(page) if one.name == "outlet")
    form = final(capacity="10500", pack_rest="8.28", load_pack="8.08")
    for within, beyond in edges(outlet.text):
        assert not found(technician, job, Stage.FINAL_TEST, form | {"outlet": within})
        assert found(technician, job, Stage.FINAL_TEST, form | {"outlet": beyond}) == {"final.outlet"}


def test_what_bolts_are_held_to_is_asked_too(technician: Client) -> None:
    """An invented data sheet asks for 20 N·m."""
    job = line.built_of(2, 2, joint_method=JointMethod.BOLTED)
    models.CellModel.objects.update(terminal_torque_mnm=20_000)
    assert rests(job, dict.fromkeys(("1.1", "1.2", "2.1", "2.2"), 3620)).done
    (shown,) = shown_on(technician.get(at(job, Stage.JOIN)))
    assert shown == ("bolts", "Each bar: torque 18.00 N·m to 22.00 N·m, contact at most 0.20 mΩ.")
    form = {"clean_faces": "on", "second_look": "on", "second_look_by": "Jon Adler"}
    for bar in (1, 2, 3):
        form |= {f"done_{bar}": "on", f"failed_{bar}": "0", f"torque_{bar}": "20", f"contact_{bar}": "0.1"}
    for text, field, rule in zip(
        shown.text.removesuffix(".").split(", "),
        ("torque_2", "contact_2"),
        ("join.torque", "join.contact_resistance"),
        strict=True,
    ):
        for within, beyond in edges(text):
            assert not found(technician, job, Stage.JOIN, form | {field: within})
            assert found(technician, job, Stage.JOIN, form | {field: beyond}) == {rule}


def test_cells_that_go_one_by_one_show_the_voltage_they_are_used_again_from(technician: Client) -> None:
    """What is just beyond is rejected; the page of placing shows no bound, its rules are asked of each cell."""
    assert not shown_on(technician.get(at(line.job_at(Stage.PLACE), Stage.PLACE)))
    job = line.job_at(Stage.DISMANTLE)
    (shown,) = shown_on(technician.get(at(job, Stage.DISMANTLE)))
    assert shown == ("rest_voltage", "2.000 V to 4.250 V to be used again")
    for volts in [volts for edge in edges(shown.text) for volts in edge]:
        send(technician, at(job, Stage.DISMANTLE, "cell/"), rest_voltage=volts, condition="intact", count="1")
    out = models.Cell.objects.filter(lot__donor_job=job).order_by("code")
    assert list(out.values_list("condition", flat=True)) == ["intact", "damaged"] * 2


def test_every_step_with_a_form_is_tried() -> None:
    assert set(FULL) == {*WITH_FORMS, Stage.TEST_PACK}


def asked(job: models.Job) -> dict[Stage, set[str]]:
    """Return by stage what the rules asked about on a job that was walked to its end."""
    plan = job.plans.get()
    by_stage = {Stage(step.stage): {one["rule_id"] for one in step.findings} for step in job.steps.all()}
    first = plan.positions.select_related("cell__lot__cell_model").first()
    by_stage[Stage.PLACE] |= {one.rule_id for one in rules.placed(plan, first.cell)}
    by_stage[Stage.JOIN].add("join.attempts")  # where a joint is made again, which on this way none was
    return {stage: {RULES[rule].quantity for rule in found} for stage, found in by_stage.items()}


@pytest.mark.parametrize("kind", [JobKind.REBUILD, JobKind.FOR_STOCK])
def test_every_limit_on_the_job_card_is_a_rule_of_its_step(kind: JobKind) -> None:
    job = line.job_at(Stage.REMOVED if kind is JobKind.REBUILD else Stage.INTO_STOCK, kind=kind)
    told = asked(job)
    strange = [
        f"{step.stage.label}: {limit.what}"
        for step in card_steps(job.plans.get())
        for limit in step.limits
        if limit.what not in told[step.stage]
    ]
    assert not strange


def test_the_charge_before_opening_stands_in_the_record() -> None:
    """As found the groups rest at 3.29 to 3.31 V: below 30 % of the charge of an NMC cell by every published curve."""
    job = line.job_at(Stage.REMOVED)
    rows = models.Reading.objects.filter(job=job, stage=Stage.EXAMINE.value)
    assert rows.filter(point__startswith="group").count() == 4
    dismantled = job.steps.get(stage=Stage.DISMANTLE.value)
    low = [one for one in dismantled.findings if one["rule_id"] == "dismantle.charge_low"]
    assert [(one["where"], one["outcome"]) for one in low] == [(f"group {n}", "pass") for n in range(1, 5)]


def test_bounds_are_read_as_they_are_shown() -> None:
    """Without this the test above could pass by reading nothing."""
    assert edges("at most 16.80 V") == [("16.80 V", "16.81 V")]
    assert edges("each at least 2.000 V") == [("2.000 V", "1.999 V")]
    assert edges("10.0 °C to 40.0 °C") == [("10.0 °C", "9.9 °C"), ("40.0 °C", "40.1 °C")]
    assert edges("3.620 V ± 0.100 V") == [("3.520 V", "3.519 V"), ("3.720 V", "3.721 V")]
    assert edges("the sum of its groups ± 0.100 V") == [("16.460 V", "16.459 V"), ("16.660 V", "16.661 V")]
    assert edges("50 mV apart at most, else a warning") == [("4.19 V", "4.191 V")]


def test_joints_short_of_the_drawing_stop() -> None:
    """The one bound on the card of joining that no field shows."""
    assert not joined(line.job_at(Stage.JOIN), range(1, 5)).done
