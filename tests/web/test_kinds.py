"""Each kind of job through its own pages with one person at the screen; steps that a rebuild shares go by the line."""

import uuid
from typing import Any

import pytest
from django.test import Client

from packs.terms import Condition, DangerSign, DocumentKind, JobKind, Owner, Place, Role, Stage
from shop import models
from shop.selectors import audit
from tests import line
from tests.factories import CellModelFactory, SettingsFactory, UserFactory
from tests.web.desk import readings, value

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client: Client) -> Client:
    SettingsFactory()
    client.force_login(UserFactory(username="lead", roles=(Role.LEAD,)))
    return client


def send(client: Client, address: str, **typed: Any) -> Any:
    answer = client.post(address, {"form_token": str(uuid.uuid4())} | typed)
    assert answer.status_code == 302, answer.context["form"].errors
    return answer


def counter(**changes: Any) -> dict[str, Any]:
    return {
        "looked": "on",
        "customer_name": "Otto Brandt",
        "model": "Field lantern L-7",
        "device_class": "other",
        "rated_voltage_mv": "14.4 V",
        "rated_capacity_mah": "5.2 Ah",
    } | changes


def next_page(client: Client, job: models.Job) -> str:
    """The address under the one primary action of the job's sheet."""
    url: str = client.get(f"/jobs/{job.number}/").context["next"]["url"]
    return url


def issue(client: Client, job: models.Job, kind: DocumentKind) -> None:
    send(client, f"/jobs/{job.number}/issue/{kind.value}/")


def closed(job: models.Job) -> bool:
    job.refresh_from_db()
    assert list(audit.differences()) == []
    return job.closed_at is not None


def test_a_pack_is_tested_and_handed_back(lead: Client) -> None:
    send(lead, "/jobs/new/", **counter(kind="test_only"))
    job = models.Job.objects.get()
    model = CellModelFactory()
    examine = next_page(lead, job)
    assert "How the cells are joined" not in lead.get(examine).content.decode()
    send(lead, examine, cell_model=model.pk, arrangement="4s2p")
    job.refresh_from_db()
    page = next_page(lead, job)
    assert page == f"/jobs/{job.number}/steps/test_pack/"
    assert "rated 5200" in lead.get(page).content.decode()
    send(lead, page, capacity="4160", current="1.04 A", end="12 V", temperature="22", pack_rest="16.48", group_1="4.13")
    assert f'href="{page}?add=1"' in lead.get(page).content.decode()
    end = f"/jobs/{job.number}/hand-over/"
    assert f'href="{page}?add=1"' in lead.get(end).content.decode()
    adding = lead.get(f"{page}?add=1")
    assert value(adding, "capacity").startswith("4160")
    more = {name: value(adding, name) for name in ("capacity", "current", "end", "temperature", "pack_rest", "group_1")}
    send(lead, f"{page}?add=1", **more, group_2="4.12")
    assert readings(job, Stage.TEST_PACK)["group 2"] == 4120
    assert lead.get(end).context["next"]["do"] == "Issue the health report"
    issue(lead, job, DocumentKind.HEALTH_REPORT)
    paper = job.documents.get()
    html = lead.get(f"/documents/{paper.code}/").content.decode()
    assert paper.code == "HR0001"
    assert "80.0" in html
    assert "The resistance of the pack" in html
    send(lead, end, received_by="Otto Brandt")
    assert closed(job)


def test_a_refused_test_keeps_what_was_typed_beside_the_field(lead: Client) -> None:
    job = line.job_at(Stage.TEST_PACK)
    answer = lead.post(
        f"/jobs/{job.number}/steps/test_pack/", {"form_token": str(uuid.uuid4()), "capacity": "4160", "group_1": "4,13"}
    )
    assert answer.context["form"].errors == {"current": ["Say at which current it was discharged."]}
    assert 'value="4160"' in answer.content.decode()
    assert not job.readings.filter(stage=Stage.TEST_PACK.value).exists()


