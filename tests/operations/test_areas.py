"""Limits of places: what stands where is counted from the book, and nothing comes where there is no room."""

import dataclasses
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from packs.terms import Area, Bulk, Condition, DangerSign, DeviceClass, JobKind, Owner, Place, Role, Stage
from shop import models
from shop.bridge import areas as bridge
from shop.operations import areas, channels, disposal, intake, opening, parking, rebuild, returns, stock
from shop.operations.stock import CellRow
from tests import line
from tests.factories import CellFactory, CellModelFactory, LotFactory, SettingsFactory, UserFactory
from tests.operations import calls
from tests.refusal import refused
from tests.web.desk import send, sign_in, words

pytestmark = pytest.mark.django_db

CELL = 9_360
"""Rated energy of a cell of the tests [mWh]: 2.6 Ah at 3.6 V."""


def owner() -> models.User:
    return UserFactory(username="owner", roles=(Role.OWNER,))


def limit(area: Area, energy_mwh: int | None = None, **more: Any) -> models.AreaLimit:
    return areas.set_area_limit(area=area, energy_mwh=energy_mwh, said_by="the insurer's letter", by=owner(), **more)


def cells_in() -> dict[str, Decimal]:
    """How many cells' worth of energy stands where."""
    held = {area.value: one.amount(Bulk.ENERGY) / CELL for area, one in bridge.standing().items()}
    return {area: cells for area, cells in held.items() if cells}


def test_every_cell_is_counted_in_one_place_all_along_a_job() -> None:
    """A pack of eight is rebuilt with eight out of stock; how many stand where was worked out by hand."""
    SettingsFactory()
    job = line.begin(JobKind.REBUILD)
    unopened = bridge.standing()[Area.CUSTOMER_PACKS]
    assert not unopened.amount(Bulk.ENERGY)
    assert unopened.uncounted[Bulk.ENERGY] == unopened.uncounted[Bulk.MASS] == (f"{job.code} {job.items.get()}",)
    expected = {
        Stage.TARGET: {"customer_packs": 8},
        Stage.DISMANTLE: {"stock": 8, "customer_packs": 8},
        Stage.PLACE: {"stock": 8, "half_built": 8},
        Stage.HOUSING: {"half_built": 16},
        Stage.FIRST_CHARGE: {"half_built": 8, "charging": 8},
        Stage.REMOVED: {"half_built": 8, "customer_packs": 8},
        Stage.HAND_OVER: {"stock": 7, "customer_packs": 8, "waste": 1},
    }
    for stage, cells in expected.items():
        line.on(job, stage)
        assert cells_in() == cells, stage
        if stage is Stage.DISMANTLE:
            assert not any(bridge.standing()[Area.CUSTOMER_PACKS].uncounted.values())
        if stage is Stage.FIRST_CHARGE:
            line.park(job)
            assert cells_in() == {"half_built": 16}
            parking.resume(job=job, by=line.technician(), **line.taken_up(job))
    line.hand_over(job)
    assert cells_in() == {"stock": 7, "waste": 1}


def test_half_taken_apart_it_lies_open_and_no_cell_counts_twice() -> None:
    job = line.job_at(Stage.DISMANTLE)
    rebuild.record_removed(
        job=job, condition=Condition.INTACT, count=3, rest_voltage_mv=Decimal(3300), by=line.technician()
    )
    assert cells_in() == {"stock": 8, "half_built": 8}


def test_what_is_most_of_what_is_stated_counts_for_an_unopened_pack() -> None:
    """14.4 V and 5.2 Ah on the nameplate are eight cells of the tests; arithmetic."""
    SettingsFactory()
    plate = intake.Nameplate(
        model="GP-3", device_class=DeviceClass.TOOL, rated_voltage_mv=14_400,
        rated_capacity_mah=Decimal(5200),
    )  # fmt: skip
    line.take_in_with(plate)
    assert cells_in() == {"customer_packs": 8}


