"""Measure, join, check the taps: limits beside fields, readings kept when a rule stops, what stops first."""

import re
from decimal import Decimal

import pytest
from django.test import Client

from packs.terms import Role, Stage
from shop import models
from shop.operations import workshop
from tests import line, rows
from tests.factories import SettingsFactory
from tests.web.desk import at, errors, readings, send, sign_in, stage_of, ticked, value, voltages, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


def test_the_cells_of_a_14s6p_stand_group_by_group(technician: Client) -> None:
    plan = rows.planned(14, 6, Stage.MEASURE)
    answer = technician.get(at(plan.job, Stage.MEASURE))
    groups = answer.context["groups"]
    assert [len(group["rows"]) for group in groups] == [6] * 14
    assert answer.content.decode().count("<legend>Group ") == 14
    assert "optional" not in words(answer).split("Group 1")[1]


def test_readings_are_recorded_with_their_meter(technician: Client) -> None:
    meter = workshop.add_instrument(name="Bench meter 1", error_ppm=500, error_uv=2000, by=line.technician())
    job = line.job_at(Stage.MEASURE)
    typed = voltages(v_1_1="3.6215 V", v_1_2="3619 mV", instrument=str(meter.pk))
    assert send(technician, at(job, Stage.MEASURE), **typed).url == f"/jobs/{job.number}/"
    assert readings(job, Stage.MEASURE)["1.1"] == Decimal("3621.5")
    assert readings(job, Stage.MEASURE)["1.2"] == Decimal(3619)
    assert set(models.Reading.objects.filter(job=job).values_list("instrument", flat=True)) == {None, meter.pk}
    assert technician.get(at(job, Stage.JOIN)).status_code == 200


