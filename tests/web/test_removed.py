"""Removed items: condition by condition, all or what is ticked, and nothing that reacts into a container."""

import re
import uuid
from typing import Any

import pytest
from django.test import Client

from packs.terms import Condition, DangerSign, JobKind, Owner, Place, Role, Stage
from shop import models
from shop.operations import disposal
from tests import line, rows
from tests.factories import SettingsFactory
from tests.web.desk import at, primary, send, sign_in, stage_of, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def technician(client: Client) -> Client:
    SettingsFactory(emergency_number="112")
    sign_in(client, Role.TECHNICIAN)
    return client


@pytest.fixture
def job(technician: Client) -> models.Job:
    """Return a job with 38 whole cells, two damaged ones and one that may react on the bench."""
    row = rows.job(Stage.REMOVED)
    cells = rows.removed(row, 41)
    models.Cell.objects.filter(pk__in=[cell.pk for cell in cells[:2]]).update(condition=Condition.DAMAGED.value)
    models.Cell.objects.filter(pk=cells[2].pk).update(condition=Condition.REACTIVE.value)
    return row


def page(job: models.Job) -> str:
    return f"/jobs/{job.number}/removed/"


def places(job: models.Job) -> dict[str, int]:
    found: dict[str, int] = {}
    for place in models.Cell.objects.filter(lot__donor_job=job).values_list("place", flat=True):
        found[place] = found.get(place, 0) + 1
    return found


def condition(condition: Condition, way: str, **more: str) -> dict[str, str]:
    typed = {"condition": condition.value, f"{condition.value}-way": way, "which": "all"}
    return typed | {f"{condition.value}-{name}" if name != "which" else name: text for name, text in more.items()}


def into(container: models.Container) -> str:
    return f"container-{container.pk}"


def test_what_leaves_first_comes_first_and_one_action_is_primary(job: models.Job, technician: Client) -> None:
    line.containers()
    answer = technician.get(page(job))
    seen = words(answer)
    assert seen.index("liable to react") < seen.index("2 damaged or defective") < seen.index("38 intact")
    assert primary(answer) == ["Put all 2 there"]


def test_all_of_a_condition_go_at_once(job: models.Job, technician: Client) -> None:
    intact, _ = line.containers()
    assert send(
        technician, page(job), **condition(Condition.INTACT, into(intact), insulated="on", packed_alone="on")
    ).url == page(job)
    assert places(job) == {"container": 38, "bench": 3}
    assert "38 into container W-INTACT." in words(technician.get(page(job)))


def test_only_the_ticked_ones_go(job: models.Job, technician: Client) -> None:
    chosen = list(models.Cell.objects.filter(condition=Condition.INTACT.value)[:3])
    typed = condition(Condition.INTACT, "stock", which="ticked")
    ticks = [f"cell-{cell.pk}" for cell in chosen]
    answer = technician.post(page(job), typed | {"intact-things": ticks, "form_token": str(uuid.uuid4())})
    assert answer.url == page(job)
    assert {cell.code for cell in chosen} == set(
        models.Cell.objects.filter(place=Place.STOCK.value).values_list("code", flat=True)
    )


def test_nothing_ticked_is_refused_beside_the_list_and_the_way_is_kept(job: models.Job, technician: Client) -> None:
    answer = send(technician, page(job), **condition(Condition.INTACT, "stock", which="ticked"))
    html = answer.content.decode()
    assert "Tick what goes there." in html
    assert 'value="stock" selected' in html
    assert places(job) == {"bench": 41}


def test_bare_terminals_go_into_no_container(job: models.Job, technician: Client) -> None:
    _, damaged = line.containers()
    answer = send(technician, page(job), **condition(Condition.DAMAGED, into(damaged)))
    form = answer.context["waiting"][0][1]
    assert form.errors == {"insulated": ["Insulate every terminal first, then confirm it."]}
    assert places(job) == {"bench": 41}


