"""Waste containers: one condition each, a start date, and out with a named carrier."""

import uuid
from datetime import date, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from packs.terms import Condition, DangerSign, Place, Role, Stage
from shop import models
from shop.operations import closeout
from tests import line, rows
from tests.factories import SettingsFactory
from tests.web.desk import errors, primary, send, sign_in, words

pytestmark = pytest.mark.django_db

NEW = "/containers/new/"


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.TECHNICIAN)
    return client


@pytest.fixture
def full(technician: Client) -> models.Container:
    """Return a container with three damaged cells."""
    _, container = line.containers()
    cells = {"place": Place.CONTAINER.value, "container": container, "condition": Condition.DAMAGED.value}
    rows.removed(rows.job(Stage.HAND_OVER), 3, **cells, job=None)
    return container


def typed(**changes: str) -> dict[str, str]:
    return {"code": "W-1", "condition": "damaged", "started_on": "2026-11-20"} | changes


def test_an_empty_list_says_what_it_will_hold_and_offers_the_first_step(technician: Client) -> None:
    answer = technician.get("/containers/")
    assert "No container is open" in words(answer)
    assert primary(answer) == ["Open a container"]


def test_the_counter_reads_who_opens_one(client: Client) -> None:
    sign_in(client, Role.COUNTER)
    answer = client.get("/containers/")
    assert "A technician opens it." in words(answer)
    assert primary(answer) == []
    assert client.get(NEW).status_code == 403
    assert send(client, NEW, **typed()).status_code == 403


def test_a_container_is_opened_once_with_its_condition_and_start(technician: Client) -> None:
    token = str(uuid.uuid4())
    for _ in range(2):
        assert send(technician, NEW, form_token=token, **typed()).url == "/containers/W-1/"
    row = models.Container.objects.get()
    assert (row.condition, row.started_on) == (Condition.DAMAGED, date(2026, 11, 20))
    assert "Nothing is in it yet" in words(technician.get("/containers/W-1/"))


def test_a_code_may_hold_strokes_and_spaces(technician: Client) -> None:
    sent = send(technician, NEW, **typed(code="2026/W 7"))
    assert technician.get(sent.url).status_code == 200
    assert technician.get("/containers/").status_code == 200


@pytest.mark.parametrize(
    ("changes", "field", "message"),
    [
        ({"condition": "reactive"}, "condition", "Select a valid choice"),
        ({"condition": ""}, "condition", "This field is required."),
        ({"code": " "}, "code", "This field is required."),
        ({"started_on": "soon"}, "started_on", "Enter a valid date."),
        ({"started_on": str(timezone.localdate() + timedelta(days=2))}, "started_on", "The start date lies ahead."),
        ({"code": "W-INTACT"}, "code", "Another container has this code already."),
        ({"code": "new"}, "code", "Give it a code"),
    ],
)
def test_a_container_that_cannot_be_is_refused_beside_its_field(
    technician: Client, changes: dict[str, str], field: str, message: str
) -> None:
    line.containers()
    answer = send(technician, NEW, **typed(**changes))
    assert set(errors(answer)) == {field}
    assert message in errors(answer)[field][0]
    assert models.Container.objects.count() == 2


SECURED = {"secured": "on", "lid_vents": "on", "approved_packaging": "on"}
NAMES = {
    "carrier": "Brook Freight",
    "taken_by": "Per Lund",
    "handed_over_by": "Jon Adler",
    "receiver": "Oberau works",
    "mode": "road",
}


@pytest.fixture
def closed(full: models.Container) -> models.Container:
    return line.closed(full)


def test_a_container_says_what_is_in_it_and_from_which_job(full: models.Container, technician: Client) -> None:
    answer = technician.get(f"/containers/{full.code}/")
    seen = words(answer)
    assert "J0001-R-001" in seen
    assert "for what is damaged or defective" in seen
    assert "local fire codes set quantities" in seen
    assert primary(answer) == ["Close the container"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"gross_mass_mg": ""}, "gross_mass_mg"),
        ({"gross_mass_mg": "2 m"}, "gross_mass_mg"),
        ({"gross_mass_mg": "0.1 kg"}, "gross_mass_mg"),
        ({"secured": ""}, "secured"),
        ({"lid_vents": ""}, "lid_vents"),
        ({"approved_packaging": ""}, "approved_packaging"),
    ],
)
def test_what_is_missing_for_closing_is_said_beside_its_field(
    full: models.Container, technician: Client, changes: dict[str, str], field: str
) -> None:
    typed = {"gross_mass_mg": "2.5"} | SECURED | changes
    answer = send(technician, f"/containers/{full.code}/", **{name: text for name, text in typed.items() if text})
    assert set(errors(answer)) == {field}
    full.refresh_from_db()
    assert full.closed_at is None


