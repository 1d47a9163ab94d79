"""What the papers of a job say: the job's own numbers, worked out by hand."""

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.utils.html import strip_tags

from packs import documents as content
from packs.documents import DisposalNote, HandOverReceipt, JobCard, thaw
from packs.terms import Condition, DangerSign, DocumentKind, LotOrigin, Measure, Outcome, Stage
from shop import models, printing
from shop.bridge import documents
from shop.bridge.documents import way_stated
from shop.bridge.documents.test_report import instruments
from shop.bridge.rules import RestHold
from shop.errors import ShopError
from shop.operations import disposal, intake, planning, proving, workshop
from shop.operations import documents as operations
from tests import line
from tests.factories import MORNING, LotFactory

pytestmark = pytest.mark.django_db
AT = datetime(2026, 11, 25, 23, 30, tzinfo=UTC)


def paper(job: models.Job, kind: DocumentKind, at: datetime = AT) -> Any:
    return thaw(documents.build(job, kind, number=7, by=line.technician(), at=at))


def job_card(stage: Stage = Stage.DISMANTLE) -> JobCard:
    return paper(line.job_at(stage), DocumentKind.JOB_CARD)


# --- job card


def test_the_target_pack_of_the_card() -> None:
    """Eight cells of 2.6 Ah and 3.6 V as 4s2p: 14.4 V, 12.0 to 16.8 V, 5.2 Ah, 74.88 Wh (Kirchhoff; 49 CFR 171.8)."""
    target = job_card().target
    rating = target.rating
    assert (rating.arrangement, rating.cells) == ("4s2p", 8)
    assert (rating.nominal_voltage_mv, rating.voltage_low_mv, rating.voltage_high_mv) == (14400, 12000, 16800)
    assert (rating.rated_capacity_mah, rating.rated_energy_mwh) == (Decimal(5200), Decimal(74880))
    assert (target.cell_current_ma, target.cell_current_limit_ma, target.charge_current_limit_ma) == (3000, 5200, 5200)
    assert target.c_rate == Decimal("1.1538")  # 6 A / 5.2 Ah


def test_layers_of_strip_are_on_the_card_and_told_at_the_bench(client: Client) -> None:
    job = line.job_at(Stage.JOIN)
    assert paper(job, DocumentKind.JOB_CARD).target.strip_layers == 1
    job.plans.update(strip_layers=2)
    card = documents.build(job, DocumentKind.JOB_CARD, number=7, by=line.technician(), at=AT)
    assert "2 layers on each other" in strip_tags(printing.page(card))
    client.force_login(line.technician())
    told = strip_tags(client.get(f"/jobs/{job.number}/steps/join/").content.decode())
    assert "Every strip lies in 2 layers." in told


def test_the_card_deals_the_cells_as_they_were_accepted() -> None:
    """The heaviest beside the lightest: 2600 and 2530 mAh in group 1, 5130 mAh in every group."""
    card = job_card()
    assert [cell.code for cell in card.groups[0].cells] == ["S001", "S008"]
    assert [group.capacity_mah for group in card.groups] == [Decimal(5130)] * 4
    assert [group.resistance_uohm for group in card.groups] == [Decimal(20000)] * 4  # two of 40 mΩ side by side


def test_of_equal_groups_none_is_called_the_weakest() -> None:
    assert not any(group.weakest for group in job_card().groups)


def test_the_weakest_group_is_marked() -> None:
    job = line.job_at(Stage.DISMANTLE)
    cell = models.Cell.objects.get(code="S003")
    models.Reading.objects.create(
        cell=cell, measure=Measure.CAPACITY.value, value=Decimal(2500), measured_at=AT, by=line.technician()
    )
    marked = [group.number for group in paper(job, DocumentKind.JOB_CARD).groups if group.weakest]
    assert marked == [3]


def test_of_groups_that_tie_all_are_marked_on_paper_and_in_its_drawing() -> None:
    job = line.job_at(Stage.DISMANTLE)
    for code, mah in (("S003", 2500), ("S004", 2490)):  # beside 2550 and 2560: groups 3 and 4 of 5050 mAh
        cell = models.Cell.objects.get(code=code)
        models.Reading.objects.create(
            cell=cell, measure=Measure.CAPACITY.value, value=Decimal(mah), measured_at=AT, by=line.technician()
        )
    card = paper(job, DocumentKind.JOB_CARD)
    assert [group.number for group in card.groups if group.weakest] == [3, 4]
    assert [face.svg.count(">weakest<") for face in documents.face_pictures(card.outline, card.groups)] == [2, 2]