@pytest.mark.parametrize("name", ["intact", "damaged"])
def test_what_may_react_can_never_be_chosen_for_a_container(job: models.Job, technician: Client, name: str) -> None:
    intact, damaged = line.containers()
    reacting = models.Cell.objects.get(condition=Condition.REACTIVE.value)
    container = intact if name == "intact" else damaged
    typed = {
        "condition": name,
        f"{name}-way": into(container),
        f"{name}-insulated": "on",
        f"{name}-packed_alone": "on",
        "which": "ticked",
    }
    ticks = {f"{name}-things": [f"cell-{reacting.pk}"], "form_token": str(uuid.uuid4())}
    answer = technician.post(page(job), typed | ticks)
    assert answer.status_code == 200
    assert "is not one of the available choices" in answer.content.decode()
    sent = send(technician, page(job), condition="reactive", which="all", **{"reactive-way": into(damaged)})
    assert sent.status_code == 200
    assert places(job) == {"bench": 41}
    assert f'value="cell-{reacting.pk}"' not in technician.get(page(job)).content.decode()


def test_damaged_cells_have_no_way_back_to_stock(job: models.Job, technician: Client) -> None:
    _, damaged = line.containers()
    forms = {heap.key: form for heap, form in technician.get(page(job)).context["waiting"]}
    assert [way for way, _ in forms["damaged"].fields["way"].choices] == ["", into(damaged)]
    answer = send(technician, page(job), **condition(Condition.DAMAGED, "stock", insulated="on", packed_alone="on"))
    assert answer.status_code == 200
    assert places(job) == {"bench": 41}


def test_a_customer_gets_the_whole_cells_that_are_his(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED, removed_owner=Owner.CUSTOMER)
    line.containers()
    ways = [way for way, _ in technician.get(page(job)).context["waiting"][1][1].fields["way"].choices]
    assert "stock" not in ways
    refused = send(technician, page(job), **condition(Condition.INTACT, "customer"))
    assert "Insulate every terminal first, then confirm it." in words(refused)
    send(technician, page(job), **condition(Condition.INTACT, "customer", insulated="on"))
    assert places(job) == {"customer": 7, "bench": 1}