def test_the_counter_refuses_what_the_place_may_not_hold_but_not_what_goes_outside() -> None:
    SettingsFactory()
    line.job_at(Stage.TARGET)
    limit(Area.CUSTOMER_PACKS, 8 * CELL - 1)
    jobs = models.Job.objects.count()
    with refused("place_full") as caught:
        line.take_in()
    assert caught.value.facts["area"] == "customer_packs"
    assert models.Job.objects.count() == jobs
    line.take_in(signs=[DangerSign.SMOKE])  # it stands outside anyway


def test_what_nobody_knows_is_no_room_where_it_is_counted() -> None:
    SettingsFactory()
    line.technician()
    limit(Area.CUSTOMER_PACKS, 8 * CELL, mass_mg=500_000, volume_mm3=300_000)
    with refused("size_unknown", field="rated_energy_mwh") as caught:
        line.take_in()
    assert set(caught.value.facts["fields"]) == {"rated_energy_mwh", "mass_mg", "volume_mm3"}
    size = opening.PackSize(rated_energy_mwh=8 * CELL, mass_mg=500_000, volume_mm3=300_000)
    for name in ("rated_energy_mwh", "mass_mg", "volume_mm3"):
        with refused("size_unknown", field=name):
            line.take_in(size=dataclasses.replace(size, **{name: None}))
        with refused("place_full"):
            line.take_in(size=dataclasses.replace(size, **{name: getattr(size, name) + 1}))
        with refused("impossible_value", field=name):
            line.take_in(size=dataclasses.replace(size, **{name: 0}))
    line.take_in(signs=[DangerSign.SMOKE])  # it stands outside, known or not
    line.take_in(size=size)
    with refused("place_full"):
        line.take_in(size=opening.PackSize(rated_energy_mwh=1, mass_mg=1, volume_mm3=1))


def test_a_pack_that_was_built_here_and_comes_back_is_known_by_its_cells() -> None:
    """Eight cells of 46 g and 18.3 mm by 18.3 mm by 65.2 mm each, from the invented data sheet of the tests."""
    returned = line.handed_over()
    limit(Area.CUSTOMER_PACKS, 8 * CELL - 1, mass_mg=10**6, volume_mm3=10**6)
    given = {"returned": returned, "signs": [], "removed_owner": Owner.CUSTOMER, "by": line.technician()}
    with refused("place_full"):
        returns.take_in_return(**given)
    limit(Area.CUSTOMER_PACKS, 8 * CELL, mass_mg=8 * 46_000, volume_mm3=8 * 21_835)
    returns.take_in_return(**given)
    held = bridge.standing()[Area.CUSTOMER_PACKS]
    assert held.amount(Bulk.MASS) == 8 * 46_000
    assert not any(held.uncounted.values())


def test_the_counter_asks_for_it_beside_its_field(client: Client) -> None:
    SettingsFactory()
    sign_in(client, Role.COUNTER)
    assert "Room it takes" not in words(client.get(reverse("take_in")))
    limit(Area.CUSTOMER_PACKS, volume_mm3=2_000_000)
    assert "Room it takes" in words(client.get(reverse("take_in")))
    typed = {"looked": "on", "customer_name": "Ida Moor", "model": "GP-3", "device_class": "tool"}
    typed |= {"removed_owner": "shop", "kind": "rebuild"}
    asked = send(client, reverse("take_in"), **typed)
    assert list(asked.context["form"].errors) == ["volume_mm3"]
    assert send(client, reverse("take_in"), **typed, volume_mm3="1.2 L").status_code == 302
    assert models.Item.objects.get().volume_mm3 == 1_200_000


def test_a_table_of_cells_comes_in_up_to_the_limit_and_no_further() -> None:
    SettingsFactory()
    lot = LotFactory()
    limit(Area.STOCK, 10 * CELL)

    def bring(first: int, count: int) -> None:
        rows = [CellRow(line=n, code=f"N{n}") for n in range(first, first + count)]
        stock.import_cells(lot=lot, rows=rows, by=line.technician())

    bring(0, 7)
    assert areas.nearly_full() == []
    bring(7, 1)
    assert [(area, one.room.value) for area, one in areas.nearly_full()] == [(Area.STOCK, "nearly")]
    with refused("place_full") as caught:
        bring(8, 3)
    assert "103 Wh" in caught.value.message.replace("\N{NARROW NO-BREAK SPACE}", " ").replace("102.96", "103")
    assert models.Cell.objects.count() == 8
    bring(8, 2)
    with refused("place_full"):
        bring(10, 1)


