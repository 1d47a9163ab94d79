"""An incident freezes the job, the welder and the charger it names, until a lead releases it in writing."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import (
    CellEnd,
    DangerLevel,
    DangerSign,
    DocumentKind,
    OldTabs,
    Peeled,
    Role,
    Specimen,
    Stage,
    Stubs,
    Wrap,
)
from shop import models
from shop.models import IncidentKind
from shop.operations import (
    breached,
    channels,
    closeout,
    danger_at_work,
    disposal,
    documents,
    incidents,
    intake,
    preparing,
    proving,
    rebuild,
    stock,
    welding,
    withdrawing,
)
from tests import line
from tests.factories import CellFactory, SettingsFactory
from tests.operations import calls
from tests.refusal import refused
from tests.web.desk import send, sign_in, words

pytestmark = pytest.mark.django_db


def report(job: models.Job | None = None, **changed: Any) -> models.Incident:
    told = {"kind": IncidentKind.HEAT, "happened": "it got warm by itself"} | changed
    return incidents.report_incident(job=job, by=line.technician(), **told)


def test_nothing_goes_on_with_the_job_until_a_lead_released_it() -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    line.lead()
    incident = report(job)
    with refused("frozen") as caught:
        closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())
    assert "heat" in caught.value.message
    with refused("not_allowed"):
        incidents.release_incident(incident=incident, findings="cold again", by=line.technician())
    with refused("findings_missing", field="findings"):
        incidents.release_incident(incident=incident, findings=" ", by=line.lead())
    given = {"incident": incident, "findings": "a warm lamp stood beside it", "by": line.lead()}
    with refused("findings_too_short", field="findings"):
        incidents.release_incident(**given | {"findings": "ok"})
    with refused("danger_missing", field="danger"):
        incidents.release_incident(**given)
    incidents.release_incident(**given, danger=DangerLevel.AMBER)
    job.refresh_from_db()
    assert (job.danger_level, job.held, job.findings) == ("amber", False, "a warm lamp stood beside it")
    with refused("released_already"):
        incidents.release_incident(incident=incident, findings="looked at it again", by=line.lead())
    closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())


def test_each_of_several_incidents_is_released() -> None:
    job = line.job_at(Stage.TARGET)
    first, second = report(job), report(job, kind=IncidentKind.FIRST_AID, happened="a cut finger")
    incidents.release_incident(
        incident=first, findings="cold, nothing swollen", danger=DangerLevel.AMBER, by=line.lead()
    )
    with refused("frozen"):
        line.state_target(job)
    incidents.release_incident(incident=second, findings="plaster put on", by=line.lead())
    line.state_target(job)


def test_what_makes_it_safer_and_papers_stay_possible() -> None:
    job = line.job_at(Stage.EXAMINE)
    report(job)
    intake.report_danger(job=job, signs=[DangerSign.HOT], by=line.technician())
    disposal.to_emergency_route(job=job, thing=job.items.get(), receiver="Oberau fire brigade", by=line.technician())
    documents.issue(job=job, kind=DocumentKind.DISPOSAL_NOTE, by=line.technician())
    assert job.items.get().place == "consigned"


def test_a_welder_named_in_an_incident_takes_no_sample_and_joins_nothing() -> None:
    job = line.job_at(Stage.JOIN)
    incident = report(welder=" Bench Welder ", kind=IncidentKind.VENTING, happened="a cell hissed at the tip")
    with refused("machine_frozen", field="machine"):
        line.peel(job)
    with refused("machine_frozen", field="weld"):
        line.join(job)
    incidents.release_incident(incident=incident, findings="tips cleaned, sample held", by=line.lead())
    line.join(job)


def test_a_charger_named_in_an_incident_charges_nothing() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    incident = report(charger="Charger B", happened="its case melted")
    given = calls.arguments("proving.first_charge", job) | {"by": line.technician()}
    with refused("machine_frozen", field="charged_with"):
        proving.first_charge(**given, charged_with="charger b")
    with refused("charger_unnamed", field="charged_with"):
        proving.first_charge(**given)
    incidents.release_incident(incident=incident, findings="a new lead", by=line.lead())
    result = proving.first_charge(**given, charged_with="Charger B")
    assert "charged with Charger B" in result.step.said


@pytest.mark.parametrize("name", ["bench-welder", "BENCH  WELDER", "benchwelder."])
def test_a_machine_spelt_otherwise_is_the_same_machine(name: str) -> None:
    job = line.job_at(Stage.JOIN)
    report(welder="Bench welder", kind=IncidentKind.HEAT, happened="a tip glowed")
    with refused("machine_frozen", field="machine"):
        line.peel(job, weld=replace(line.WELD, machine=name))


def test_while_a_welder_is_frozen_only_a_lead_brings_in_a_name_that_the_book_does_not_have() -> None:
    job = line.job_at(Stage.JOIN)
    field_welder, first = replace(line.WELD, machine="field welder"), replace(line.WELD, machine="welder one")
    line.peel(job, weld=field_welder)
    report(welder="Bench welder", kind=IncidentKind.HEAT, happened="a tip glowed")
    line.peel(job, weld=field_welder)
    with refused("machine_unknown", field="machine"):
        line.peel(job, weld=first)
    peeled = {"specimen": Specimen.SCRAP_CAN, "peeled": dict.fromkeys(CellEnd, Peeled.HELD)}
    welding.record_samples(job=job, weld=first, by=line.lead(), **peeled)
    line.peel(job, weld=first)


def test_a_charger_that_the_book_does_not_know_is_brought_in_by_a_lead_while_one_is_frozen() -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    report(charger="Charger B", happened="its case melted")
    given = calls.arguments("proving.first_charge", job)
    for name, code in (("charger-b", "machine_frozen"), ("Charger C", "machine_unknown")):
        with refused(code, field="charged_with"):
            proving.first_charge(**given, charged_with=name, by=line.technician())
    assert proving.first_charge(**given, charged_with="Charger C", by=line.lead()).done


@pytest.mark.parametrize("spelled", ["charger  b", "Charger-B", "chargerB", "CHARGER B.", "Ｃharger B"])
def test_however_a_frozen_charger_is_spelled_it_stays_frozen(spelled: str) -> None:
    job = line.job_at(Stage.FIRST_CHARGE)
    report(charger="Charger B")
    given = calls.arguments("proving.first_charge", job) | {"by": line.technician()}
    with refused("machine_frozen", field="charged_with"):
        proving.first_charge(**given, charged_with=spelled)


@pytest.mark.parametrize("other", ["Charger 11", "Charger 1-2", "Charger 1"])
def test_another_machine_is_not_taken_for_it(other: str) -> None:
    assert models.machine_key("Charger 1-1") == models.machine_key("charger 1 1")
    assert models.machine_key("Charger 1-1") != models.machine_key(other)


def test_a_machine_of_signs_alone_is_one_too() -> None:
    report(welder="++")
    with refused("machine_frozen"):
        incidents.require_released(" ++", "welder", by=line.technician(), field="weld")
    incidents.require_released("", "welder", by=line.technician(), field="weld")


def test_cells_of_a_frozen_pack_are_not_charged_or_ground() -> None:
    job = line.job_at(Stage.REMOVED)
    cell = models.Cell.objects.on_bench_of(job).filter(condition="intact")[0]
    (waiting,) = channels.queue_cells(cells=[cell], by=line.technician())
    channel, incident = calls.channel(), report(job)
    with refused("frozen", field="cells"):
        channels.begin_run(run=waiting, channel=channel, hours=Decimal(9), by=line.technician())
    other = models.Cell.objects.on_bench_of(job).filter(condition="intact")[1]
    with refused("frozen", field="cells"):
        channels.queue_cells(cells=[other], by=line.technician())
    made = {"tabs": OldTabs.REMOVED, "stubs": Stubs.GROUND, "wrapper": Wrap.INTACT, "insulator": Wrap.INTACT}
    with refused("frozen", field="cells"):
        preparing.prepare_cells(cells=[cell], by=line.technician(), **made)
    incidents.release_incident(
        incident=incident, findings="cold, nothing swollen", danger=DangerLevel.AMBER, by=line.lead()
    )
    channels.begin_run(run=waiting, channel=channel, hours=Decimal(9), by=line.technician())


@pytest.mark.parametrize("named", ["instrument", "channel"])
def test_a_tester_named_as_charger_takes_no_cell(named: str) -> None:
    channel = calls.channel()
    (waiting,) = channels.queue_cells(cells=[CellFactory(code="Q1")], by=line.technician())
    report(charger=str(channel) if named == "channel" else channel.instrument.name)
    with refused("machine_frozen", field="channel"):
        channels.begin_run(run=waiting, channel=channel, hours=Decimal(9), by=line.technician())


def test_what_happened_at_the_customers_is_written_down_with_its_pack(client: Client) -> None:
    job = line.handed_over()
    assert report(job, kind=IncidentKind.FIRE, happened="burnt in the shed").job == job
    sign_in(client, Role.COUNTER)
    assert f"/jobs/{job.number}/incident/" in client.get(f"/jobs/{job.number}/").content.decode()


def test_a_pierced_can_is_an_incident_with_its_welder() -> None:
    job = line.job_at(Stage.JOIN)
    CellFactory(code="X1")
    breached.replace_breached(
        job=job, code="S001", instead="X1", happened="electrode slipped", isolated=True, by=line.technician()
    )
    incident = models.Incident.objects.get()
    assert (incident.kind, incident.job, incident.welder) == ("pierced", job, line.WELD.machine)
    assert "electrode slipped" in incident.happened
    with refused("frozen"):
        rebuild.place_cell(job=job, code="X1", by=line.technician())


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        (lambda: {"happened": " "}, "reason_missing", "happened"),
        (lambda: {"happened_at": timezone.now() + timedelta(hours=2)}, "future_date", "happened_at"),
    ],
)
def test_what_is_refused(changed: Callable[[], dict[str, Any]], code: str, field: str) -> None:
    line.technician()
    with refused(code, field=field):
        report(**changed())


def test_pages_say_it_and_a_lead_releases_it_there(client: Client) -> None:
    job = line.job_at(Stage.TARGET)
    sign_in(client, Role.LEAD)
    typed = {"kind": "fire", "happened": "sparks at the tap", "people": "Nell", "moved": "pack to the sand box"}
    send(client, f"/jobs/{job.number}/incident/", **typed)
    sheet = words(client.get(f"/jobs/{job.number}/"))
    assert "frozen" in sheet
    told = words(client.get("/incidents/"))
    assert "Fire" in told
    assert "Moved: pack to the sand box" in told
    incident = models.Incident.objects.get()
    send(client, f"/incidents/{incident.pk}/release/", findings="a loose wire, taken off", danger="amber")
    assert client.get(f"/jobs/{job.number}/").context["frozen_by"] == []
    assert "a loose wire, taken off" in words(client.get("/incidents/"))


def test_the_owner_writes_what_everybody_reads(client: Client) -> None:
    SettingsFactory(emergency_number="144")
    sign_in(client, Role.COUNTER)
    page = words(client.get("/emergency/"))
    assert "Call 144." in page
    assert "not written yet" in page
    assert send(client, "/emergency/", text="Run.").status_code == 403
    sign_in(client, Role.OWNER)
    send(client, "/emergency/", text="Meet at the gate.")
    sign_in(client, Role.COUNTER)
    page = words(client.get("/emergency/"))
    assert "Meet at the gate." in page
    assert "fire service decide" in page


def test_readings_of_a_frozen_pack_stay_as_they_are_until_it_is_released() -> None:
    job = line.job_at(Stage.HAND_OVER)
    of_pack = models.Reading.objects.standing().filter(job=job, cell=None).first()
    of_cell = models.Reading.objects.standing().filter(cell__job=job, step=None).first()
    assert of_pack is not None
    assert of_cell is not None
    report(job)
    for reading in (of_pack, of_cell):
        given = {"reading": reading, "value": reading.value, "reason": "typed wrong", "by": line.technician()}
        with refused("frozen"):
            stock.correct_reading(**given)
    with refused("frozen"):
        withdrawing.withdraw_reading(reading=of_cell, reason="another cell's", by=line.technician())


def test_when_it_happened_is_told_by_the_clock_of_the_shop() -> None:
    """Invented: 05:28 UTC is 06:28 in winter where the shop stands."""
    incident = report(happened_at=datetime(2025, 12, 1, 5, 28, tzinfo=UTC))
    with timezone.override("Europe/Berlin"):
        assert str(incident) == "heat, 1 Dec 2025, 06:28"


def test_a_pack_that_the_release_says_is_red_goes_outside() -> None:
    job = line.job_at(Stage.FINAL_TEST)
    incident = report(job, kind=IncidentKind.VENTING)
    incidents.release_incident(
        incident=incident, findings="a cell vented in group 2", danger=DangerLevel.RED, by=line.lead()
    )
    job.refresh_from_db()
    assert job.given_up
    assert job.stage == Stage.REMOVED
    assert danger_at_work.outside(job) is not None


def test_pages_of_a_frozen_job_show_the_incident_in_place_of_the_action(client: Client) -> None:
    job = line.job_at(Stage.FINAL_TEST)
    incident = report(job, charger="Charger 1")
    sign_in(client, Role.LEAD)
    release = f"/incidents/{incident.pk}/release/"
    for address in (f"/jobs/{job.number}/", f"/jobs/{job.number}/steps/final_test/"):
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert release in answer.content.decode(), address
    assert "Record the test" not in words(client.get(f"/jobs/{job.number}/"))
    assert client.get("/").context["frozen"] == {job.pk}


def test_a_frozen_welder_is_never_proposed_for_the_next_sample(client: Client) -> None:
    job = line.job_at(Stage.JOIN)
    line.peel(job)
    sample = models.PeelSample.objects.latest("pk")
    report(welder=sample.machine)
    sign_in(client, Role.TECHNICIAN)
    answer = client.get(f"/jobs/{job.number}/steps/join/peel-samples/")
    assert answer.context["form"].initial == {}
    assert f"{sample.machine} is not used" in words(answer)