def test_without_a_container_the_first_step_is_to_open_one(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    answer = technician.get(page(job))
    assert primary(answer) == ["Open a container"]
    new = f"/containers/new/?condition=damaged&for={job.number}"
    assert new.replace("&", "&amp;") in answer.content.decode()
    assert 'value="damaged" selected' in technician.get(new).content.decode()
    typed = {"code": "W-7", "condition": "damaged", "started_on": "2026-11-24"}
    assert send(technician, new, **typed).url == page(job)


def test_what_reacts_leaves_only_by_name_and_once(job: models.Job, technician: Client) -> None:
    reacting = models.Cell.objects.get(condition=Condition.REACTIVE.value)
    way_out = f"/jobs/{job.number}/removed/cell/{reacting.pk}/"
    assert "call 112" in words(technician.get(way_out))
    assert send(technician, way_out, receiver=" ").context["form"].errors["receiver"]
    token = str(uuid.uuid4())
    for _ in range(2):
        assert send(technician, way_out, receiver="Fire service", form_token=token).url == page(job)
    assert models.Movement.objects.filter(cell=reacting, to_place=Place.CONSIGNED.value).count() == 1
    assert "Somebody took it already." in words(technician.get(way_out))
    again = send(technician, way_out, receiver="Somebody else")
    assert again.context["form"].errors
    assert models.Movement.objects.filter(cell=reacting, to_place=Place.CONSIGNED.value).count() == 1


def test_only_what_reacts_has_an_emergency_route(job: models.Job, technician: Client) -> None:
    whole = models.Cell.objects.filter(condition=Condition.INTACT.value).first()
    assert whole is not None
    assert technician.get(f"/jobs/{job.number}/removed/cell/{whole.pk}/").status_code == 404
    assert technician.get(f"/jobs/{job.number}/removed/tool/{whole.pk}/").status_code == 404
    other = rows.job(Stage.REMOVED)
    reacting = models.Cell.objects.get(condition=Condition.REACTIVE.value)
    assert technician.get(f"/jobs/{other.number}/removed/cell/{reacting.pk}/").status_code == 404


def test_the_job_goes_on_when_nothing_is_left(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    _, damaged = line.containers()
    finish = f"/jobs/{job.number}/removed/finish/"
    assert technician.get(finish).status_code == 405
    assert send(technician, finish).url == page(job)
    assert "cells and items that still wait to go their way" in words(technician.get(page(job)))
    send(technician, page(job), **condition(Condition.DAMAGED, into(damaged), insulated="on", packed_alone="on"))
    assert send(technician, page(job), **condition(Condition.INTACT, "stock")).url == f"/jobs/{job.number}/hand-over/"
    assert "Nothing that was removed is left on the bench." in words(technician.get(f"/jobs/{job.number}/hand-over/"))
    job.refresh_from_db()
    assert job.stage == Stage.HAND_OVER
    send(
        technician,
        f"/jobs/{job.number}/removed/new/",
        kind="contaminated",
        description="gloves",
        condition="intact",
        basis="unknown",
    )
    assert [item.description for item in job.items.waiting()] == ["gloves"]


def test_a_red_pack_goes_into_a_container_whole(technician: Client) -> None:
    job = line.take_in(signs=[DangerSign.SWELLING])
    _, damaged = line.containers()
    answer = technician.get(page(job))
    assert primary(answer) == ["Put Garden pump GP-3 with its pack there"]
    refused = send(technician, page(job), **condition(Condition.DAMAGED, into(damaged)))
    assert "Insulate every contact that can be touched from outside first" in words(refused)
    send(technician, page(job), **condition(Condition.DAMAGED, into(damaged), insulated="on", packed_alone="on"))
    assert job.items.get().container == damaged


@pytest.mark.parametrize(
    "taken_in", [{"signs": [DangerSign.SWELLING]}, {"kind": JobKind.TAKE_BACK}], ids=["red", "taken back"]
)
def test_nothing_is_said_to_be_removed_from_a_pack_that_stays_closed(
    technician: Client, taken_in: dict[str, Any]
) -> None:
    job = line.take_in(**taken_in)
    place = next(row for row in line.containers() if row.condition == job.items.get().condition)
    asked = technician.get(page(job))
    assert "<h1>Pack for disposal</h1>" in asked.content.decode()
    assert "Every contact that can be touched from outside is covered" in words(asked)
    packed = {"insulated": True, "packed_alone": True, "by": line.technician()}
    disposal.to_container(job=job, container=place, items=list(job.items.all()), **packed)
    gone = technician.get(page(job))
    assert primary(gone) == ["Go on to close the job"]
    for answer in (asked, gone):
        assert not re.search("removed|every terminal", words(answer), re.IGNORECASE)


def test_where_they_went_is_told_together(job: models.Job, technician: Client) -> None:
    intact, _ = line.containers()
    send(technician, page(job), **condition(Condition.INTACT, into(intact), insulated="on", packed_alone="on"))
    gone = technician.get(page(job)).context["gone"]
    assert [(way.place, way.container, len(way.things)) for way in gone] == [(Place.CONTAINER, intact, 38)]


def test_a_container_that_was_closed_meanwhile_is_refused_beside_the_way(job: models.Job, technician: Client) -> None:
    intact, _ = line.containers()
    typed = condition(Condition.INTACT, into(intact), insulated="on", packed_alone="on")
    by = line.technician()
    models.Container.objects.filter(pk=intact.pk).update(closed_at=job.opened_at, closed_by=by)
    answer = send(technician, page(job), **typed)
    assert answer.status_code == 200
    assert set(answer.context["waiting"][1][1].errors) == {"way"}
    assert places(job) == {"bench": 41}


def test_before_anything_is_removed_the_page_says_so(technician: Client) -> None:
    answer = technician.get(page(line.job_at(Stage.MATCH)))
    assert "Nothing waits here" in words(answer)
    assert primary(answer) == ["Back to the job"]


def test_what_is_damaged_or_reacts_leaves_the_moment_it_is_booked(technician: Client) -> None:
    """ADR special provision 376: what may react is not carried with the rest; that it leaves at once is common practice."""
    job = line.job_at(Stage.DISMANTLE)
    _, damaged = line.containers()
    book = at(job, Stage.DISMANTLE, "cell/")
    assert send(technician, book, condition="damaged", count="1", not_measured="on").url == at(job, Stage.DISMANTLE)
    asked = technician.get(at(job, Stage.DISMANTLE))
    assert "1 damaged or liable to react is still on the bench" in words(asked)
    sent = send(technician, book, condition="reactive", count="1", not_measured="on")
    reacting = models.Cell.objects.get(condition=Condition.REACTIVE.value)
    assert sent.url == f"{page(job)}cell/{reacting.pk}/"
    assert "It goes into no container" in words(technician.get(sent.url))
    assert primary(technician.get(page(job))) == ["Put J0001-R01 there"]
    assert send(technician, sent.url, receiver="Fire service").url == page(job)
    send(technician, page(job), **condition(Condition.DAMAGED, into(damaged), insulated="on", packed_alone="on"))
    assert places(job) == {"container": 1, "consigned": 1}
    told = words(technician.get(page(job)))
    assert "1 taken by the emergency way" in told
    assert "handed to a carrier" not in told
    assert "Taken by the emergency way" in words(technician.get(f"/stock/cells/{reacting.code}/"))
    assert "Go on to the hand-over" not in words(technician.get(page(job)))
    assert stage_of(job) == Stage.DISMANTLE


def test_a_cell_found_to_react_later_leads_to_the_emergency_way(technician: Client) -> None:
    job = line.job_at(Stage.PLACE)
    cell = models.Cell.objects.on_bench_of(job).filter(condition=Condition.INTACT.value)[0]
    answer = send(technician, f"/stock/condition/{cell.code}/", condition="reactive", reason="it hisses")
    assert answer.url == f"{page(job)}cell/{cell.pk}/"
    assert "Say where removed cells go" in words(technician.get(f"/jobs/{job.number}/"))


def test_removed_items_are_not_for_the_counter(client: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    sign_in(client, Role.COUNTER)
    for address in (page(job), f"/jobs/{job.number}/removed/finish/"):
        assert send(client, address).status_code == 403
    assert disposal.waiting(job) == 8


def test_something_else_is_set_apart_and_goes_to_its_own_container(technician: Client) -> None:
    job = line.job_at(Stage.REMOVED)
    line.containers()
    new = f"{page(job)}new/"
    typed = {"kind": "contaminated", "description": "gloves", "condition": "intact", "basis": "unknown"}
    refused = send(technician, new, **typed | {"cells": "3", "basis": "known"})
    assert set(refused.context["form"].errors) == {"kind"}
    assert send(technician, new, **typed).url == page(job)
    answer = technician.get(page(job))
    assert "1 contaminated absorbent and gloves" in words(answer)
    assert f"/containers/new/?condition=contaminated&amp;for={job.number}" in answer.content.decode()
    opened = {"code": "G-1", "condition": "contaminated", "started_on": "2026-11-24"}
    assert send(technician, f"/containers/new/?for={job.number}", **opened).url == page(job)
    gloves = models.Container.objects.get(code="G-1")
    send(technician, page(job), condition="contaminated", which="all", **{"contaminated-way": into(gloves)})
    assert job.items.get(kind="contaminated").container == gloves


def test_damaged_ones_are_asked_for_their_casings(job: models.Job, technician: Client) -> None:
    _, damaged = line.containers()
    forms = {heap.key: form for heap, form in technician.get(page(job)).context["waiting"]}
    assert "casings_closed" in forms["damaged"].fields
    assert "casings_closed" not in forms["intact"].fields
    send(
        technician,
        page(job),
        **condition(Condition.DAMAGED, into(damaged), insulated="on", packed_alone="on", casings_closed="on"),
    )
    assert set(models.InnerPackaging.objects.values_list("casing_closed", flat=True)) == {True}
