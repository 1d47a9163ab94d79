"""Pages of limits and of written exceptions, and the annex on paper."""

import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from packs.rules import RULES
from packs.terms import Outcome, Role, Stage
from shop import models
from shop.bridge import rules
from tests import line
from tests.factories import SettingsFactory
from tests.web.desk import at, errors, send, sign_in, words
from tests.web.test_proving import final

pytestmark = pytest.mark.django_db

SPREAD = "/settings/limits/measure.rest_spread/"


@pytest.fixture
def lead(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.LEAD)
    return client


def test_every_rule_is_listed_with_what_it_asks_where_it_comes_from_and_what_it_does(lead: Client) -> None:
    answer = lead.get("/settings/limits/")
    page = words(answer)
    for rule in RULES.values():
        assert rule.source in page, rule.id
        assert rule.quantity[1:] in page, rule.id
        assert f'id="{rule.id}"' in answer.content.decode()
    assert page.count("stops the work") == sum(rule.severity == "stop" for rule in RULES.values())
    assert f"Rule set {rules.version()}" in page


def test_only_a_lead_is_offered_a_change(lead: Client) -> None:
    settable = sum(rule.acts is not None for rule in RULES.values())
    address = re.compile(r'href="/settings/limits/[a-z_.]+/"')
    assert len(address.findall(lead.get("/settings/limits/").content.decode())) == settable
    technician = Client()
    sign_in(technician, Role.TECHNICIAN)
    assert not address.findall(technician.get("/settings/limits/").content.decode())


def test_a_limit_is_typed_as_people_type_it_and_goes_back_to_the_catalogues(lead: Client) -> None:
    assert send(lead, SPREAD, value="0.04 V", reason="our meters are better").status_code == 302
    assert rules.own_limit("measure.rest_spread").m_as("mV") == 40
    page = words(lead.get("/settings/limits/"))
    assert "50.0 mV → 40.0 mV. our meters are better no. 1" in page.replace("\N{NARROW NO-BREAK SPACE}", " ")
    assert send(lead, SPREAD, value="", reason="the meter is gone", catalogue="1").status_code == 302
    assert rules.own_limit("measure.rest_spread").m_as("mV") == 50
    assert "as in the catalogue again" in words(lead.get("/settings/limits/"))


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"value": "5 V", "reason": "why not"}, "value"),
        ({"value": "forty", "reason": "why not"}, "value"),
        ({"value": "", "reason": "why not"}, "value"),
        ({"value": "40 mV", "reason": " "}, "reason"),
    ],
)
def test_a_refusal_stands_beside_its_field_and_keeps_what_was_typed(
    lead: Client, typed: dict[str, str], field: str
) -> None:
    answer = send(lead, SPREAD, **typed)
    assert list(errors(answer)) == [field]
    for text in filter(str.strip, typed.values()):
        assert f'value="{text}"' in answer.content.decode()
    assert not models.ShopLimit.objects.exists()


def test_a_yes_or_no_has_no_page_to_change_it(lead: Client) -> None:
    for rule in ("first_charge.supervised", "no.such_rule"):
        assert lead.get(f"/settings/limits/{rule}/").status_code == 404


def test_the_annex_prints_every_rule_with_the_shops_own_limit(
    lead: Client, pango: None, pdftotext: str, tmp_path: Path
) -> None:
    line.set_limit("measure.rest_spread", 40)
    answer = lead.post("/settings/limits/annex.pdf")
    assert answer["Content-Type"] == "application/pdf"
    (tmp_path / "limits.pdf").write_bytes(answer.content)
    run = subprocess.run([pdftotext, "-raw", tmp_path / "limits.pdf", "-"], capture_output=True, check=True, text=True)
    text = " ".join(run.stdout.split())  # the narrow space before a unit is none to the program
    assert f"rule set {rules.version()}" in text
    assert re.search(r"At most 40\.0 ?mV the shop's own catalogue: 50\.0 ?mV", text)
    for rule in RULES.values():
        assert rule.source.split(",")[0] in text, rule.id


# --- written exceptions


def test_a_stopped_step_leads_a_lead_to_the_exception_and_goes_on_with_it(lead: Client) -> None:
    job = line.job_at(Stage.FINAL_TEST)
    weak = final() | {"capacity": "4000"}
    send(lead, at(job, Stage.FINAL_TEST), **weak)
    page = lead.get(at(job, Stage.FINAL_TEST)).content.decode()
    address = f"/jobs/{job.number}/exceptions/?rule=final.capacity"
    assert address in page
    chosen = lead.get(address).content.decode()
    assert '<option value="final.capacity" selected>' in chosen
    assert "join.peel_sample" not in chosen, "a check that is past cannot be accepted any more"
    send(lead, f"/jobs/{job.number}/exceptions/", rule_id="final.capacity", reason="for a lamp")
    assert send(lead, at(job, Stage.FINAL_TEST), **weak).status_code == 302
    step = job.steps.last()
    assert step.done
    assert [one["outcome"] for one in step.findings if one["rule_id"] == "final.capacity"] == [Outcome.ACCEPTED]
    sheet = words(lead.get(f"/jobs/{job.number}/"))
    assert sheet.count("for a lamp") >= 2, "among the exceptions, and in the story"
    assert "Accepted in writing" in sheet


def test_a_technician_sees_who_may_write_one(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    lead, job = line.lead(), line.job_at(Stage.TARGET)
    answer = client.get(f"/jobs/{job.number}/exceptions/")
    assert str(lead) in words(answer)
    assert 'name="rule_id"' not in answer.content.decode()


@pytest.mark.parametrize("typed", [{"rule_id": "final.capacity", "reason": "  "}, {"rule_id": "", "reason": "a lamp"}])
def test_without_a_reason_or_a_rule_nothing_is_accepted(lead: Client, typed: dict[str, Any]) -> None:
    job = line.job_at(Stage.TARGET)
    answer = send(lead, f"/jobs/{job.number}/exceptions/", **typed)
    assert errors(answer)
    assert typed["reason"].strip() in answer.content.decode()
    assert not job.exceptions.exists()


def test_what_has_no_exception_is_not_offered_and_not_taken(lead: Client) -> None:
    job = line.job_at(Stage.TARGET)
    answer = send(lead, f"/jobs/{job.number}/exceptions/", rule_id="target.charger_voltage", reason="an old charger")
    assert errors(answer)
    assert not job.exceptions.exists()


def test_a_withdrawn_one_stays_in_the_list(lead: Client) -> None:
    job = line.job_at(Stage.TARGET)
    row = line.accept_in_writing(job, "final.capacity", "for a lamp")
    address = f"/jobs/{job.number}/exceptions/{row.pk}/withdraw/"
    assert send(lead, address, reason="it is for a drill after all").status_code == 302
    page = words(lead.get(f"/jobs/{job.number}/exceptions/"))
    assert "withdrawn" in page
    assert "it is for a drill after all" in page
    assert "for a lamp" not in words(lead.get(f"/jobs/{job.number}/")).split("Job log")[0]
    assert "was withdrawn before" in words(lead.get(address))