def test_a_pack_is_taken_back_and_goes_out(lead: Client) -> None:
    intact, _ = line.containers()
    printed = {"chemistry": "lfp", "cells": "8", "basis": "estimated"}
    send(lead, "/jobs/new/", **counter(kind="take_back", **printed))
    job = models.Job.objects.get()
    page = next_page(lead, job)
    assert page == f"/jobs/{job.number}/removed/"
    typed = {"condition": "intact", "which": "all", "intact-way": f"container-{intact.pk}", "intact-insulated": "on"}
    send(lead, page, **typed)
    send(lead, f"{page}finish/")
    end = f"/jobs/{job.number}/hand-over/"
    issue(lead, job, DocumentKind.DISPOSAL_NOTE)
    assert b"Close the job" in lead.get(end).content
    assert b"received_by" not in lead.get(end).content
    send(lead, end)
    assert closed(job)


def test_an_amber_pack_taken_back_asks_no_lead(lead: Client) -> None:
    answer = send(lead, "/jobs/new/", **counter(kind="take_back", amber_signs=["dropped"]))
    job = models.Job.objects.get()
    assert answer.url == f"/jobs/{job.number}/"
    assert next_page(lead, job) == f"/jobs/{job.number}/removed/"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"kind": "rebuild"}, "removed_owner"),
        ({}, "removed_owner"),
        ({"kind": "take_back", "cells": "8"}, "basis"),
        ({"kind": "warranty"}, "kind"),
        ({"kind": "for_stock"}, "kind"),
    ],
)
def test_what_a_kind_needs_is_asked_for(lead: Client, changes: dict[str, str], field: str) -> None:
    answer = lead.post("/jobs/new/", {"form_token": str(uuid.uuid4())} | counter(**changes))
    assert list(answer.context["form"].errors) == [field]
    assert not models.Job.objects.exists()


def test_a_red_sign_overrides_what_a_pack_comes_for(lead: Client) -> None:
    send(lead, "/jobs/new/", **counter(kind="test_only", red_signs=["hot"], chemistry="nmc"))
    job = models.Job.objects.get()
    assert (job.stage, job.items.get().place, job.device.chemistry) == (Stage.REMOVED, Place.OUTSIDE, "nmc")


def test_a_pack_is_built_for_stock(lead: Client) -> None:
    send(lead, "/jobs/new/for-stock/", model="Lamp pack 14.4 V", device_class="other")
    job = models.Job.objects.get()
    assert next_page(lead, job) == f"/jobs/{job.number}/target/"
    while job.stage != Stage.INTO_STOCK:
        line.WAY[Stage(job.stage)](job)
        job.refresh_from_db()
    page = next_page(lead, job)
    assert lead.get(page).context["next"]["do"] == "Issue the test report"
    issue(lead, job, DocumentKind.TEST_REPORT)
    issue(lead, job, DocumentKind.PACK_LABEL)
    assert "no old pack came in" in lead.get("/documents/TR0001/").content.decode()
    send(lead, page)
    assert closed(job)
    assert "Lamp pack 14.4 V, 4s2p" in lead.get("/stock/").content.decode()


def test_the_shop_itself_is_no_customer_to_pick(lead: Client) -> None:
    line.begin(JobKind.FOR_STOCK)
    assert "Lindenhof" not in lead.get("/jobs/new/customers/?customer_name=linden").content.decode()


def test_a_rebuilt_pack_comes_back(lead: Client) -> None:
    old = line.handed_over()
    sheet = lead.get(f"/jobs/{old.number}/")
    assert sheet.context["otherwise"] == {"returned": True}
    send(lead, f"/jobs/{old.number}/return/", looked="on", complaint="dead again", removed_owner="shop")
    job = models.Job.objects.get(returns=old)
    for one, other in ((old, job), (job, old)):
        assert f'href="/jobs/{other.number}/">{other.code}' in lead.get(f"/jobs/{one.number}/").content.decode()
    page = lead.get(next_page(lead, job))
    assert page.context["form"].initial["arrangement"] == "4s2p"
    for stage in (Stage.EXAMINE, Stage.TARGET, Stage.MATCH):
        line.WAY[stage](job)
        job.refresh_from_db()
    dismantle = f"/jobs/{job.number}/steps/dismantle/cell/"
    send(lead, dismantle, code="S005", condition="damaged", count="1", not_measured="on")
    send(lead, dismantle, condition="intact", count="7", rest_voltage="3.3")
    assert set(models.Cell.objects.on_bench_of(job).values_list("code", flat=True)) == {f"S00{n}" for n in range(1, 9)}
    send(lead, f"/jobs/{job.number}/steps/dismantle/")
    job.refresh_from_db()
    assert closed(line.to_the_end(job))
    assert b"cannot come back" not in lead.get(f"/jobs/{old.number}/return/").content


