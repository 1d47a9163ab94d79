"""The counter: danger signs first, a customer picked or new, findings of a lead, a red sign later, a return."""

import re
import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from packs.terms import AMBER_SIGNS, RED_SIGNS, Condition, DangerLevel, DangerSign, Owner, Place, Role, Stage
from shop import models
from shop.operations import planning
from tests import line, rows
from tests.factories import CustomerFactory, DeviceFactory, SettingsFactory, UserFactory

pytestmark = pytest.mark.django_db

NEW = "/jobs/new/"


@pytest.fixture
def counter(client: Client) -> Client:
    SettingsFactory(emergency_number="119")
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    return client


@pytest.fixture
def lead(client: Client) -> Client:
    client.force_login(UserFactory(username="lead", roles=(Role.LEAD,)))
    return client


def typed(**changes: Any) -> dict[str, Any]:
    return {
        "form_token": str(uuid.uuid4()),
        "looked": "on",
        "customer_name": "Ida Moor",
        "phone": "0660 555 0100",
        "maker": "Alder",
        "model": "drill D-14",
        "serial": "D14-0042",
        "device_class": "tool",
        "rated_voltage_mv": "14.4 V",
        "rated_capacity_mah": "2.6 Ah",
        "charger_voltage_mv": "16.8",
        "complaint": "runs five minutes",
        "removed_owner": "shop",
    } | changes


def job_of(client: Client, **changes: Any) -> models.Job:
    answer = client.post(NEW, typed(**changes))
    assert answer.status_code == 302, answer.context["form"].errors
    return models.Job.objects.get()


def errors(client: Client, **changes: Any) -> dict[str, list[str]]:
    answer = client.post(NEW, typed(**changes))
    assert answer.status_code == 200
    assert not models.Job.objects.exists()
    return dict(answer.context["form"].errors)


def test_what_was_typed_is_in_the_book_in_stored_units(counter: Client) -> None:
    """14.4 V is 14400 mV and 2.6 Ah is 2600 mAh: SI Brochure, 9th edition, table 7 (prefixes)."""
    device = job_of(counter).device
    assert (device.rated_voltage_mv, device.rated_capacity_mah, device.charger_voltage_mv) == (14400, 2600, 16800)
    assert (device.customer.name, device.serial, device.device_class) == ("Ida Moor", "D14-0042", "tool")


def test_a_clear_pack_goes_on_to_its_job(counter: Client) -> None:
    answer = counter.post(NEW, typed())
    job = models.Job.objects.get()
    assert answer.url == f"/jobs/{job.number}/"
    assert (job.stage, job.danger_level, job.removed_owner) == (Stage.EXAMINE, DangerLevel.CLEAR, Owner.SHOP)


def test_the_signs_are_asked_before_anything_else(counter: Client) -> None:
    page = counter.get(NEW).content.decode()
    signs = [page.index(f'value="{sign}"') for sign in DangerSign]
    assert max(signs) < page.index('name="customer_name"')
    red = [page.index(f'value="{sign}"') for sign in RED_SIGNS]
    assert max(red) < min(page.index(f'value="{sign}"') for sign in AMBER_SIGNS)


def test_nobody_gets_past_the_signs_without_having_looked(counter: Client) -> None:
    assert errors(counter, looked="") == {"looked": ["Look at the pack first, then tick this."]}


@pytest.mark.parametrize("sign", sorted(RED_SIGNS))
def test_one_red_sign_keeps_the_pack_outside(counter: Client, sign: DangerSign) -> None:
    job = job_of(counter, red_signs=[sign.value])
    assert (job.danger_level, job.stage) == (DangerLevel.RED, Stage.REMOVED)
    assert job.items.get().place == Place.OUTSIDE


def test_after_red_the_page_says_what_to_do_and_offers_disposal_alone(counter: Client) -> None:
    answer = counter.post(NEW, typed(red_signs=["smoke"], amber_signs=["water"]), follow=True)
    page = answer.content.decode()
    assert answer.redirect_chain[0][0].endswith("/danger/")
    assert "outside, apart from people" in page
    assert "call <strong>119</strong>" in page
    assert "smoke or vapour" in page
    assert "has been in water" in page
    assert "/examine/" not in page
    assert "a technician, a lead or the owner" in page