def test_it_is_weighed_and_closed_once_and_opened_again(full: models.Container, technician: Client) -> None:
    page, token = f"/containers/{full.code}/", str(uuid.uuid4())
    for _ in range(2):
        assert send(technician, page, form_token=token, gross_mass_mg="2.5", **SECURED).url == page
    full.refresh_from_db()
    assert full.gross_mass_mg == 2_500_000
    answer = technician.get(page)
    assert "closed and secured" in words(answer)
    assert primary(answer) == ["Hand the container over"]
    send(technician, f"/waste/containers/{full.pk}/reopen/")
    assert primary(technician.get(page)) == ["Close the container"]


def test_containers_leave_with_everything_in_them_once(closed: models.Container, technician: Client) -> None:
    page, token = f"/containers/{closed.code}/", str(uuid.uuid4())
    for _ in range(2):
        assert send(technician, page, form_token=token, **NAMES).url == "/consignments/1/"
    assert set(closed.cells.values_list("place", flat=True)) == {Place.CONSIGNED.value}
    assert models.Movement.objects.filter(container=closed, to_place=Place.CONSIGNED.value).count() == 3
    answer = technician.get(page)
    assert "Brook Freight, for Oberau works" in words(answer)
    assert primary(answer) == []
    assert "not back yet" in words(technician.get("/containers/"))


def test_another_closed_one_can_go_with_it(closed: models.Container, technician: Client) -> None:
    whole, _ = line.containers()
    cells = {"place": Place.CONTAINER.value, "container": whole}
    rows.removed(rows.job(Stage.HAND_OVER), 2, **cells, job=None)
    line.closed(whole)
    send(technician, f"/containers/{closed.code}/", together=str(whole.pk), **NAMES)
    assert set(models.Consignment.objects.get().containers.all()) == {whole, closed}


def test_nobody_named_is_refused_beside_the_field_and_the_rest_is_kept(
    closed: models.Container, technician: Client
) -> None:
    answer = send(technician, f"/containers/{closed.code}/", **NAMES | {"receiver": ""})
    assert set(errors(answer)) == {"receiver"}
    assert 'value="Brook Freight"' in answer.content.decode()
    closed.refresh_from_db()
    assert closed.consigned_at is None


def test_air_is_not_offered(closed: models.Container, technician: Client) -> None:
    """Industry guide to ADR, IMDG Code and IATA rules: waste batteries never go by air."""
    page = f"/containers/{closed.code}/"
    assert "by air" not in dict(technician.get(page).context["form"].fields["mode"].choices).values()
    assert set(errors(send(technician, page, **NAMES | {"mode": "air"}))) == {"mode"}


def test_an_empty_container_is_refused_in_words(technician: Client) -> None:
    empty, _ = line.containers()
    answer = send(technician, f"/containers/{empty.code}/", gross_mass_mg="2.5", **SECURED)
    assert errors(answer) == {"__all__": [f"Container {empty.code} is empty; there is nothing to close in."]}


def test_the_counter_reads_and_does_nothing(full: models.Container, client: Client) -> None:
    sign_in(client, Role.COUNTER)
    answer = client.get(f"/containers/{full.code}/")
    assert answer.status_code == 200
    assert primary(answer) == []
    sent = send(client, f"/containers/{full.code}/", gross_mass_mg="2.5", **SECURED)
    assert (sent.status_code, "technician, lead, owner" in words(sent)) == (403, True)
    for more in ("reopen", "label"):
        assert send(client, f"/waste/containers/{full.pk}/{more}/").status_code == 403


def test_a_confirmation_is_written_down(closed: models.Container, technician: Client) -> None:
    send(technician, f"/containers/{closed.code}/", **NAMES)
    page = "/consignments/1/"
    assert primary(technician.get(page)) == ["Issue the disposal note"]
    assert set(errors(send(technician, page, confirmed_on="2020-01-01", confirmed_by="Ola Berg"))) == {"confirmed_on"}
    assert send(technician, page, confirmed_on=str(timezone.localdate()), confirmed_by="Ola Berg").url == page
    assert "by Ola Berg" in words(technician.get(page))
    assert "confirmed" in words(technician.get("/containers/"))


def test_boards_have_containers_of_their_own(technician: Client) -> None:
    send(technician, NEW, **typed(condition="boards"))
    row = models.Container.objects.get()
    assert (row.contents, row.condition) == ("boards", "intact")