def test_what_was_repaired_in_the_tester_files_stays_with_the_figures() -> None:
    """Only the files that the figures of today come from count; each repair stands once, with its cells."""
    job = line.job_at(Stage.DISMANTLE)
    _from_a_file("S001", "Time stamps occur twice.", "Rows stood still.")
    _from_a_file("S002", "Time stamps occur twice.")
    _from_a_file("S003", "The sign of the current was missing.")
    models.Reading.objects.create(
        cell=models.Cell.objects.get(code="S003"),
        measure=Measure.CAPACITY.value,
        value=Decimal(2550),
        measured_at=AT + timedelta(hours=1),
        by=line.technician(),
    )
    due = {"Time stamps occur twice.": ("S001", "S002"), "Rows stood still.": ("S001",)}
    assert dict(paper(job, DocumentKind.JOB_CARD).repairs) == due
    assert dict(paper(line.to_the_end(job), DocumentKind.TEST_REPORT).repairs) == due


def _from_a_file(code: str, *repairs: str) -> None:
    cell, by = models.Cell.objects.get(code=code), line.technician()
    remarks = [{"code": "x", "verdict": "repaired", "message": repair, "count": 1} for repair in repairs]
    remarks.append({"code": "y", "verdict": "noticed", "message": "A gap.", "count": 1})
    columns = {"size": 1, "rows": 2, "layout_name": "", "layout": {}, "at": AT, "by": by}
    kept = models.TraceFile.objects.create(cell=cell, name=code, sha256=code, remarks=remarks, **columns)
    cell.readings.create(measure=Measure.CAPACITY.value, value=Decimal(2550), trace=kept, measured_at=AT, by=by)


def test_strips_and_joints_of_the_card() -> None:
    """Five nodes, two terminals to each of eight cells; common practice, no source."""
    card = job_card()
    assert {strip.number: strip.joints for strip in card.strips} == {1: 2, 2: 4, 3: 4, 4: 4, 5: 2}
    assert [strip.number for strip in card.strips] == [2, 4, 1, 3, 5], "one face, turn the pack over, the other face"
    assert card.joint_count == 16


def test_leads_fuse_and_how_cells_are_held_are_on_the_card_as_they_were_stated() -> None:
    plan = models.Plan(
        cell_model=models.CellModel(compression="plate", compression_note="50.5 mm at every plate"),
        lead_area_um2=95_000_000, lead_length_um=300_000, fuse_current_ma=200_000, fuse_voltage_mv=80_000,
        fuse_breaking_ma=20_000_000,
    )  # fmt: skip
    way = way_stated(plan)
    html = render_to_string("parts/way_stated.html", {"way": way, "number_locale": "en"})
    said = re.sub(r"\s+", " ", strip_tags(html)).replace("\N{NARROW NO-BREAK SPACE}", " ")
    assert said.split("Leads")[1].startswith("95.00 mm² copper, 300.00 mm each")
    assert "Fuse200.00 A, breaks 80.00 V DC up to 20000.00 A" in said
    assert said.strip().endswith("between plates at a set distance: 50.5 mm at every plate")
    assert job_card().target.way == content.WayStated()


def test_every_step_of_the_line_is_on_the_card_with_its_cautions() -> None:
    card = job_card()
    assert [step.stage for step in card.steps] == list(line.STEPS)
    assert all(step.cautions for step in card.steps)


def test_the_limits_on_the_card_are_those_the_steps_are_held_to() -> None:
    """Nobody can fill a card to the letter and be stopped at the step: limits of the final test and the first charge."""
    limits = {limit.what: limit for step in job_card().steps for limit in step.limits}
    assert limits["measured capacity of the pack"].low == Decimal("4873.5")  # 95 % of 5130 mAh
    assert limits["voltage of the charger at the pack"].high == Decimal(16800)
    assert limits["highest group voltage on charge"].high == Decimal(4200)
    assert limits["largest current on joining the cells of the group"].high == Decimal(2600)
    assert (limits["number of joints made"].low, limits["number of joints made"].high) == (16, 16)


