"""The pack as found: units as typed, one voltage for each group or none, nothing typed lost."""

import re
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from packs.terms import DangerSign, Measure, Place, Role, Stage
from shop import models
from shop.web.forms.examine import parted
from tests import line
from tests.factories import CellModelFactory, SettingsFactory, UserFactory
from tests.web.desk import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> models.Job:
    return line.job_at(Stage.EXAMINE)


@pytest.fixture
def bench(client: Client) -> Client:
    client.force_login(line.technician())
    return client


def url(job: models.Job) -> str:
    return f"/jobs/{job.number}/examine/"


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "form_token": str(uuid.uuid4()),
        "version": "1",
        "cell_model": str(CellModelFactory().pk),
        "arrangement": "4s2p",
        "joint_method": "spot_weld",
        "housing": "four screws under the label",
        "board": "taps on every group",
        "pack_voltage": "14.42 V",
        "group_voltages": "3.61 3.60 3.62 3.59",
        "note": "one corner scuffed",
    } | changes


def voltages(job: models.Job) -> dict[str, Decimal]:
    rows = job.readings.filter(stage=Stage.EXAMINE.value, measure=Measure.REST_VOLTAGE.value)
    return dict(rows.values_list("point", "value"))


def refused(client: Client, job: models.Job, **changes: Any) -> dict[str, list[str]]:
    answer = client.post(url(job), typed(**changes))
    assert answer.status_code == 200
    assert not models.PackAsFound.objects.exists()
    assert not voltages(job)
    return dict(answer.context["form"].errors)


def test_the_pack_as_found_is_in_the_book(bench: Client, job: models.Job) -> None:
    assert bench.post(url(job), typed()).url == f"/jobs/{job.number}/"
    found = models.PackAsFound.objects.get()
    assert (found.series, found.parallel, found.housing) == (4, 2, "four screws under the label")
    # 3.61 V is 3610 mV: SI Brochure, 9th edition, table 7
    assert voltages(job) == {"pack": 14420, "group 1": 3610, "group 2": 3600, "group 3": 3620, "group 4": 3590}
    job.refresh_from_db()
    assert job.stage == Stage.TARGET
    item = job.items.get()
    assert (item.place, item.cell_count) == (Place.BENCH, 8)


def test_one_field_per_group_says_the_same(bench: Client, job: models.Job) -> None:
    form = typed(group_1="3610 mV", group_2="3,60", group_3="3.62 V", group_4="3.59")
    del form["group_voltages"]
    bench.post(url(job), form)
    assert voltages(job) == {"pack": 14420, "group 1": 3610, "group 2": 3600, "group 3": 3620, "group 4": 3590}


def test_a_pack_without_a_volt_is_written_down_too(bench: Client, job: models.Job) -> None:
    bench.post(url(job), typed(pack_voltage="0 V", group_voltages="0 0 0 0"))
    assert set(voltages(job).values()) == {0}


def test_voltages_may_be_left_out(bench: Client, job: models.Job) -> None:
    bench.post(url(job), typed(pack_voltage="", group_voltages=""))
    assert models.PackAsFound.objects.exists()
    assert voltages(job) == {}


