"""Incidents by the API: written down by anybody, released by a lead, listed; what they name is frozen meanwhile."""

import pytest

from packs.terms import Role, Stage
from tests import line
from tests.api.conftest import Caller
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db

HAPPENED = {"kind": "heat", "happened": "its case melted", "charger": "Charger B", "moved": "pack to the sand box"}


def test_an_incident_freezes_its_job_until_a_lead_releases_it(caller: Caller) -> None:
    job = line.job_at(Stage.TARGET)
    told = caller.post("incidents/", HAPPENED | {"job": job.number}, expect=201)
    assert (told["job"], told["charger"], told["release"]) == (job.number, "Charger B", None)
    frozen = caller.post(f"jobs/{job.number}/decline/", {"reason": "too worn"}, expect=409)
    assert frozen["code"] == "frozen"
    (listed,) = caller.get("incidents/", job=job.number)["results"]
    assert listed == told
    assert caller.get("incidents/", kind="fire")["results"] == []
    release = f"incidents/{told['id']}/release/"
    caller.client.force_login(UserFactory(username="bench", roles=(Role.TECHNICIAN,)))
    assert caller.post(release, {"findings": "cold"}, expect=403)["code"] == "not_allowed"
    caller.client.force_login(UserFactory(username="lead", roles=(Role.LEAD,)))
    assert caller.post(release, {"findings": "a new lead", "danger": "amber"}, expect=201)["findings"] == "a new lead"
    assert caller.post(release, {"findings": "looked at again"}, expect=409)["code"] == "released_already"
    assert caller.get("incidents/")["results"][0]["release"]["by"] == "lead"
    caller.client.force_login(UserFactory(username="bench"))
    caller.post(f"jobs/{job.number}/decline/", {"reason": "too worn"})


def test_what_cannot_be_is_refused(caller: Caller) -> None:
    assert (
        caller.post("incidents/", HAPPENED | {"happened_at": "2999-01-01T00:00:00Z"}, expect=409)["code"]
        == "future_date"
    )
    caller.post("incidents/", HAPPENED | {"kind": "flood"}, expect=400)
    caller.post("incidents/", HAPPENED | {"job": 77}, expect=400)
    caller.post("incidents/77/release/", {"findings": "x"}, expect=404)


def test_the_emergency_text_is_read_by_all_and_written_by_the_owner(caller: Caller) -> None:
    assert caller.get("emergency-text/") == {"text": "", "at": None, "by": ""}
    caller.post("emergency-text/", {"text": "Run."}, expect=403)
    caller.client.force_login(UserFactory(username="owner", roles=(Role.OWNER,)))
    caller.post("emergency-text/", {"text": "Meet at the gate."}, expect=201)
    assert caller.get("emergency-text/")["text"] == "Meet at the gate."