def test_who_may_dispose_is_led_to_the_disposal(client: Client) -> None:
    job = line.take_in(signs=[DangerSign.HOT])
    client.force_login(line.technician())
    assert f'href="/jobs/{job.number}/removed/"' in client.get(f"/jobs/{job.number}/danger/").content.decode()


@pytest.mark.parametrize("sign", sorted(AMBER_SIGNS))
def test_an_amber_sign_holds_the_job_for_findings(counter: Client, sign: DangerSign) -> None:
    answer = counter.post(NEW, typed(amber_signs=[sign.value]))
    job = models.Job.objects.get()
    assert job.held
    assert answer.url == f"/jobs/{job.number}/findings/"


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("rated_voltage_mv", "2.6 Ah", "expected a voltage"),
        ("rated_voltage_mv", "14400 V", "Check the number and its unit"),
        ("rated_voltage_mv", "-14.4 V", "Check the number and its unit"),
        ("rated_voltage_mv", "0 V", "Check the number and its unit"),
        ("rated_voltage_mv", "nan", "expected a voltage"),
        ("rated_capacity_mah", "14.4 V", "expected a capacity"),
        ("rated_capacity_mah", "2.6", "The unit is missing"),
        ("rated_capacity_mah", "9999999 Ah", "Check the number and its unit"),
        ("charger_voltage_mv", "16.8 A", "expected a voltage"),
        ("customer_name", "   ", "required"),
        ("model", "", "required"),
        ("device_class", "", "required"),
        ("device_class", "toy", "Select a valid choice"),
        ("removed_owner", "", "Agree on it"),
        ("email", "ida at moor", "valid email"),
        ("red_signs", "sparks", "Select a valid choice"),
        ("customer", "77", "Select a valid choice"),
        ("serial", "9" * 81, "at most 80"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(counter: Client, field: str, text: str, said: str) -> None:
    found = errors(counter, **{field: text})
    assert list(found) == [field]
    assert said in found[field][0]


def test_a_number_that_could_be_meant_as_another_is_told_as_it_was_read(counter: Client) -> None:
    """1,440 V is believed of a large pack, so it comes in; the page says how the shop reads the comma.

    Beside a charger of 16.8 V it would not: the two cannot stand on one nameplate.
    """
    plate = {"rated_voltage_mv": "1,440", "rated_capacity_mah": "2600 mAh"}
    assert counter.post(NEW, typed(**plate)).status_code == 200
    answer = counter.post(NEW, typed(**plate, charger_voltage_mv=""), follow=True)
    assert models.Job.objects.get().device.rated_voltage_mv == 1_440_000
    assert [str(each) for each in answer.context["messages"] if "read as" in str(each)] == [
        "“1,440” was read as 1440 V, not 1.440 V: this shop writes numbers as 1,234.5."
    ]


def test_a_number_refused_says_which_one_was_meant(counter: Client) -> None:
    answer = counter.post(NEW, typed(charger_voltage_mv="16,800"))
    wrong = answer.context["form"].errors["charger_voltage_mv"]
    assert "Read as 16800 V: this shop writes numbers as 1,234.5. Did you mean 16.800 V?" in wrong
    assert not models.Job.objects.exists()


def test_what_was_typed_stays_after_a_refusal(counter: Client) -> None:
    page = counter.post(NEW, typed(rated_voltage_mv="14.4 Ah", amber_signs=["water"])).content.decode()
    for kept in ('value="14.4 Ah"', 'value="Ida Moor"', "runs five minutes", 'value="D14-0042"'):
        assert kept in page
    assert re.search(r'value="water"[^>]* checked', page)


@pytest.mark.parametrize(
    ("text", "mah"), [("2600 mAh", "2600"), ("2,6 Ah", "2600"), ("2600.04 mAh", "2600.0"), ("5.0Ah", "5000")]
)
def test_capacities_come_in_as_nameplates_print_them(counter: Client, text: str, mah: str) -> None:
    assert job_of(counter, rated_capacity_mah=text).device.rated_capacity_mah == Decimal(mah)


# --- recalls


def recall(**changes: str) -> dict[str, str]:
    return {
        "recall_source": "maker's recall page",
        "recall_checked_on": timezone.localdate().isoformat(),
        "recall_result": "nothing found",
    } | changes


def test_a_look_for_a_recall_is_written_down(counter: Client) -> None:
    job = job_of(counter, **recall())
    assert (job.recall_source, job.recall_checked_on) == ("maker's recall page", timezone.localdate())


def test_a_recall_is_not_looked_for_tomorrow(counter: Client) -> None:
    tomorrow = (timezone.localdate() + timedelta(days=1)).isoformat()
    assert "still to come" in errors(counter, **recall(recall_checked_on=tomorrow))["recall_checked_on"][0]


@pytest.mark.parametrize(("zone", "day"), [("Pacific/Kiritimati", 25), ("Pacific/Pago_Pago", 23)])
def test_today_is_the_workshops_own_day(counter: Client, zone: str, day: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """IANA time zone database: Kiritimati is UTC+14, Pago Pago is UTC-11."""
    monkeypatch.setattr(timezone, "now", lambda: line.MORNING.replace(hour=10, minute=30))
    SettingsFactory(time_zone=zone)
    assert job_of(counter, **recall(recall_checked_on=date(2026, 11, day).isoformat())).recall_checked_on


@pytest.mark.parametrize("missing", ["recall_source", "recall_checked_on", "recall_result"])
def test_half_a_look_is_none(counter: Client, missing: str) -> None:
    assert list(errors(counter, **recall(**{missing: ""}))) == [missing]


def test_a_recalled_pack_stays_outside(counter: Client) -> None:
    job = job_of(counter, recalled="on", **recall(recall_result="fire hazard, lot 11"))
    assert (job.danger_level, job.items.get().place) == (DangerLevel.RED, Place.OUTSIDE)
    assert "fire hazard, lot 11" in counter.get(f"/jobs/{job.number}/danger/").content.decode()


# --- customers


def test_names_being_typed_are_looked_up(counter: Client) -> None:
    DeviceFactory(customer=CustomerFactory(name="Ida Moor", phone="0660 555 0199"))
    CustomerFactory(name="Otto Brandt")
    page = counter.get(NEW + "customers/", {"customer_name": "moo"}).content.decode()
    assert "Ida Moor, 0660 555 0199, last brought: Garden pump GP-3" in page
    assert "Otto" not in page


@pytest.mark.parametrize("text", ["", "m", "zz"])
def test_nobody_is_offered_where_no_name_fits(counter: Client, text: str) -> None:
    CustomerFactory(name="Ida Moor")
    assert counter.get(NEW + "customers/", {"customer_name": text}).content.decode().strip() == ""


def test_a_customer_who_is_picked_is_not_written_down_twice(counter: Client) -> None:
    known = CustomerFactory(name="Ida Moor")
    job = job_of(counter, customer_name="ida", customer=str(known.pk))
    assert job.device.customer == known
    assert models.Customer.objects.count() == 1


def test_a_namesake_asks_which_one_it_is(counter: Client) -> None:
    CustomerFactory(name="Ida Moor")
    assert "Pick the one it is" in errors(counter, customer_name="ida moor")["customer"][0]


def test_a_new_customer_may_share_a_name(counter: Client) -> None:
    known = CustomerFactory(name="Ida Moor")
    assert job_of(counter, customer="new").device.customer != known


def test_as_many_queries_for_many_customers_as_for_few(counter: Client) -> None:
    def ask() -> int:
        with CaptureQueriesContext(connection) as queries:
            counter.get(NEW + "customers/", {"customer_name": "moor"})
        return len(queries)

    CustomerFactory.create_batch(2, name="Ida Moor")
    few = ask()
    CustomerFactory.create_batch(4, name="Ida Moor")
    assert ask() == few


def test_a_form_sent_twice_takes_one_device_in(counter: Client) -> None:
    form = typed()
    first, second = counter.post(NEW, form), counter.post(NEW, form)
    assert first.url == second.url
    assert models.Job.objects.count() == models.Customer.objects.count() == 1


def test_a_form_without_its_token_is_refused_and_kept(counter: Client) -> None:
    answer = counter.post(NEW, typed(form_token=""))
    assert "out of date" in answer.content.decode()
    assert 'value="Ida Moor"' in answer.content.decode()


def test_strangers_sign_in_first(client: Client) -> None:
    assert client.get(NEW).url.startswith("/sign-in/")


# --- a lead's findings


def amber() -> models.Job:
    return line.take_in(signs=[DangerSign.WATER])


def test_a_lead_lets_an_amber_pack_go_to_the_bench(lead: Client) -> None:
    job = amber()
    answer = lead.post(
        f"/jobs/{job.number}/findings/",
        {"form_token": str(uuid.uuid4()), "version": job.version, "findings": "Dry inside, 13.1 V, no smell."},
    )
    job.refresh_from_db()
    assert answer.url == f"/jobs/{job.number}/"
    assert not job.held
    assert (job.findings, str(job.cleared_by)) == ("Dry inside, 13.1 V, no smell.", "Lead")


@pytest.mark.parametrize("text", ["", "   "])
def test_findings_are_words(lead: Client, text: str) -> None:
    job = amber()
    page = lead.post(f"/jobs/{job.number}/findings/", {"form_token": str(uuid.uuid4()), "findings": text})
    assert "Write down what you looked at" in page.content.decode()
    job.refresh_from_db()
    assert job.held


def test_others_are_told_who_writes_the_findings(client: Client) -> None:
    job = amber()
    UserFactory(username="mira", roles=(Role.LEAD,))
    UserFactory(username="gone", roles=(Role.LEAD,), is_active=False)
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    page = client.get(f"/jobs/{job.number}/findings/").content.decode()
    assert "Mira" in page
    assert "Gone" not in page
    assert "<textarea" not in page


def test_others_cannot_write_them_either(client: Client) -> None:
    job = amber()
    client.force_login(line.technician())
    answer = client.post(f"/jobs/{job.number}/findings/", {"form_token": str(uuid.uuid4()), "findings": "looks fine"})
    job.refresh_from_db()
    assert answer.status_code == 403
    assert "This page is for: lead, owner." in answer.content.decode()
    assert job.held


def test_findings_on_an_old_page_are_kept_and_refused(lead: Client) -> None:
    job = amber()
    models.Job.objects.update(version=7)
    page = lead.post(
        f"/jobs/{job.number}/findings/", {"form_token": str(uuid.uuid4()), "version": 1, "findings": "Dry inside."}
    ).content.decode()
    assert "Somebody changed job" in page
    assert "Dry inside." in page
    assert 'name="version" value="7"' in page


# --- a danger sign later


def report(client: Client, job: models.Job, *signs: str) -> Any:
    return client.post(f"/jobs/{job.number}/danger/", {"form_token": str(uuid.uuid4()), "signs": signs})


@pytest.mark.parametrize("stage", [Stage.EXAMINE, Stage.TARGET, Stage.MATCH, Stage.DISMANTLE])
def test_a_red_sign_seen_later_takes_the_pack_outside(client: Client, stage: Stage) -> None:
    job = line.job_at(stage)
    client.force_login(line.technician())
    answer = report(client, job, "hissing")
    job.refresh_from_db()
    assert answer.url == f"/jobs/{job.number}/danger/"
    assert (job.danger_level, job.stage) == (DangerLevel.RED, Stage.REMOVED)
    item = job.items.get()
    assert (item.place, item.condition) == (Place.OUTSIDE, Condition.REACTIVE)


def test_cells_reserved_for_a_pack_that_went_outside_are_free_again(client: Client) -> None:
    job = line.job_at(Stage.DISMANTLE)
    client.force_login(line.technician())
    assert models.Cell.objects.free().count() == 0
    report(client, job, "swelling")
    assert models.Cell.objects.free().count() == 8


@pytest.mark.parametrize("signs", [(), ("water",)])
def test_only_a_red_sign_counts(client: Client, signs: tuple[str, ...]) -> None:
    job = line.job_at(Stage.EXAMINE)
    client.force_login(line.technician())
    assert report(client, job, *signs).context["form"].errors
    job.refresh_from_db()
    assert job.danger_level == DangerLevel.CLEAR


def test_a_pack_in_pieces_is_not_whole_again_once_its_plan_is_given_up(client: Client) -> None:
    job = line.job_at(Stage.PLACE)
    planning.release(job=job, reason="other cells came in", by=line.technician())
    client.force_login(line.technician())
    assert "A single cell shows it" in client.get(f"/jobs/{job.number}/danger/").content.decode()
    assert "being rebuilt" in client.get(f"/jobs/{job.number}/decline/").content.decode()


def test_single_cells_are_followed_one_by_one(client: Client) -> None:
    job = line.job_at(Stage.PLACE)
    client.force_login(line.technician())
    page = client.get(f"/jobs/{job.number}/danger/").content.decode()
    assert '"/stock/condition/J0001-R01/"' in page
    assert "call <strong>112</strong>" in page
    assert "in one piece" in report(client, job, "hot").content.decode()


def test_a_new_pack_that_shows_a_sign_is_not_taken_apart(client: Client) -> None:
    """Common practice, no source: what reacts is left in one piece and kept apart."""
    job = line.job_at(Stage.LADDER)
    client.force_login(line.technician())
    sheet, page = f"/jobs/{job.number}/", f"/jobs/{job.number}/danger/"
    assert "Report a danger sign" in client.get(sheet).content.decode()
    asked = client.get(page).content.decode()
    assert "It is not taken apart" in asked
    assert 'name="in_device"' in asked
    assert "report the danger sign" in client.get(f"/jobs/{job.number}/give-up/").content.decode()
    assert report(client, job, "hissing").url == page
    told = client.get(page).content.decode()
    assert "It may react at any time" in told
    assert "Write J0001 where the pack stands" not in told, "nobody goes near it to write on it"
    assert "pack outside: keep away" in client.get(sheet).content.decode()
    assert "New pack of Garden pump GP-3" in client.get(f"/jobs/{job.number}/removed/").content.decode()


# --- a return


def decline(client: Client, job: models.Job, reason: str, **changes: Any) -> Any:
    given = {"form_token": str(uuid.uuid4()), "version": job.version, "reason": reason} | changes
    return client.post(f"/jobs/{job.number}/decline/", given)


@pytest.mark.parametrize("stage", [Stage.EXAMINE, Stage.TARGET, Stage.MATCH])
def test_a_device_goes_back_with_a_reason(counter: Client, stage: Stage) -> None:
    job = line.job_at(stage)
    assert decline(counter, job, "No cells of that size to be had.").url == f"/jobs/{job.number}/hand-over/"
    job.refresh_from_db()
    assert job.closed_at is None
    assert job.items.get().place != Place.CUSTOMER
    assert job.log.last().facts["reason"] == "No cells of that size to be had."


@pytest.mark.parametrize(
    ("changes", "said"),
    [({"reason": ""}, "Say why"), ({"version": 99}, "Somebody changed job"), ({"form_token": "x"}, "out of date")],
)
def test_no_return_without_reason_or_on_an_old_page(counter: Client, changes: dict[str, Any], said: str) -> None:
    job = line.job_at(Stage.EXAMINE)
    page = decline(counter, job, **({"reason": "too old"} | changes)).content.decode()
    assert said in page
    assert "It goes back as it came" in page
    job.refresh_from_db()
    assert job.closed_at is None


@pytest.mark.parametrize(
    ("job", "said"),
    [
        (lambda: line.take_in(signs=[DangerSign.LEAK]), "not handed back over the counter"),
        (amber, "waits for a lead&#x27;s findings"),
        (lambda: line.job_at(Stage.PLACE), "being rebuilt"),
        (lambda: rows.job(Stage.REMOVED, given_up="no cells"), "The build was given up"),
    ],
    ids=["red", "amber", "open", "given up"],
)
def test_the_page_says_why_a_return_is_not_possible(counter: Client, job: Any, said: str) -> None:
    row = job()
    page = counter.get(f"/jobs/{row.number}/decline/").content.decode()
    assert said.replace("&#x27;", "'") in page.replace("&#x27;", "'")
    assert "<textarea" not in page


def test_all_that_is_wrong_is_named_in_one_round(counter: Client) -> None:
    """An unreadable number, half a look for a recall, a charger of another device, nobody agreed: all at once."""
    CustomerFactory(name="Ida Moor")
    wrong = {"rated_capacity_mah": "many", "charger_voltage_mv": "230", "removed_owner": "", "recall_source": "a page"}
    named = {"rated_capacity_mah", "rated_voltage_mv", "removed_owner", "customer"}
    assert set(errors(counter, **wrong)) == named | {"recall_checked_on", "recall_result"}
    late = (timezone.localdate() + timedelta(days=1)).isoformat()
    assert set(errors(counter, recall_checked_on=late)) == {"customer", *recall()}