@pytest.mark.parametrize(
    "text",
    [
        "3.61 3.60",
        "3,61 3,60",
        "3.61, 3.60",
        "3.61; 3.60",
        "3.61 V 3.60 V",
        "3.61 V, 3.60 V",
        " 3610 mV;3600 mV ",
        "3.61\u202fV 3.60\u00a0V",
        "3.61V\n3.60V",
    ],
)
def test_a_line_of_voltages_comes_apart(bench: Client, job: models.Job, text: str) -> None:
    assert len(parted(text)) == 2
    bench.post(url(job), typed(arrangement="2s1p", pack_voltage="", group_voltages=text))
    assert voltages(job) == {"group 1": 3610, "group 2": 3600}


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"arrangement": "4x2"}, "arrangement", "expected one such as 4s2p"),
        ({"arrangement": "0s2p"}, "arrangement", "expected one such as 4s2p"),
        ({"arrangement": "999s999p", "group_voltages": ""}, "arrangement", "998001 cells"),
        ({"arrangement": ""}, "arrangement", "required"),
        ({"cell_model": ""}, "cell_model", "required"),
        ({"cell_model": "9999"}, "cell_model", "valid choice"),
        ({"joint_method": "glue"}, "joint_method", "valid choice"),
        ({"pack_voltage": "14.4 Ah"}, "pack_voltage", "expected a voltage"),
        ({"pack_voltage": "-14.4 V"}, "pack_voltage", "cannot be the rest voltage of 4 groups"),
        # four groups of cells charged to 4.2 V never stand at 144 V; common practice, no source
        ({"pack_voltage": "144.2 V"}, "pack_voltage", "cannot be the rest voltage of 4 groups"),
        ({"group_voltages": "3.61 3.60 3.62"}, "group_voltages", "4s2p has 4 groups, 3 voltages are given"),
        ({"group_voltages": "3.61 3.60 3.62 3.59 3.6"}, "group_voltages", "5 voltages are given"),
        ({"group_voltages": "3.61 3.60 full 3.59"}, "group_voltages", "Group 3:"),
        ({"group_voltages": "3.61 3.60 3.62 3.59 Ah"}, "group_voltages", "Group 4:"),
        ({"group_voltages": "3.61 3.60 36.2 3.59"}, "group_voltages", "cannot be the rest voltage of one"),
        ({"group_voltages": "3.61 3.60 -3.62 3.59"}, "group_voltages", "Group 3:"),
        ({"group_1": "3.61", "group_2": "3.60", "group_3": "", "group_4": "3.59"}, "group_3", "Measure this group too"),
        ({"group_1": "3.61", "group_2": "36 V", "group_3": "3.6", "group_4": "3.59"}, "group_2", "cannot be the rest"),
        ({"group_1": "3.6", "group_2": "3.6 A", "group_3": "3.6", "group_4": "3.6"}, "group_2", "expected a voltage"),
        (
            {
                "arrangement": "3s2p",
                "pack_voltage": "",
                "group_1": "3.6",
                "group_2": "3.6",
                "group_3": "3.6",
                "group_4": "3.6",
            },
            "arrangement",
            "3s2p has 3 groups, 4 voltages are given",
        ),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(
    bench: Client, job: models.Job, changes: dict[str, str], field: str, said: str
) -> None:
    found = refused(bench, job, **changes)
    assert list(found) == [field]
    assert said in found[field][0]


def test_the_highest_voltage_that_is_believed(bench: Client, job: models.Job) -> None:
    """Half a volt above the charge limit of each of four groups, 4 × 4.7 V = 18.8 V; common practice, no source."""
    assert "pack_voltage" in refused(bench, job, pack_voltage="18.801 V")
    bench.post(url(job), typed(pack_voltage="18.8 V"))
    assert voltages(job)["pack"] == 18800


def test_what_was_typed_stays_after_a_refusal(bench: Client, job: models.Job) -> None:
    page = bench.post(url(job), typed(arrangement="4x2", group_1="3.61", group_2="3.60")).content.decode()
    for kept in ('value="4x2"', 'value="14.42 V"', 'value="3.61"', 'value="3.60"', "one corner scuffed"):
        assert kept in page


def test_a_comma_read_as_one_between_groups_is_said(bench: Client, job: models.Job) -> None:
    """The shop writes 1,234.5; somebody who writes 3,612 for a little over three and a half meant another number."""
    SettingsFactory(number_locale="en")
    meant = "Read as {}: this shop writes numbers as 1,234.5. Did you mean {}?"
    assert meant.format("14420 V", "14.420 V") in refused(bench, job, pack_voltage="14,420")["pack_voltage"]
    wrong = refused(bench, job, group_voltages="3,612 3.604 3,598 V 3.601")
    assert meant.format("3612 V", "3.612 V") in wrong["group_voltages"]
    assert meant.format("3598 V", "3.598 V") in wrong["group_voltages"]
    assert len(wrong["group_voltages"]) == 4
    fields = refused(bench, job, arrangement="2s4p", group_voltages="", group_1="3,612", group_2="3.6", pack_voltage="")
    assert meant.format("3612 V", "3.612 V") in fields["group_1"]