@pytest.mark.parametrize("bulk", ["mass_mg", "volume_mm3"])
def test_mass_and_volume_limit_as_well(bulk: str) -> None:
    """46 g and 18.3 mm × 18.3 mm × 65.2 mm a cell, from the invented data sheet of the tests."""
    SettingsFactory()
    each = {"mass_mg": 46_000, "volume_mm3": 21_834}
    limit(Area.STOCK, **{bulk: 2 * each[bulk] + 10})
    CellFactory()
    row = [CellRow(line=1, code="N1")]
    stock.import_cells(lot=LotFactory(), rows=row, by=line.technician())
    with refused("place_full"):
        stock.import_cells(lot=LotFactory(), rows=[CellRow(line=1, code="N2")], by=line.technician())


def test_a_pack_is_not_opened_where_there_is_no_room_but_comes_apart_once_it_is() -> None:
    job = line.job_at(Stage.DISMANTLE)
    limit(Area.HALF_BUILT, 8 * CELL - 1)

    def out() -> Any:
        return rebuild.record_removed(
            job=job, condition=Condition.INTACT, rest_voltage_mv=Decimal(3300), by=line.technician()
        )

    with refused("place_full"):
        out()
    assert not models.Cell.objects.filter(place=Place.BENCH.value).exists()
    limit(Area.HALF_BUILT, 8 * CELL)
    out()
    limit(Area.HALF_BUILT, CELL)
    out()


def test_the_first_cell_is_placed_only_where_the_whole_pack_has_room() -> None:
    job = line.job_at(Stage.PLACE)
    limit(Area.HALF_BUILT, 16 * CELL - 1)
    code = job.plans.get().positions.first().cell.code
    with refused("place_full"):
        rebuild.place_cell(job=job, code=code, by=line.technician())
    limit(Area.HALF_BUILT, 16 * CELL)
    line.place(job)


def test_charging_and_parking_have_room_or_the_pack_stays_where_it_is() -> None:
    job = line.job_at(Stage.HOUSING)
    limit(Area.CHARGING, 8 * CELL - 1)
    with refused("place_full"):
        line.close_housing(job)
    limit(Area.CHARGING, 8 * CELL)
    line.close_housing(job)
    limit(Area.HALF_BUILT, 8 * CELL)
    with refused("place_full"):
        line.park(job)
    limit(Area.HALF_BUILT, None)
    line.park(job)
    limit(Area.CHARGING, CELL)
    with refused("place_full"):
        parking.resume(job=job, by=line.technician(), **line.taken_up(job))


def test_what_a_tester_charges_counts_as_charging_and_keeps_its_room_in_stock() -> None:
    SettingsFactory()
    cells = [CellFactory(code=code) for code in ("Q1", "Q2", "Q3")]
    first, second, _ = channels.queue_cells(cells=cells, by=line.technician())
    one, other = (models.Channel.objects.create(instrument=calls.meter(), name=name) for name in "AB")
    limit(Area.CHARGING, CELL)

    def begin(run: models.ChannelRun, channel: models.Channel) -> None:
        channels.begin_run(run=run, channel=channel, hours=Decimal(9), by=line.technician())

    begin(first, one)
    assert cells_in() == {"stock": 2, "charging": 1}
    with refused("place_full") as caught:
        begin(second, other)
    assert caught.value.facts["area"] == "charging"
    limit(Area.STOCK, 3 * CELL)
    line_of = [CellRow(line=1, code="N1")]
    lot = LotFactory()
    with refused("place_full"):
        stock.import_cells(lot=lot, rows=line_of, by=line.technician())
    channels.end_run(run=first, state=models.RunState.PASSED, by=line.technician())
    assert cells_in() == {"stock": 3}
    begin(second, other)