def test_limits_that_are_near_are_said_on_the_list_and_on_the_page(technician: Client) -> None:
    """30 kg gross without UN-approved packaging (ADR P909(2)); nine tenths of it: common practice, no source."""
    whole, _ = line.containers()
    job = rows.job(Stage.HAND_OVER)
    columns = {"job": job, "kind": "pack", "description": "pack", "place": "container", "container": whole}
    models.Item.objects.create(mass_mg=27_000_000, **columns)
    assert "nearly full" in words(technician.get("/containers/"))
    assert "27.000 kg of 30 kg gross" in words(technician.get(f"/containers/{whole.code}/")).replace("\u2009", "")


def test_the_site_is_told_where_the_place_has_a_bound(technician: Client) -> None:
    """40 CFR 273.9: less than 5,000 kg."""
    assert "The whole site" not in words(technician.get("/containers/"))
    SettingsFactory(jurisdiction="us", other_universal_waste_mg=5_000_000_000)
    seen = words(technician.get("/containers/"))
    assert "bound reached" in seen
    assert "large quantity handler until 31 Dec" in seen


def test_every_rule_is_listed_with_its_source(technician: Client) -> None:
    seen = words(technician.get("/waste/rules/"))
    assert "European Union" in seen
    for said in (
        "16 06 07*",
        "Quoted elsewhere",
        "Seen in the published text",
        "from memory, not checked",
        "40 CFR 273.15",
    ):
        assert said in seen


def test_no_such_container_is_not_found(technician: Client) -> None:
    assert technician.get("/containers/W-404/").status_code == 404


def test_what_waits_outside_is_on_the_list(technician: Client) -> None:
    red = line.take_in(signs=[DangerSign.SWELLING])
    seen = words(technician.get("/containers/"))
    assert "Outside containers" in seen
    assert red.code in seen
    assert "not weighed" in seen
    SettingsFactory(jurisdiction="us")
    seen = words(technician.get("/containers/"))
    assert "1 thing of unknown mass is not in it" in seen


def test_what_presses_is_on_the_first_page(technician: Client) -> None:
    """30 kg gross without UN-approved packaging (ADR P909(2)); nine tenths of it: common practice, no source."""
    whole, _ = line.containers()
    job = rows.job(Stage.HAND_OVER)
    columns = {"job": job, "kind": "pack", "description": "pack", "place": "container", "container": whole}
    pack = models.Item.objects.create(mass_mg=26_900_000, **columns)
    assert whole.code not in words(technician.get("/"))
    models.Item.objects.filter(pk=pack.pk).update(mass_mg=27_000_000)
    assert f"Waste container {whole.code} nearly full" in words(technician.get("/"))
    assert whole.code not in words(technician.get("/?show=closed"))


def test_a_consignment_leads_to_the_notes_of_its_jobs(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    line.sort_removed(job)
    line.consigned(line.containers()[1])
    page = "/consignments/1/"
    seen = words(technician.get(page))
    assert "the easier rules for collecting points end at 333 kg" in seen
    assert "Issue its note" in seen
    assert send(technician, f"/jobs/{job.number}/issue/disposal_note/").status_code == 302
    assert "its disposal note tells who took it" in words(technician.get(page))


def test_damaged_ones_are_confirmed_packed_alone(technician: Client) -> None:
    """ADR packing instruction P908: each damaged item alone in an inner packaging."""
    job = line.job_at(Stage.REMOVED)
    _, damaged = line.containers()
    typed = {
        "condition": "damaged",
        "which": "all",
        "damaged-way": f"container-{damaged.pk}",
        "damaged-insulated": "on",
    }
    answer = send(technician, f"/jobs/{job.number}/removed/", **typed)
    assert "Put each damaged one into an inner packaging of its own first" in words(answer)
    assert (
        send(technician, f"/jobs/{job.number}/removed/", **typed, **{"damaged-packed_alone": "on"}).status_code == 302
    )
    assert damaged.inner_packagings.count() == 1


def test_a_closed_job_gets_its_note_anew_when_its_waste_left(technician: Client) -> None:
    job = line.job_at(Stage.HAND_OVER)
    line.issue_papers(job)
    closeout.hand_over(job=job, received_by="Ida Moor", by=line.technician())
    page = f"/jobs/{job.number}/removed/"
    assert "Issue it anew" not in words(technician.get(page))
    line.consigned(line.containers()[1])
    assert "Issue it anew" in words(technician.get(page))
    send(technician, f"/jobs/{job.number}/issue/disposal_note/")
    assert "Issue it anew" not in words(technician.get(page))


def test_a_pack_of_unknown_chemistry_is_named_and_written_down_from_there(technician: Client) -> None:
    job = line.to_the_end(line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING]))
    page, known = f"/containers/{line.containers()[1].code}/", f"/jobs/{job.number}/complete/"
    assert f'href="{known}"' in technician.get(page).content.decode()
    assert send(technician, known, chemistry="nmc", version=job.version).url == f"/jobs/{job.number}/"
    assert "chemistry not known" not in words(technician.get(page))