def test_groups_that_do_not_add_up_to_the_pack_are_a_warning(bench: Client, job: models.Job) -> None:
    """3.61 + 3.60 + 3.62 + 3.59 = 14.42 V by Kirchhoff; 13.20 V beside it is 1.22 V off."""
    answer = bench.post(url(job), typed(pack_voltage="13.2 V"), follow=True)
    told = [(each.level_tag, str(each).replace("\u202f", " ")) for each in answer.context["messages"]]
    assert told[1][0] == "warning"
    assert "differs from the sum of its groups by 1.22 V; at most 0.10 V is allowed." in told[1][1]
    again = words(bench.get(url(job))).replace("\u202f", " ")
    assert "Warning Rest voltage of the pack differs from the sum of its groups by 1.22 V" in again


@pytest.mark.parametrize(
    "read",
    [{}, {"pack_voltage": "14.52 V"}, {"pack_voltage": ""}, {"group_voltages": "", "pack_voltage": "1 V"}],
)
def test_groups_that_add_up_or_cannot_be_compared_are_none(
    bench: Client, job: models.Job, read: dict[str, str]
) -> None:
    answer = bench.post(url(job), typed(**read), follow=True)
    assert [each.level_tag for each in answer.context["messages"]] == ["success"]


def test_an_old_page_is_refused_and_kept(bench: Client, job: models.Job) -> None:
    models.Job.objects.update(version=5)
    answer = bench.post(url(job), typed())
    page = answer.content.decode()
    assert "Somebody changed job" in page
    assert 'name="version" value="5"' in page
    assert 'value="14.42 V"' in page
    assert bench.post(url(job), typed(version="5")).status_code == 302


def test_a_form_sent_twice_counts_once(bench: Client, job: models.Job) -> None:
    form = typed()
    assert bench.post(url(job), form).url == bench.post(url(job), form).url
    assert models.PackAsFound.objects.count() == 1
    assert job.readings.count() == 5


def test_the_form_asks_for_one_voltage_per_group_of_the_arrangement(bench: Client, job: models.Job) -> None:
    page = bench.get(url(job) + "groups/", {"arrangement": "3S 1P", "group_2": "3.60"}).content.decode()
    assert [f'name="group_{n}"' in page for n in (1, 2, 3, 4)] == [True, True, True, False]
    assert 'value="3.60"' in page


def test_a_line_that_was_typed_before_moves_into_the_fields(bench: Client, job: models.Job) -> None:
    page = bench.get(url(job) + "groups/", {"arrangement": "2s1p", "group_voltages": "3.61 V 3.60 V"}).content.decode()
    assert 'value="3.61V"' in page
    assert 'value="3.60V"' in page


@pytest.mark.parametrize("text", ["", "4", "70s2p", "0s", "<script>"])
def test_without_an_arrangement_the_voltages_stay_one_line(bench: Client, job: models.Job, text: str) -> None:
    page = bench.get(url(job) + "groups/", {"arrangement": text}).content.decode()
    assert 'name="group_voltages"' in page
    assert "<script>" not in page


def test_going_for_a_cell_model_loses_nothing(bench: Client, job: models.Job) -> None:
    form = typed(cell_model="", group_1="3.61", group_2="3.60", group_3="", group_4="", add_cell_model="1")
    answer = bench.post(url(job), form)
    assert answer.url == f"/stock/models/new/?next=%2Fjobs%2F{job.number}%2Fexamine%2F"
    assert bench.get(answer.url).status_code == 200
    page = bench.get(url(job)).content.decode()
    for kept in ('value="4s2p"', 'value="14.42 V"', 'value="3.61"', "one corner scuffed", "four screws"):
        assert kept in page
    assert form["form_token"] not in page
    bench.post(url(job), typed())
    assert bench.session.get(f"draft {url(job)}") is None


@pytest.mark.parametrize("protects", [[], ["overcharge"], ["overcharge", "current", "balances"]])
def test_going_for_a_cell_model_keeps_every_tick(bench: Client, job: models.Job, protects: list[str]) -> None:
    bench.post(url(job), typed(cell_model="", protects=protects, add_cell_model="1"))
    page = bench.get(url(job)).content.decode()
    ticked = re.findall(r'<input type="checkbox" name="protects" value="(\w+)"[^>]* checked', page)
    assert ticked == protects