def test_whole_cells_stay_out_of_a_full_waste_place_and_damaged_ones_do_not() -> None:
    job = line.job_at(Stage.REMOVED)
    limit(Area.WASTE, 1)
    whole, damaged = line.containers()
    cell = models.Cell.objects.on_bench_of(job).filter(condition=Condition.INTACT.value)[0]
    given = {"job": job, "by": line.technician(), "insulated": True, "packed_alone": True}
    with refused("place_full"):
        disposal.to_container(cells=[cell], container=whole, **given)
    broken = models.Cell.objects.on_bench_of(job).exclude(condition=Condition.INTACT.value)
    disposal.to_container(cells=list(broken), container=damaged, **given)


@pytest.mark.parametrize("condition", [Condition.INTACT, Condition.DAMAGED])
def test_a_whole_pack_that_is_set_apart_needs_room_and_a_damaged_one_does_not(condition: Condition) -> None:
    job = line.job_at(Stage.REMOVED)
    limit(Area.WASTE, CELL)
    given = {"job": job, "kind": models.ItemKind.PACK, "description": "a second pack", "by": line.technician()}
    given |= {"condition": condition, "rated_energy_mwh": CELL + 1}
    if condition is Condition.DAMAGED:
        disposal.add_item(**given)
        return
    with refused("place_full"):
        disposal.add_item(**given)


def test_reclaimed_cells_need_room_in_stock() -> None:
    job = line.job_at(Stage.REMOVED, removed_owner=Owner.SHOP)
    limit(Area.STOCK, 1)
    cells = list(models.Cell.objects.on_bench_of(job).filter(condition=Condition.INTACT.value))
    with refused("place_full"):
        disposal.to_stock(job=job, cells=cells, by=line.technician())


@pytest.mark.parametrize(
    ("given", "code", "field"),
    [
        ({"said_by": " "}, "source_missing", "said_by"),
        ({"energy_mwh": 0}, "impossible_value", "energy_mwh"),
        ({"mass_mg": -1}, "impossible_value", "mass_mg"),
        ({"volume_mm3": 10**16}, "impossible_value", "volume_mm3"),
    ],
)
def test_what_is_refused(given: dict[str, Any], code: str, field: str) -> None:
    by = owner()
    with refused(code, field=field):
        areas.set_area_limit(**{"area": Area.STOCK, "said_by": "fire code", "by": by} | given)
    lead = line.lead()
    with refused("not_allowed"):
        areas.set_area_limit(area=Area.STOCK, said_by="fire code", by=lead)


def test_counting_asks_no_more_where_more_stands() -> None:
    SettingsFactory()
    line.take_in()
    CellFactory()

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            bridge.standing()
        return len(queries)

    few = asked()
    for n in range(5):
        line.take_in()
        CellFactory(lot=LotFactory(code=f"M{n}", cell_model=CellModelFactory(name=f"M{n}")))
    assert asked() == few


def test_the_owner_enters_limits_on_a_page_where_everybody_sees_how_full_it_is(client: Client) -> None:
    SettingsFactory()
    for _ in range(9):
        CellFactory()
    sign_in(client, Role.OWNER)
    send(client, "/settings/places/stock/", energy_mwh="0.1 kWh", volume_mm3="2 ft³", said_by="the insurer's letter")
    row = models.AreaLimit.objects.get()
    # A cubic foot is 28.316 846 592 L: the international foot of 1959, 0.3048 m.
    assert (row.energy_mwh, row.mass_mg, row.volume_mm3) == (100_000, None, 56_633_693)
    sign_in(client, Role.COUNTER)
    told = words(client.get("/settings/places/"))
    assert "nearly full" in told
    assert "84.2" in told
    assert "the insurer's letter" in told
    assert "Customers' packs: room left" not in words(client.get(reverse("take_in")))
    assert client.get("/settings/places/stock/").status_code == 403
    assert client.get("/settings/places/attic/").status_code in (403, 404)


def test_the_counter_is_warned_where_customers_packs_are_nearly_full(client: Client) -> None:
    line.job_at(Stage.TARGET)
    limit(Area.CUSTOMER_PACKS, 9 * CELL)
    sign_in(client, Role.COUNTER)
    assert "Customers' packs: nearly full" in words(client.get(reverse("take_in")))