def test_there_is_a_place_for_every_reading() -> None:
    slots = {step.stage: [row for slots in step.slots for row in slots.rows] for step in job_card().steps}
    assert slots[Stage.MEASURE] == line.names()
    counted = [f"cell {number}" for number in range(1, 9)]  # 4s2p was found
    groups = [f"group {number}" for number in range(1, 5)]  # how full each is comes before the cut
    assert slots[Stage.DISMANTLE] == [*groups, *counted, *(condition.label for condition in Condition)]
    assert slots[Stage.LADDER] == ["overcharge trip", "undervoltage trip", "tap 1", "tap 2", "tap 3", "tap 4"]
    assert slots[Stage.JOIN] == [f"strip {number}" for number in (2, 4, 1, 3, 5)]


def test_a_plan_that_was_given_up_is_on_no_card() -> None:
    job = line.job_at(Stage.DISMANTLE)
    planning.release(job=job, reason="other cells came in", by=line.technician())
    with pytest.raises(ShopError) as refused:
        paper(job, DocumentKind.JOB_CARD)
    assert refused.value.code == "no_plan"


# --- test report


def test_what_was_measured_stands_apart_from_what_is_rated() -> None:
    report: content.TestReport = paper(line.job_at(Stage.REMOVED), DocumentKind.TEST_REPORT)
    proof = report.proof
    assert (proof.capacity_mah, proof.forecast_mah, proof.pack_rest_mv) == (Decimal(5080), 5130, 16560)
    assert report.left.rated_capacity_mah == Decimal(5200)
    assert proof.conditions == "0.2 C to 12 V at 22 °C"
    assert proof.supervised_by == "Technician"
    assert report.found.groups_mv == (3310, 3290, 3300, 3300)
    assert [(group.charged_mv, group.rest_mv) for group in report.groups] == [(4180, 4140)] * 4
    assert [(look.point, look.current_ma, look.temperature_mdegc) for look in proof.looks] == [
        (f"{minutes} min", 1000, 24000) for minutes in (0, 30, 60)
    ]


def test_checks_that_held_everywhere_are_one_line() -> None:
    report: content.TestReport = paper(line.job_at(Stage.REMOVED), DocumentKind.TEST_REPORT)
    stages = [check.stage for check in report.checks]
    assert stages == sorted(stages, key=list(Stage).index)
    open_ones = [check for check in report.checks if check.outcome is not Outcome.PASS]
    # 6 A through 8 × 0.15 mm, by its surface alone; and nobody wrote down how the cells of the tests were measured
    assert [(check.message[:10], check.outcome) for check in open_ones] == [
        ("solder tab", Outcome.FAIL),
        ("not writte", Outcome.UNKNOWN),
    ]
    spread = [check for check in report.checks if check.what == "spread of the rest voltages in the group"]
    assert [check.places for check in spread] == [4]


def test_a_warning_is_told_in_full_and_in_the_shops_numbers() -> None:
    job = line.job_at(Stage.FINAL_TEST)
    workshop.change_settings(
        by=models.User.objects.get(username="owner"),
        name="Zellwerk",
        emergency_number="112",
        jurisdiction="eu",
        number_locale="de",
    )
    groups = [Decimal(4100), Decimal(4161), Decimal(4140), Decimal(4159)]
    line.accept_in_writing(job, "final.group_spread")
    proving.final_test(
        job=job,
        capacity_mah=Decimal(5080),
        conditions=line.AS_THE_CELLS,
        pack_rest_mv=Decimal(16560),
        groups_mv=groups,
        **line.proof(hold=RestHold(hours=Decimal(24), groups_mv=groups)),
        by=line.technician(),
    )
    report: content.TestReport = paper(job, DocumentKind.TEST_REPORT)
    (tab,) = [check for check in report.checks if check.outcome is Outcome.FAIL]
    (warned,) = [check for check in report.checks if check.outcome is Outcome.ACCEPTED]
    assert "by its surface alone is 163" in tab.message
    assert "61" in warned.message
    agreed = next(
        check for check in report.checks if "differs from the sum" in check.message and "0,1" in check.message
    )
    assert agreed.outcome is Outcome.PASS


