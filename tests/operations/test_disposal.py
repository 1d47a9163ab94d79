"""Where removed things go: stock, customer, container, carrier, emergency route; each in one place at a time."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Condition, DangerSign, Owner, Place, Stage
from shop import models
from shop.operations import containers, disposal, intake
from shop.selectors import audit
from tests import line
from tests.factories import MORNING
from tests.operations.calls import removed
from tests.refusal import held_by, refused

pytestmark = pytest.mark.django_db

TODAY = MORNING.date()
Route = Callable[[models.Job, list[models.Cell]], None]


def open_one(code: str, condition: Condition, **given: Any) -> models.Container:
    return containers.open_container(
        **{"code": code, "condition": condition, "started_on": TODAY, "by": line.technician(), "now": MORNING} | given
    )


def to_stock(job: models.Job, cells: list[models.Cell]) -> None:
    disposal.to_stock(job=job, cells=cells, by=line.technician())


def to_customer(job: models.Job, cells: list[models.Cell]) -> None:
    disposal.to_customer(job=job, cells=cells, insulated=True, by=line.technician())


def to_container(job: models.Job, cells: list[models.Cell]) -> None:
    disposal.to_container(
        job=job, container=line.containers()[0], cells=cells, insulated=True, packed_alone=True, by=line.technician()
    )


class TestContainer:
    @pytest.mark.parametrize("condition", [Condition.INTACT, Condition.DAMAGED])
    def test_it_has_one_condition_and_a_start_date(self, condition: Condition) -> None:
        container = open_one(" W1 ", condition)
        assert (container.code, container.condition, container.started_on) == ("W1", condition, TODAY)

    @pytest.mark.parametrize(
        ("given", "code", "field"),
        [
            ({"started_on": TODAY + timedelta(days=1)}, "future_date", "started_on"),
            ({"condition": Condition.REACTIVE}, "reactive", ""),
            ({"code": " "}, "invalid", "code"),
            ({"code": "W1"}, "invalid", "code"),
        ],
    )
    def test_what_is_refused(self, given: dict[str, Any], code: str, field: str) -> None:
        open_one("W1", Condition.INTACT)
        with refused(code, field=field):
            open_one(**{"code": "W2", "condition": Condition.INTACT} | given)

    def test_the_database_knows_no_container_for_what_reacts(self) -> None:
        with pytest.raises(IntegrityError, match="container_takes_nothing_reactive"), transaction.atomic():
            models.Container.objects.create(code="W9", condition="reactive", started_on=TODAY)


class TestRemovedCells:
    """Seven whole cells and a damaged one on the bench."""

    @pytest.fixture
    def job(self) -> models.Job:
        job = line.job_at(Stage.REMOVED)
        line.containers()
        return job

    @pytest.mark.parametrize(
        ("owner", "route", "place"),
        [
            (Owner.SHOP, to_stock, Place.STOCK),
            (Owner.CUSTOMER, to_customer, Place.CUSTOMER),
            (Owner.SHOP, to_container, Place.CONTAINER),
            (Owner.CUSTOMER, to_container, Place.CONTAINER),
        ],
    )
    def test_a_whole_cell_goes_where_its_owner_lets_it(self, owner: Owner, route: Route, place: Place) -> None:
        job = line.job_at(Stage.REMOVED, removed_owner=owner)
        route(job, removed(job, Condition.INTACT))
        assert {cell.place for cell in removed(job, Condition.INTACT)} == {place}
        assert disposal.waiting(job) == 1
        assert list(audit.differences()) == []

    @pytest.mark.parametrize(("owner", "route"), [(Owner.SHOP, to_customer), (Owner.CUSTOMER, to_stock)])
    def test_and_nowhere_else(self, owner: Owner, route: Route) -> None:
        job = line.job_at(Stage.REMOVED, removed_owner=owner)
        with refused("wrong_owner"):
            route(job, removed(job, Condition.INTACT))

    @pytest.mark.parametrize(("owner", "route"), [(Owner.SHOP, to_stock), (Owner.CUSTOMER, to_customer)])
    def test_a_damaged_cell_takes_the_others_down_with_it(self, owner: Owner, route: Route) -> None:
        """A list is moved as a whole or not at all."""
        job = line.job_at(Stage.REMOVED, removed_owner=owner)
        with refused("not_intact"):
            route(job, list(models.Cell.objects.filter(lot__donor_job=job)))

    @pytest.mark.parametrize("route", [to_stock, to_container])
    def test_a_cell_goes_once(self, job: models.Job, route: Route) -> None:
        cells = removed(job, Condition.INTACT)
        route(job, cells[:1])
        for again in (to_stock, to_container):
            with refused("not_on_bench"):
                again(job, cells[:1])

    def test_cells_of_another_job_are_not_this_ones(self, job: models.Job) -> None:
        other = line.take_in(customer_name="Odd Strand")
        with refused("not_on_bench"):
            to_stock(other, removed(job, Condition.INTACT))

    @pytest.mark.parametrize("route", [to_stock, to_customer, to_container])
    def test_something_is_chosen(self, job: models.Job, route: Route) -> None:
        with refused("nothing_chosen"):
            route(job, [])

    @pytest.mark.parametrize("condition", [Condition.INTACT, Condition.DAMAGED])
    def test_a_container_takes_its_own_condition(self, job: models.Job, condition: Condition) -> None:
        other = line.containers()[1 if condition is Condition.INTACT else 0]
        by = line.technician()
        with refused("wrong_container", field="container"):
            disposal.to_container(
                job=job, container=other, cells=removed(job, condition), insulated=True, packed_alone=True, by=by
            )

    def test_bare_terminals_go_to_nobody(self) -> None:
        """40 CFR 273.13(a)(2) and ADR special provision 376 ask for terminals that cannot touch."""
        job = line.job_at(Stage.REMOVED, removed_owner=Owner.CUSTOMER)
        with refused("not_insulated", field="insulated"):
            disposal.to_customer(job=job, cells=removed(job, Condition.INTACT), insulated=False, by=line.technician())

    def test_terminals_are_insulated_first(self, job: models.Job) -> None:
        container = line.containers()[0]
        with refused("not_insulated", field="insulated"):
            disposal.to_container(
                job=job,
                container=container,
                cells=removed(job, Condition.INTACT),
                insulated=False,
                by=line.technician(),
            )

    def test_the_bench_is_cleared_before_the_job_goes_on(self, job: models.Job) -> None:
        with held_by("handover.removed_gone"):
            disposal.finish_removed(job=job, by=line.technician())
        to_stock(job, removed(job, Condition.INTACT))
        with held_by("handover.removed_gone"):
            disposal.finish_removed(job=job, by=line.technician())
        disposal.to_container(
            job=job,
            container=line.containers()[1],
            cells=removed(job, Condition.DAMAGED),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
        assert disposal.finish_removed(job=job, by=line.technician()).stage == Stage.HAND_OVER


class TestReactive:
    """Hot, smoking or hissing: liable to react. It goes into no container, whoever asks."""

    @pytest.fixture
    def job(self) -> models.Job:
        return line.job_at(Stage.REMOVED, signs=[DangerSign.HISSING])

    def leave(self, job: models.Job, thing: models.Item | models.Cell, receiver: str = "fire brigade") -> None:
        disposal.to_emergency_route(job=job, thing=thing, receiver=receiver, by=line.technician())

    @pytest.mark.parametrize("which", [0, 1])
    def test_into_no_container(self, job: models.Job, which: int) -> None:
        container = line.containers()[which]
        with refused("reactive"):
            disposal.to_container(
                job=job,
                container=container,
                items=list(job.items.all()),
                insulated=True,
                packed_alone=True,
                by=line.technician(),
            )

    def test_a_reactive_cell_neither(self) -> None:
        job = line.job_at(Stage.REMOVED)
        models.Cell.objects.filter(code="J0001-R01").update(condition="reactive")
        cell = models.Cell.objects.get(code="J0001-R01")
        for container in line.containers():
            with refused("reactive"):
                disposal.to_container(
                    job=job, container=container, cells=[cell], insulated=True, packed_alone=True, by=line.technician()
                )
        with refused("not_intact"):
            to_stock(job, [cell])
        self.leave(job, cell)
        cell.refresh_from_db()
        assert cell.place == Place.CONSIGNED

    def test_the_emergency_route_is_the_way_out(self, job: models.Job) -> None:
        self.leave(job, job.items.get())
        item = job.items.get()
        assert (item.place, item.container) == (Place.CONSIGNED, None)
        assert item.movements.last().note == "emergency route: fire brigade"
        assert disposal.finish_removed(job=job, by=line.technician()).stage == Stage.HAND_OVER
        assert list(audit.differences()) == []

    def test_to_somebody_with_a_name(self, job: models.Job) -> None:
        item = job.items.get()
        with refused("receiver_missing", field="receiver"):
            self.leave(job, item, "  ")

    def test_once(self, job: models.Job) -> None:
        self.leave(job, job.items.get())
        item = job.items.get()
        with refused("not_waiting"):
            self.leave(job, item)

    def test_a_stale_look_at_it_does_not_help(self, job: models.Job) -> None:
        """The condition that counts is the one in the book, not the one a page was opened with."""
        item = job.items.get()
        models.Item.objects.update(condition="damaged")
        with refused("not_reactive"):
            self.leave(job, item)

    def test_not_from_another_job(self, job: models.Job) -> None:
        other = line.take_in(customer_name="Odd Strand")
        with refused("not_waiting"):
            self.leave(other, job.items.get())

    def test_what_does_not_react_takes_the_usual_way(self) -> None:
        job = line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
        item = job.items.get()
        with refused("not_reactive"):
            self.leave(job, item)


class TestItems:
    def test_a_red_pack_goes_into_the_container_for_damaged_ones(self) -> None:
        job = line.job_at(Stage.REMOVED, signs=[DangerSign.SWELLING])
        with held_by("handover.removed_gone"):
            disposal.finish_removed(job=job, by=line.technician())
        whole, damaged = line.containers()
        items = list(job.items.all())
        with refused("wrong_container"):
            disposal.to_container(
                job=job, container=whole, items=items, insulated=True, packed_alone=True, by=line.technician()
            )
        disposal.to_container(
            job=job, container=damaged, items=items, insulated=True, packed_alone=True, by=line.technician()
        )
        assert job.items.get().container == damaged
        with refused("not_waiting"):
            disposal.to_container(
                job=job, container=damaged, items=items, insulated=True, packed_alone=True, by=line.technician()
            )

    def test_a_device_at_the_counter_does_not_wait_for_disposal(self) -> None:
        job = line.take_in()
        container = line.containers()[0]
        with refused("not_waiting"):
            disposal.to_container(
                job=job,
                container=container,
                items=list(job.items.all()),
                insulated=True,
                packed_alone=True,
                by=line.technician(),
            )

    def test_a_red_pack_seen_later_is_reactive_where_it_heats(self) -> None:
        job = intake.report_danger(job=line.job_at(Stage.MATCH), signs=[DangerSign.HOT], by=line.technician())
        container = line.containers()[1]
        with refused("reactive"):
            disposal.to_container(
                job=job,
                container=container,
                items=list(job.items.all()),
                insulated=True,
                packed_alone=True,
                by=line.technician(),
            )