def test_a_rule_stops_the_step_and_everything_read_is_kept(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    answer = send(technician, at(job, Stage.MEASURE), **voltages(v_2_1="4.1004", v_4_2=""))
    assert answer.url == at(job, Stage.MEASURE)
    page = technician.get(answer.url)
    assert "What you typed is kept. The step is not done yet" in words(page)
    assert value(page, "v_2_2") == "3.620"
    assert value(page, "v_4_2") == ""
    # four decimals are more than the shop prints, and none is lost
    resent = {name: value(page, name) for name in voltages()} | {"v_4_2": "3.62", "since": "2.1 is levelled still"}
    send(technician, at(job, Stage.MEASURE), **resent)
    assert (
        list(models.Reading.objects.filter(job=job, point="2.1").values_list("value", flat=True))
        == [Decimal("4100.4")] * 2
    )


def test_what_stops_comes_first_and_what_holds_is_folded_away(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    send(technician, at(job, Stage.MEASURE), **voltages(v_2_1="4.1", v_4_2=""))
    html = technician.get(at(job, Stage.MEASURE)).content.decode()
    results = html.split("Check results of the last try")[1].split("<form")[0]
    seen, folded = results.split("<details", 1)
    shapes = re.findall(r'class="state is-(\w+)"', seen)
    assert shapes == sorted(shapes, key=["fail", "unknown", "warn", "note"].index)
    assert shapes[0] == "fail"
    assert "Group 2:" in seen
    assert set(re.findall(r'class="state is-(\w+)"', folded)) == {"pass"}
    assert html.count("group group-stops") == 2, "groups 2 and 4"


def test_a_wrong_unit_and_an_impossible_value_are_refused_beside_their_fields(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    answer = send(technician, at(job, Stage.MEASURE), **voltages(v_3_1="3.62 A"))
    assert set(errors(answer)) == {"v_3_1"}
    answer = send(technician, at(job, Stage.MEASURE), **voltages(v_1_1="16", v_2_2="-3.6"))
    assert set(errors(answer)) == {"v_1_1", "v_2_2"}
    assert errors(answer)["v_1_1"][0].replace("\u202f", " ").startswith("16.00 V cannot be the rest voltage")
    assert value(answer, "v_1_1") == "16"
    assert value(answer, "v_4_2") == "3.62"
    assert readings(job, Stage.MEASURE) == {}


def test_a_shop_that_writes_commas_reads_and_prefills_commas(technician: Client) -> None:
    SettingsFactory(number_locale="de")
    job = line.job_at(Stage.MEASURE)
    send(technician, at(job, Stage.MEASURE), **voltages(v_1_1="3,615", v_4_2=""))
    assert readings(job, Stage.MEASURE)["1.1"] == Decimal(3615)
    page = technician.get(at(job, Stage.MEASURE))
    assert value(page, "v_1_1") == "3,615"
    assert "each 2,000 V to 4,001 V" in words(page)  # 107 % of 3.74 V, and no part of a millivolt more
    assert "Before they are in series the groups lie 50,0 mV apart at most" in words(page)


def test_an_empty_box_is_told_once_and_a_page_that_is_not_saved_folds_the_last_try(technician: Client) -> None:
    job = line.job_at(Stage.MEASURE)
    send(technician, at(job, Stage.MEASURE), **voltages(v_4_2=""))
    page = technician.get(at(job, Stage.MEASURE))
    told = page.context["findings"]
    assert [one["where"] for one in told if one["outcome"] in ("fail", "unknown")] == ["position 4.2 is missing"]
    assert "Position 4.2 is missing:" in words(page)
    answer = send(technician, at(job, Stage.MEASURE), **voltages(v_4_2="x"))
    assert "Not saved yet." in words(answer)
    assert "<summary>From try 1, the last that was recorded" in answer.content.decode()


def joined(**changes: str) -> dict[str, str]:
    strips = {f"{name}_{strip}": given for strip in range(1, 6) for name, given in STRIP.items()}
    again = {"tries": "2", "join.cooled": "on"}
    return strips | again | {"weld": line.WELD_KEY, "second_look": "on", "second_look_by": "Jon Adler"} | changes


BOARD = {"suits": "on", "overcharge_trip": "4.225", "undervoltage_trip": "3.0"}
STRIP = {"done": "on", "spots": "6", "failed": "0"}


def test_joints_are_recorded_strip_by_strip(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    assert send(technician, at(job, Stage.JOIN), **joined(failed_2="1")).url == f"/jobs/{job.number}/"
    made = models.Joint.objects.filter(state="made")
    assert made.count() == 16
    assert set(made.values_list("spots", flat=True)) == {6}
    assert models.Joint.objects.filter(state="failed", strip=2).count() == 1


def test_without_a_second_look_nothing_is_joined_and_all_that_was_typed_is_there(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    typed = joined(spots_3="5")
    del typed["second_look"]
    answer = send(technician, at(job, Stage.JOIN), **typed)
    assert "Not confirmed: a second look found insulators and polarity of every group as drawn." in words(answer)
    assert (ticked(answer, "done_4"), value(answer, "spots_3")) == (True, "5")
    assert not models.Joint.objects.exists()


def test_strips_that_are_on_stay_ticked_when_a_rule_stops_the_step(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    typed = joined()
    del typed["done_4"]
    send(technician, at(job, Stage.JOIN), **typed)
    page = technician.get(at(job, Stage.JOIN))
    assert [ticked(page, f"done_{strip}") for strip in range(1, 6)] == [True, True, True, False, True]
    assert value(page, "second_look_by") == "Jon Adler"
    assert value(page, "spots_1") == "6"
    send(technician, at(job, Stage.JOIN), **joined())
    assert models.Joint.objects.filter(state="made").count() == 16
    assert stage_of(job) == Stage.LADDER


def test_a_strip_can_be_unticked_when_the_step_is_done_again(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    typed = joined(failed_2="3")
    del typed["done_5"]
    send(technician, at(job, Stage.JOIN), **typed)
    page = technician.get(at(job, Stage.JOIN))
    assert (ticked(page, "done_2"), value(page, "failed_2")) == (True, "3")
    assert "Untick a strip that is not on, or came off again." in words(page)
    typed = joined(failed_2="3")
    del typed["done_2"]
    send(technician, at(job, Stage.JOIN), **typed)
    page = technician.get(at(job, Stage.JOIN))
    assert (ticked(page, "done_2"), value(page, "failed_2")) == (False, "0")
    assert not models.Joint.objects.filter(strip=2).exclude(state="undone").exists()
    assert "Taken off or stated anew: strip 2" in words(technician.get(f"/jobs/{job.number}/"))
    send(technician, at(job, Stage.JOIN), **joined())
    assert stage_of(job) == Stage.LADDER


# Strip 1 has two joints, the others of its face four.
@pytest.mark.parametrize(
    ("changes", "field"), [({"failed_1": "3"}, "failed_1"), ({"failed_2": "2", "done_2": ""}, "done_2")]
)
def test_a_count_that_cannot_be_kept_is_refused_with_everything_typed_still_there(
    technician: Client, changes: dict[str, str], field: str
) -> None:
    job = line.job_at(Stage.JOIN)
    typed = {name: text for name, text in joined(**changes).items() if text}
    answer = send(technician, at(job, Stage.JOIN), **typed)
    assert set(errors(answer)) == {field}
    assert value(answer, f"failed_{field[-1]}") == typed[f"failed_{field[-1]}"]
    assert value(answer, "spots_5") == "6"
    assert not models.Joint.objects.exists()
    assert stage_of(job) == Stage.JOIN


def test_a_weld_without_spots_is_refused_beside_its_field(technician: Client) -> None:
    job = line.job_at(Stage.JOIN)
    answer = send(technician, at(job, Stage.JOIN), **joined(spots_3="0"))
    assert set(errors(answer)) == {"spots_3"}
    assert not models.Joint.objects.exists()


def test_each_tap_has_what_it_must_show_beside_its_field(technician: Client) -> None:
    """Cells at 3.62 V: 3.62, 7.24, 10.86, 14.48 V by Kirchhoff; ± 0.1 V is common practice, no source."""
    page = technician.get(at(line.job_at(Stage.LADDER), Stage.LADDER))
    seen = words(page).replace("\u202f", " ")
    for due in ("3.620 V", "7.240 V", "10.86 V", "14.48 V"):
        assert f"{due} ± 0.100 V" in seen


def test_taps_beyond_their_limit_stop_and_are_kept(technician: Client) -> None:
    job = line.job_at(Stage.LADDER)
    typed = {"tap_1": "3.62", "tap_2": "7.24", "tap_3": "10.40", "tap_4": "14.48"} | BOARD
    send(technician, at(job, Stage.LADDER), **typed)
    page = technician.get(at(job, Stage.LADDER))
    assert "Tap 3:" in words(page)
    assert value(page, "tap_3") == "10.40"
    assert (
        send(technician, at(job, Stage.LADDER), **typed | {"tap_3": "10.86", "since": "probe slipped"}).url
        == f"/jobs/{job.number}/"
    )


def test_what_the_bolts_are_held_to_stands_above_the_bars(technician: Client) -> None:
    """A data sheet that asks for 6 N·m: a tenth either way; 200 µΩ of contact. Both common practice, no source."""
    job = line.job_at(Stage.JOIN)
    models.CellModel.objects.update(terminal_torque_mnm=6000)
    models.Plan.objects.update(joint_method="bolted")
    seen = words(technician.get(at(job, Stage.JOIN))).replace("\u202f", " ")
    assert "Each bar: torque 5.40 N·m to 6.60 N·m, contact at most 0.20 mΩ." in seen
    models.CellModel.objects.update(terminal_torque_mnm=None)
    assert "torque: not on the data sheet" in words(technician.get(at(job, Stage.JOIN)))


@pytest.mark.parametrize(
    ("peeled", "said"),
    [
        ("held", "in the book. "),
        ("loose", "It did not hold: weld with more"),
        ("burnt", "It burnt through: weld with less"),
    ],
)
def test_what_follows_from_a_peel_sample_is_said_at_once(technician: Client, peeled: str, said: str) -> None:
    job = line.job_at(Stage.JOIN)
    typed = {"machine": "bench welder", "schedule": "two pulses", "pulse": "9", "specimen": "scrap_can"}
    answer = send(technician, at(job, Stage.JOIN, "peel-samples/"), **typed, positive=peeled, negative="held")
    assert said in words(technician.get(answer.url))