def test_reclaimed_cells_are_told_from_bought_ones() -> None:
    job = line.job_at(Stage.REMOVED)
    donors = LotFactory(code="D1", origin=LotOrigin.DONOR.value)
    models.Cell.objects.filter(code__in=["S001", "S002", "S003"]).update(lot=donors)
    report: content.TestReport = paper(job, DocumentKind.TEST_REPORT)
    assert (report.bought, report.reclaimed) == (5, 3)


# --- disposal note


def note(job: models.Job, at: datetime = AT) -> DisposalNote:
    return paper(job, DocumentKind.DISPOSAL_NOTE, at)


def test_the_one_damaged_cell_on_the_note() -> None:
    """2.6 Ah × 3.6 V = 9.36 Wh (49 CFR 171.8); UN3480 for lithium-ion batteries alone (UN Model Regulations)."""
    (section,) = note(line.job_at(Stage.HAND_OVER)).sections
    (unit,) = section.units
    assert section.condition is Condition.DAMAGED
    assert (unit.count, unit.rated_energy_mwh, unit.mass_mg) == (1, Decimal(9360), Decimal(46000))
    assert (unit.un_number, unit.un_name) == ("UN3480", "LITHIUM ION BATTERIES")
    assert unit.route == "container W-DAMAGED"


@pytest.mark.parametrize(
    ("at", "code"),
    [
        pytest.param(datetime(2026, 12, 8, 12, tzinfo=UTC), "16 06 05", id="2000/532/EC until 8 December 2026"),
        pytest.param(
            datetime(2026, 12, 9, 12, tzinfo=UTC), "16 06 07*", id="(EU) 2025/934 as corrected, from 9 December"
        ),
        # midnight in Vienna is 23:00 UTC the day before
        pytest.param(datetime(2026, 12, 8, 23, 30, tzinfo=UTC), "16 06 07*", id="the day is the workshop's own"),
    ],
)
def test_the_waste_code_follows_the_day_of_the_note(at: datetime, code: str) -> None:
    job = line.job_at(Stage.HAND_OVER)
    workshop.change_settings(
        by=models.User.objects.get(username="owner"),
        name="Zellwerk",
        emergency_number="112",
        jurisdiction="eu",
        time_zone="Europe/Vienna",
    )
    assert note(job, at).units[0].waste_code == code


def test_conditions_are_packed_and_told_apart() -> None:
    job = line.job_at(Stage.REMOVED)
    intact, damaged = line.containers()
    cells = models.Cell.objects.filter(lot__donor_job=job)
    for container, condition in ((intact, "intact"), (damaged, "damaged")):
        chosen = list(cells.filter(condition=condition))
        disposal.to_container(
            job=job, container=container, cells=chosen, insulated=True, packed_alone=True, by=line.technician()
        )
    made = note(job)
    assert [section.condition for section in made.sections] == [Condition.INTACT, Condition.DAMAGED]
    assert [section.units[0].count for section in made.sections] == [7, 1]
    assert made.rated_energy_mwh == Decimal(74880)
    assert made.sections[0].packing != made.sections[1].packing
    assert [way.route for way in made.ways] == ["container W-INTACT", "container W-DAMAGED"]


def test_a_container_that_left_names_carrier_and_receiver() -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.consigned(line.containers()[1], carrier="Brook Haulage", receiver="Elm Recycling")
    (way,) = note(job).ways
    assert (way.carrier, way.receiver, way.started_on) == ("Brook Haulage", "Elm Recycling", MORNING.date())
    assert way.left_at is not None


def red_job(signs: list[DangerSign], **nameplate: Any) -> models.Job:
    line.SettingsFactory()
    job = line.take_in(signs=signs)
    if nameplate:
        models.Device.objects.filter(pk=job.device_id).update(**nameplate)
        job.refresh_from_db()
    return job