def test_a_pack_that_is_not_out_cannot_come_back(lead: Client) -> None:
    job = line.job_at(Stage.MATCH)
    assert "Only a pack that was rebuilt" in lead.get(f"/jobs/{job.number}/return/").content.decode()
    typed = {"form_token": str(uuid.uuid4()), "looked": "on", "complaint": "dead", "removed_owner": "shop"}
    answer = lead.post(f"/jobs/{job.number}/return/", typed)
    assert answer.context["form"].non_field_errors() == [f"Job {job.code} is still open."]


def test_a_build_is_given_up_and_the_job_ends(lead: Client) -> None:
    intact, damaged = line.containers()
    job = line.job_at(Stage.MEASURE, removed_owner=Owner.CUSTOMER)
    page = f"/jobs/{job.number}/give-up/"
    assert page in lead.get(f"/jobs/{job.number}/").content.decode()
    answer = lead.post(page, {"form_token": str(uuid.uuid4()), "damaged": ["S002"]})
    assert list(answer.context["form"].errors) == ["reason"]
    send(lead, page, reason="the case is cracked", damaged=["S002"])
    sheet = lead.get(f"/jobs/{job.number}/")
    assert "the case is cracked" in sheet.content.decode()
    removed = next_page(lead, job)
    ways = {
        heap.key: [way for way, _ in form.fields["way"].choices] for heap, form in lead.get(removed).context["waiting"]
    }
    into = f"container-{intact.pk}"
    assert ways == {
        "damaged": ["", f"container-{damaged.pk}"],
        "intact": ["", into, "customer"],
        "intact-shop": ["", into, "stock"],
    }
    for key, way in (("damaged", f"container-{damaged.pk}"), ("intact", "customer"), ("intact-shop", "stock")):
        send(
            lead,
            removed,
            **{
                "condition": key,
                "which": "all",
                f"{key}-way": way,
                f"{key}-insulated": "on",
                f"{key}-packed_alone": "on",
            },
        )
    send(lead, f"{removed}finish/")
    issue(lead, job, DocumentKind.DISPOSAL_NOTE)
    send(lead, f"/jobs/{job.number}/hand-over/", received_by="Ida Moor")
    assert closed(job)
    assert models.Cell.objects.get(code="S002").condition == Condition.DAMAGED


@pytest.mark.parametrize("stage", [Stage.EXAMINE, Stage.REMOVED])
def test_where_there_is_no_build_the_page_says_so(lead: Client, stage: Stage) -> None:
    job = line.job_at(stage)
    answer = lead.get(f"/jobs/{job.number}/give-up/")
    assert "There is no build to give up" in answer.content.decode()


def test_who_may_not_build_is_not_led_there(client: Client) -> None:
    SettingsFactory()
    client.force_login(UserFactory(username="counter", roles=(Role.COUNTER,)))
    assert client.get("/jobs/new/for-stock/").status_code == 403
    assert "for-stock" not in client.get("/jobs/new/").content.decode()
    job = line.job_at(Stage.PLACE)
    assert client.get(f"/jobs/{job.number}/give-up/").status_code == 403
    assert "give_up" not in client.get(f"/jobs/{job.number}/").context["otherwise"]


def test_danger_seen_on_a_tested_pack_is_a_way_from_its_sheet(lead: Client) -> None:
    job = line.job_at(Stage.TEST_PACK)
    assert set(lead.get(f"/jobs/{job.number}/").context["otherwise"]) == {
        "danger",
        "decline",
        "exceptions",
        "faults",
        "pack_notes",
    }
    send(lead, f"/jobs/{job.number}/danger/", signs=[DangerSign.HOT.value])
    job.refresh_from_db()
    assert job.stage == Stage.REMOVED