def test_a_cell_model_that_was_added_meanwhile_is_chosen(bench: Client, job: models.Job) -> None:
    gone = bench.post(url(job), typed(cell_model="", add_cell_model="1"))
    sheet = {"name": "Round 3.0", "chemistry": "nmc", "cell_format": "round", "terminals": "opposite_ends"}
    sheet |= {"rated_capacity_mah": "3 Ah", "nominal_voltage_mv": "3.6", "charge_limit_mv": "4.2"}
    back = bench.post(gone.url, sheet | {"end_of_discharge_mv": "2.5", "form_token": str(uuid.uuid4())})
    form = bench.get(back.url).context["form"]
    assert str(form["cell_model"].value()) == str(models.CellModel.objects.get(name="Round 3.0").pk)
    assert form["board"].value() == "taps on every group"


def test_cautions_stand_before_the_form(bench: Client, job: models.Job) -> None:
    page = bench.get(url(job)).content.decode()
    assert page.index("Do not let probes bridge two terminals") < page.index('name="arrangement"')


def test_later_the_page_tells_what_was_found(bench: Client) -> None:
    job = line.job_at(Stage.TARGET)
    page = bench.get(url(job)).content.decode()
    assert "4s2p, 8 cells" in page
    assert "13.20" in page
    assert "<form" not in page.split("<main")[1]


def test_an_amber_pack_is_not_examined_before_the_findings(bench: Client) -> None:
    job = line.take_in(signs=[DangerSign.DROPPED])
    page = bench.get(url(job)).content.decode()
    assert "Write down a lead" in page
    assert "waits for a lead" in bench.post(url(job), typed()).content.decode()
    assert not models.PackAsFound.objects.exists()


def test_the_counter_does_not_examine(client: Client, job: models.Job) -> None:
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    assert client.get(url(job)).status_code == 403


def test_a_job_that_is_not_there(bench: Client) -> None:
    assert bench.get("/jobs/99/examine/").status_code == 404


def test_what_the_board_does_is_written_down_and_a_quote_knows_it(bench: Client, job: models.Job) -> None:
    """Common practice, no source: a board that locks for good speaks against a rebuild by itself."""
    bench.post(url(job), typed(protects=["talks", "overcharge"], unpowered="locks"))
    found = models.PackAsFound.objects.get()
    assert (found.protects, found.unpowered) == (["overcharge", "talks"], "locks")
    told = bench.get(url(job)).content.decode()
    assert "stops the charge of a full cell, talks to the device or the charger" in told
    assert "locks for good" in told
    line.state_prices()
    form = bench.get(f"/jobs/{job.number}/quote/").context["form"]
    assert (form["risks"].value(), form["board_unknown"].value()) == (["locks_for_good"], False)


def test_a_board_nobody_knows_is_accepted_and_the_quote_says_so(bench: Client, job: models.Job) -> None:
    bench.post(url(job), typed())
    assert models.PackAsFound.objects.get().unpowered == "unknown"
    line.state_prices()
    assert bench.get(f"/jobs/{job.number}/quote/").context["form"]["board_unknown"].value() is True


def test_a_voltage_that_was_measured_again_is_corrected_from_the_page(bench: Client, job: models.Job) -> None:
    """13.42 V was read as 16 V: the warning says to measure again, and the page leads to where that is written."""
    bench.post(url(job), typed(pack_voltage="16 V"))
    step = job.steps.get(stage=Stage.EXAMINE.value)
    assert [one["outcome"] for one in step.findings if one["rule_id"] == "examine.rest_agreement"] == ["fail"]
    reading = job.readings.get(point="pack")
    told = bench.get(url(job)).content.decode()
    assert f"/stock/readings/{reading.pk}/correct/" in told
    sent = {"form_token": str(uuid.uuid4()), "value": "14.42 V", "reason": "measured again"}
    bench.post(f"/stock/readings/{reading.pk}/correct/", sent)
    step.refresh_from_db()
    assert [one["outcome"] for one in step.findings if one["rule_id"] == "examine.rest_agreement"] == ["pass"]