def test_an_unopened_pack_on_the_emergency_route() -> None:
    job = red_job([DangerSign.SMOKE])
    (item,) = job.items.all()
    disposal.to_emergency_route(job=job, thing=item, receiver="fire service of Oberau", by=line.technician())
    made = note(job)
    (section,), (way,) = made.sections, made.ways
    (unit,) = section.units
    assert section.condition is Condition.REACTIVE
    assert (unit.count, unit.rated_energy_mwh, unit.mass_mg, unit.un_number) == (None, None, None, "")
    assert (made.count, made.rated_energy_mwh) == (None, None)
    assert unit.waste_code == ""
    assert "chemistry is not known" in unit.waste_words
    assert (way.route, way.receiver) == ("emergency route", "fire service of Oberau")


def test_the_nameplate_gives_the_energy_of_a_pack_nobody_opened() -> None:
    """36 V × 10.4 Ah = 374.4 Wh (49 CFR 171.8)."""
    job = red_job([DangerSign.SWELLING], rated_voltage_mv=36000, rated_capacity_mah=Decimal(10400))
    items = list(job.items.all())
    disposal.to_container(
        job=job, container=line.containers()[1], items=items, insulated=True, packed_alone=True, by=line.technician()
    )
    (unit,) = note(job).units
    assert (unit.rated_energy_mwh, unit.energy_words, unit.count) == (Decimal(374400), "nameplate", None)


def test_a_pack_that_was_examined_is_known_when_it_turns_red() -> None:
    """UN3481 for lithium-ion batteries contained in equipment (UN Model Regulations)."""
    job = intake.report_danger(job=line.job_at(Stage.TARGET), signs=[DangerSign.LEAK], by=line.technician())
    items = list(job.items.all())
    disposal.to_container(
        job=job, container=line.containers()[1], items=items, insulated=True, packed_alone=True, by=line.technician()
    )
    (unit,) = note(job).units
    assert (unit.un_number, unit.count, unit.rated_energy_mwh) == ("UN3481", 8, Decimal(74880))


# --- hand-over receipt


def test_the_receipt_accounts_for_every_removed_cell() -> None:
    job = line.job_at(Stage.HAND_OVER)
    operations.issue(job=job, kind=DocumentKind.TEST_REPORT, by=line.technician())
    receipt: HandOverReceipt = paper(job, DocumentKind.HAND_OVER)
    assert sum(each.count for each in receipt.removed) == 8
    assert [each.where for each in receipt.removed if each.count == 1] == ["in waste container W-DAMAGED"]
    assert receipt.papers == (("TR0001", "test report"),)
    assert receipt.customer == "Ida Moor"


def test_the_customer_never_charges_above_forty_degrees() -> None:
    """No charging above 40 °C (US Fire Administration); NMC allows 45 °C at full limits (JEITA)."""
    receipt: HandOverReceipt = paper(line.job_at(Stage.HAND_OVER), DocumentKind.HAND_OVER)
    assert receipt.charge_temperature is not None
    assert (receipt.charge_temperature.low, receipt.charge_temperature.high) == (Decimal(10000), Decimal(40000))


def test_the_head_is_the_workshops_on_the_day_of_issue() -> None:
    card = job_card()
    assert (card.heading.code, card.heading.job_code) == ("JC0007", "J0001")
    assert card.heading.workshop.name == "Lindenhof Cell Works"
    assert card.heading.issued_at == AT


def test_a_calibration_is_dated_as_the_rest_of_the_paper() -> None:
    job = line.job_at(Stage.REMOVED)
    meter = models.Instrument.objects.create(name="Bench meter 1", calibrated_on=date(2026, 3, 1))
    reading = job.readings.first()
    models.Reading.objects.create(
        job=job, measure=reading.measure, value=1, measured_at=reading.measured_at, by=reading.by, instrument=meter
    )
    meter_1, none = instruments(job)
    assert meter_1 == f"Bench meter 1 (calibrated 1 March 2026): {Measure(reading.measure).label}"
    assert none.startswith("none named: ")
    assert "capacity" in none


def test_the_customer_charges_between_the_temperatures_that_the_shop_keeps_to() -> None:
    """NMC: 10 to 40 °C; of a shop that lets the middle 80 % count 13 to 37 °C."""
    job = line.job_at(Stage.HAND_OVER)
    line.set_limit("first_charge.temperature", 80)
    window = paper(job, DocumentKind.HAND_OVER).charge_temperature
    assert (window.low, window.high) == (13_000, 37_000)
