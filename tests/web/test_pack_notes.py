"""What was learnt of a pack on one job is there at the next with the same nameplate. Values invented."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import Circumstance, ContactKind, DangerSign, DeviceClass, Opening, Role, Stage
from shop import models
from shop.operations import closeout, details, fault_finding, intake, pack_notes
from tests import line, probed
from tests.refusal import refused
from tests.web.desk import errors, send, sign_in, value, words

pytestmark = pytest.mark.django_db

TYPED = {
    "opens": "screws",
    "opening": "four screws under the label",
    "arrangement": "4s2p",
    "sensor_ohm": "10 kΩ",
    "usual_fault": "group 3 weak",
}


@pytest.fixture
def bench(client: Client) -> Client:
    sign_in(client, Role.TECHNICIAN)
    return client


def again(maker: str, model: str) -> models.Job:
    return line.take_in_with(intake.Nameplate(maker=maker, model=model, device_class=DeviceClass.TOOL))


def test_notes_are_found_by_the_nameplate_whatever_its_capitals_and_spaces(bench: Client) -> None:
    first = line.job_at(Stage.EXAMINE)
    assert send(bench, f"/jobs/{first.number}/pack-notes/", **TYPED).status_code == 302
    row = models.PackNotes.objects.get()
    assert (row.series, row.parallel, row.sensor_ohm, row.opens) == (4, 2, Decimal(10_000), Opening.SCREWS)
    same = words(bench.get(f"/jobs/{again('', ' garden  PUMP gp-3').number}/"))
    assert "screws: four screws under the label" in same
    assert "group 3 weak" in same
    assert "group 3 weak" not in words(bench.get(f"/jobs/{again('', 'Garden pump GP-4').number}/"))
    assert "group 3 weak" not in words(bench.get(f"/jobs/{again('Brook', 'Garden pump GP-3').number}/"))
    assert "group 3 weak" in words(bench.get("/pack-notes/"))


def test_what_was_found_in_the_pack_is_put_in_until_notes_are_written(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    page = f"/jobs/{job.number}/pack-notes/"
    assert value(bench.get(page), "arrangement") == "4s2p"
    send(bench, page, **TYPED | {"arrangement": "5s1p"})
    answer = bench.get(page)
    assert (value(answer, "arrangement"), value(answer, "sensor_ohm")) == ("5s1p", "10000")


def test_each_finished_job_adds_its_true_labour_time_and_a_quote_starts_from_their_mean(bench: Client) -> None:
    """80 and 111 min: 95.5, to whole minutes 96."""
    for minutes in ("80", "111"):
        job = line.job_at(Stage.HAND_OVER)
        assert send(bench, f"/jobs/{job.number}/labour-time/", minutes=minutes).status_code == 302
    line.state_prices()
    quoted = line.job_at(Stage.TARGET)
    assert value(bench.get(f"/jobs/{quoted.number}/quote/"), "labour_minutes") == "96"
    assert "96 min, mean of 2 jobs" in words(bench.get(f"/jobs/{quoted.number}/"))


def test_of_one_job_the_time_noted_last_counts(bench: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    for minutes in ("800", "80"):
        send(bench, f"/jobs/{job.number}/labour-time/", minutes=minutes)
    assert models.PackTime.objects.count() == 2
    assert "80 min, mean of 1 job" in words(bench.get(f"/jobs/{job.number}/"))


def test_a_finished_job_adds_what_was_found_and_changes_nothing_that_stands_there(bench: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    models.PackAsFound.objects.update(housing="four screws", board="low side")
    line.hand_over(job)
    row = models.PackNotes.objects.get()
    assert (row.arrangement, row.opening, row.board) == ("4s2p", "four screws", "low side")
    assert row.strips == "commercial nickel (99.6 %, nickel 200), 8.00\u202fmm × 0.15\u202fmm"
    models.PackNotes.objects.update(opening="glued seam", series=None, parallel=None)
    second = line.job_at(Stage.HAND_OVER)
    models.PackAsFound.objects.update(housing="clips")
    line.hand_over(second)
    row.refresh_from_db()
    assert (row.arrangement, row.opening) == ("4s2p", "glued seam")
    third = line.job_at(Stage.HAND_OVER)
    line.hand_over(third)
    assert not third.log.filter(verb="pack notes completed").exists()


def test_the_minutes_are_asked_where_the_device_is_handed_over(bench: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    send(bench, f"/jobs/{job.number}/hand-over/", received_by="Odd Strand", minutes="95")
    job.refresh_from_db()
    assert job.closed_at is not None
    assert models.PackTime.objects.get(job=job).minutes == 95


def test_what_a_closed_pack_showed_is_learnt_with_unequal_groups_and_sensor(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    models.PackAsFound.objects.filter(job=job).update(parallel=1, counts=[2, 1, 2, 2])
    sensor = details.Contact(kind=ContactKind.SENSOR, place="group 2", ohm=Decimal(10_010), mdegc=24_600)
    details.describe(job=job, details=details.Details(contacts=[sensor]), by=line.technician())
    probed.weak_group(job)
    intake.decline(job=job, reason="too dear", by=line.technician())
    job.refresh_from_db()
    closeout.hand_over(job=job, received_by="Odd Strand", by=line.technician())
    row = models.PackNotes.objects.get()
    assert (row.arrangement, row.sensor_ohm) == ("4s, 2 + 1 + 2 + 2 cells", Decimal(10_010))
    assert row.usual_fault == ""  # a weak cell and a bad joint of it read alike


def test_the_fault_that_alone_explains_the_readings_is_learnt(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    probed.state(job)
    probed.read(job, Circumstance.REST, probed.groups(3700, 3700, 2900, 3700))
    same = fault_finding.Probe(low="group_3_negative", high="group_3_positive", value_mv=Decimal(2900))
    later = timezone.now() + timedelta(days=1)
    given = {"circumstance": Circumstance.NEXT_DAY, "probes": [same], "by": line.technician(), "now": later}
    fault_finding.record_probes(job=job, **given)
    intake.decline(job=job, reason="too dear", by=line.technician())
    job.refresh_from_db()
    closeout.hand_over(job=job, received_by="Odd Strand", by=line.technician())
    assert models.PackNotes.objects.get().usual_fault.startswith("group 3: low")


def test_the_counter_hears_of_the_notes_when_the_device_comes_in(client: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    pack_notes.note_time(job=job, minutes=95, by=line.technician())
    sign_in(client, Role.COUNTER)
    typed = {"looked": "on", "customer_name": "Odd Strand", "model": "GARDEN pump GP-3", "device_class": "tool"}
    answer = send(client, "/jobs/new/", **typed, kind="rebuild", removed_owner="shop")
    assert "The shop has notes of this pack, Garden pump GP-3, 95 min of work" in words(client.get(answer.url))


def test_a_potted_pack_is_a_risk_in_its_quote(bench: Client) -> None:
    line.state_prices()
    job = line.job_at(Stage.TARGET)
    pack_notes.write_notes(job=job, learnt=pack_notes.Learnt(opens=Opening.POTTED), by=line.technician())
    form = bench.get(f"/jobs/{job.number}/quote/").context["form"]
    assert form["risks"].value() == ["potted"]


@pytest.mark.parametrize("minutes", ["0", "-5", "10001", "an hour"])
def test_a_time_that_cannot_be_is_refused(bench: Client, minutes: str) -> None:
    job = line.job_at(Stage.HAND_OVER)
    assert list(errors(send(bench, f"/jobs/{job.number}/labour-time/", minutes=minutes))) == ["minutes"]


def test_notes_are_kept_of_packs_that_were_worked_on() -> None:
    red = line.job_at(Stage.REMOVED, signs=[DangerSign.HOT])
    with refused("no_pack_of_a_customer"):
        pack_notes.write_notes(job=red, learnt=pack_notes.Learnt(), by=line.technician())