def test_a_group_is_repaired(lead: Client) -> None:
    """Every page of a repair, at its own stage: what is asked on each, and what it tells of the groups that stay."""
    send(lead, "/jobs/new/", **counter(kind="group_repair", removed_owner="shop"))
    job = models.Job.objects.get()
    found = {"cell_model": CellModelFactory().pk, "arrangement": "4s2p", "joint_method": "spot_weld"}
    send(lead, next_page(lead, job), **found, group_voltages="3.30 2.10 3.31 3.30")
    page = next_page(lead, job)
    assert "group 2" in lead.get(page).content.decode()
    stated = found | {
        "continuous_current_ma": "6 A",
        "charger_voltage_mv": "16.8 V",
        "strip_material": "nickel_200",
        "strip_thickness_um": "0.15",
        "strip_width_um": "8",
        "capacity_1": "5.0 Ah",
    }
    assert lead.get(f"/jobs/{job.number}/quote/").status_code == 200
    for typed, said in (
        ("", "Say which groups"),
        ("0", "no group 0"),
        ("5", "no group 5"),
        ("2, 2", "twice"),
        ("1 2 3 4", "is a rebuild"),
        ("two", "not the number of a group"),
    ):
        answer = lead.post(page, {"form_token": str(uuid.uuid4()), "replaced": typed} | stated)
        (error,) = answer.context["form"].errors["replaced"]
        assert said in error
        assert 'value="5.0 Ah"' in answer.content.decode()
    assert "Cells that go in" in lead.get(f"{page}figures/", {"replaced": "2"} | stated).content.decode()
    send(lead, page, replaced="2", **stated)
    line.stock()
    match = lead.get(next_page(lead, job))
    assert "Which group limits the pack is not known: the capacity of groups 3 and 4" in match.content.decode()
    assert "a lead accepts it in writing first" in match.content.decode()
    assert 'class="primary">Reserve' not in match.content.decode()
    sent = {"groups": match.context["proposal"].signed, "form_token": str(uuid.uuid4())}
    assert "Nothing was reserved" in lead.post(f"/jobs/{job.number}/match/", sent).content.decode()
    send(lead, f"/jobs/{job.number}/exceptions/", rule_id="target.old_beside_new", reason="the customer was told")
    match = lead.get(next_page(lead, job))
    assert "a lead accepts it in writing first" not in match.content.decode()
    send(lead, f"/jobs/{job.number}/match/", groups=match.context["proposal"].signed)
    job.refresh_from_db()
    said = {
        Stage.DISMANTLE: "Only group 2 comes out",
        Stage.PLACE: "stays",
        Stage.MEASURE: "Groups 1, 3 and 4 stay",
        Stage.JOIN: "Only the joints of group 2 are made",
        Stage.FINAL_TEST: "held against nothing",
    }
    while Stage(job.stage) is not Stage.REMOVED:
        stage = Stage(job.stage)
        assert said.get(stage, "") in lead.get(f"/jobs/{job.number}/steps/{stage.value}/").content.decode()
        assert lead.get(f"/jobs/{job.number}/give-up/").status_code == lead.get(f"/jobs/{job.number}/").status_code
        line.WAY[stage](job)
        job.refresh_from_db()
    for told in ("target", "match", "steps/measure", "removed"):
        assert lead.get(f"/jobs/{job.number}/{told}/").status_code == 200
    assert closed(line.to_the_end(job))


def test_a_new_group_that_is_not_level_is_told_beside_its_group(lead: Client) -> None:
    job = line.job_at(Stage.MEASURE, kind=JobKind.GROUP_REPAIR)
    page = f"/jobs/{job.number}/steps/measure/"
    rest = {"v_2_1": "3.62", "v_2_2": "3.62", "v_group_1": "3.30", "v_group_3": "3.31", "v_group_4": "3.30"}
    send(lead, page, **rest)
    context = lead.get(page).context
    stops = {group["number"]: [found["message"] for found in group["stops"]] for group in context["groups"]}
    assert [number for number, messages in stops.items() if messages] == [2]
    assert "it must lie between 3.25" in stops[2][0]
    send(lead, page, **rest | {"v_2_1": "3.30", "v_2_2": "3.32", "since": "levelled for 2 h"})
    job.refresh_from_db()
    assert job.stage == Stage.JOIN


def test_a_repair_is_given_up_and_its_rest_goes_back(lead: Client) -> None:
    job = line.job_at(Stage.PLACE, kind=JobKind.GROUP_REPAIR)
    send(lead, f"/jobs/{job.number}/give-up/", reason="the board is dead", standing="intact")
    line.sort_removed(job)
    page = f"/jobs/{job.number}/removed/"
    assert "Rest of the opened pack, groups 1, 3 and 4" in lead.get(page).content.decode()
    send(
        lead,
        page,
        condition="intact-customer",
        which="all",
        **{"intact-customer-way": "customer", "intact-customer-insulated": "on"},
    )
    send(lead, f"{page}finish/")
    job.refresh_from_db()
    assert closed(line.to_the_end(job))
