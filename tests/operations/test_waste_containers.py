"""Waste containers as packages: what goes in, how heavy, closed and secured, and by when they leave."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Condition, Contents, DangerSign, Stage
from shop import models
from shop.bridge import waste
from shop.operations import containers, disposal
from shop.operations.opening import CellCount
from shop.selectors import audit
from shop.selectors import waste as selectors
from tests import line
from tests.factories import MORNING, CellModelFactory, SettingsFactory
from tests.operations.calls import removed
from tests.refusal import refused

pytestmark = pytest.mark.django_db

KG = 1_000_000
COUNTED = models.CountBasis.KNOWN


def stands_in(place: str, time_zone: str = "UTC", other_mg: int = 0) -> None:
    SettingsFactory(jurisdiction=place, time_zone=time_zone, other_universal_waste_mg=other_mg)


def into(container: models.Container, job: models.Job, condition: Condition, **given: Any) -> None:
    cells = given.pop("cells", removed(job, condition))
    disposal.to_container(
        job=job, container=container, cells=cells, insulated=True, packed_alone=True, by=line.technician(), **given
    )


@pytest.fixture
def job() -> models.Job:
    job = line.job_at(Stage.REMOVED)
    line.containers()
    return job


def whole() -> models.Container:
    return models.Container.objects.get(code="W-INTACT")


def damaged() -> models.Container:
    return models.Container.objects.get(code="W-DAMAGED")


def item(job: models.Job, kind: models.ItemKind, condition: Condition = Condition.INTACT, **given: Any) -> models.Item:
    return disposal.add_item(
        **{"job": job, "kind": kind, "description": kind.label, "condition": condition, "by": line.technician()} | given
    )


def site_of(at: datetime = MORNING) -> selectors.Site:
    return selectors.site(selectors.standings(selectors.here(), at), selectors.waiting(at), at)


class TestInnerPackagings:
    def test_each_damaged_cell_has_its_own(self, job: models.Job) -> None:
        """ADR packing instruction P908: each damaged item alone in an inner packaging."""
        models.Cell.objects.filter(pk__in=[cell.pk for cell in removed(job, Condition.INTACT)[:2]]).update(
            condition=Condition.DAMAGED.value
        )
        into(damaged(), job, Condition.DAMAGED)
        rows = list(models.InnerPackaging.objects.order_by("number"))
        assert [row.number for row in rows] == [1, 2, 3]
        assert len({row.cell_id for row in rows}) == 3
        assert {row.casing_closed for row in rows} == {False}
        assert list(audit.differences()) == []

    def test_it_is_confirmed_first(self, job: models.Job) -> None:
        cells = removed(job, Condition.DAMAGED)
        with refused("not_packed_alone", field="packed_alone"):
            disposal.to_container(job=job, container=damaged(), cells=cells, insulated=True, by=line.technician())
        assert not models.InnerPackaging.objects.exists()
        disposal.to_container(
            job=job, container=whole(), cells=removed(job, Condition.INTACT), insulated=True, by=line.technician()
        )

    def test_nobody_is_told_to_handle_what_is_liable_to_react(self, job: models.Job) -> None:
        """ADR special provision 376: it goes into no container, so its terminals are not insulated for one."""
        cells = removed(job, Condition.DAMAGED)
        models.Cell.objects.filter(pk=cells[0].pk).update(condition=Condition.REACTIVE.value)
        with refused("reactive"):
            disposal.to_container(job=job, container=damaged(), cells=cells, insulated=False, by=line.technician())

    def test_one_above_thirty_kilograms_has_an_outer_packaging_to_itself(self, job: models.Job) -> None:
        """ADR packing instruction P908."""
        heavy = item(job, models.ItemKind.PACK, Condition.DAMAGED, mass_mg=30 * KG + 1)
        into(damaged(), job, Condition.DAMAGED)
        models.Container.objects.update(approved_packaging=True)
        with refused("container_full", field="container"):
            into(damaged(), job, Condition.DAMAGED, cells=[], items=[heavy])
        models.Item.objects.filter(pk=heavy.pk).update(mass_mg=30 * KG)
        into(damaged(), job, Condition.DAMAGED, cells=[], items=[heavy])

    def test_whole_ones_have_none(self, job: models.Job) -> None:
        into(whole(), job, Condition.INTACT)
        assert not models.InnerPackaging.objects.exists()

    def test_no_packaging_holds_two(self, job: models.Job) -> None:
        into(damaged(), job, Condition.DAMAGED)
        row = models.InnerPackaging.objects.get()
        board = item(job, models.ItemKind.BOARD)
        with pytest.raises(IntegrityError, match="inner_packaging_of_one_thing"), transaction.atomic():
            models.InnerPackaging.objects.filter(pk=row.pk).update(item=board)

    def test_in_the_united_states_one_is_a_package(self, job: models.Job) -> None:
        """49 CFR 173.185(f): one to an outer packaging."""
        stands_in("us")
        models.Cell.objects.filter(code="J0001-R01").update(condition=Condition.DAMAGED.value)
        with refused("container_full", field="container"):
            into(damaged(), job, Condition.DAMAGED)
        into(damaged(), job, Condition.DAMAGED, cells=removed(job, Condition.DAMAGED)[:1])
        assert selectors.standing(damaged(), MORNING).full
        with refused("container_full", field="container"):
            into(damaged(), job, Condition.DAMAGED, cells=removed(job, Condition.DAMAGED)[1:])


class TestOtherWaste:
    @pytest.fixture
    def boards(self) -> models.Container:
        return self.opened("B1", Contents.BOARDS)

    def opened(self, code: str, contents: Contents) -> models.Container:
        return containers.open_container(
            code=code,
            contents=contents,
            condition=Condition.DAMAGED,
            started_on=MORNING.date(),
            by=line.technician(),
            now=MORNING,
        )

    def test_a_board_goes_to_boards_and_absorbent_to_absorbent(self, job: models.Job, boards: models.Container) -> None:
        gloves = self.opened("G1", Contents.CONTAMINATED)
        for container, kind, other in (
            (boards, models.ItemKind.BOARD, gloves),
            (gloves, models.ItemKind.CONTAMINATED, boards),
        ):
            thing = item(job, kind)
            for wrong in (other, whole(), damaged()):
                with refused("wrong_container", field="container"):
                    disposal.to_container(
                        job=job, container=wrong, items=[thing], insulated=True, packed_alone=True, by=line.technician()
                    )
            disposal.to_container(job=job, container=container, items=[thing], insulated=False, by=line.technician())
        assert list(audit.differences()) == []
        assert not models.InnerPackaging.objects.exists()

    def test_no_cell_goes_to_the_boards(self, job: models.Job, boards: models.Container) -> None:
        with refused("wrong_container", field="container"):
            into(boards, job, Condition.INTACT)

    def test_an_unopened_pack_may_hold_nobody_knows_how_many(self, job: models.Job) -> None:
        for count in (
            CellCount(),
            CellCount(cells=10, basis=models.CountBasis.ESTIMATED),
            CellCount(cells=10, basis=COUNTED),
        ):
            pack = item(job, models.ItemKind.PACK, Condition.DAMAGED, count=count)
            disposal.to_container(
                job=job,
                container=damaged(),
                items=[pack],
                insulated=True,
                packed_alone=True,
                casings_closed=True,
                by=line.technician(),
            )
        assert models.InnerPackaging.objects.filter(casing_closed=True).count() == 3

    def test_it_waits_with_the_rest(self, job: models.Job) -> None:
        item(job, models.ItemKind.BOARD)
        assert disposal.waiting(job) == 9

    def test_what_may_react_goes_into_no_container(self, job: models.Job) -> None:
        pack = item(job, models.ItemKind.PACK, Condition.REACTIVE)
        with refused("reactive"):
            disposal.to_container(
                job=job, container=damaged(), items=[pack], insulated=True, packed_alone=True, by=line.technician()
            )

    @pytest.mark.parametrize(
        ("given", "code", "field"),
        [
            ({"kind": models.ItemKind.DEVICE}, "device_is_known", "kind"),
            ({"kind": models.ItemKind.BOARD, "count": CellCount(cells=3, basis=COUNTED)}, "no_cells_inside", "kind"),
            ({"kind": models.ItemKind.BOARD, "rated_energy_mwh": 9}, "no_cells_inside", "kind"),
            ({"count": CellCount(basis=COUNTED)}, "count_basis_missing", "cells"),
            ({"description": " "}, "invalid", "description"),
            ({"rated_energy_mwh": 71_999}, "below_rating", "rated_energy_mwh"),
        ],
    )
    def test_what_is_refused(self, job: models.Job, given: dict[str, Any], code: str, field: str) -> None:
        """18 V × 4 Ah = 72 Wh: the rating that is printed counts, never less (PHMSA 22-0113)."""
        models.Device.objects.update(rated_voltage_mv=18000, rated_capacity_mah=Decimal(4000))
        job = models.Job.objects.get(pk=job.pk)
        with refused(code, field=field):
            item(**{"job": job, "kind": models.ItemKind.PACK} | given)
        assert item(job, models.ItemKind.PACK, rated_energy_mwh=72_000).pk


class TestClosing:
    def close(self, container: models.Container, **given: Any) -> models.Container:
        confirmed = {"gross_mass_mg": 2 * KG, "secured": True, "lid_vents": True, "now": MORNING}
        return containers.close_container(**{"container": container, "by": line.technician()} | confirmed | given)

    @pytest.fixture
    def full(self, job: models.Job) -> models.Container:
        into(whole(), job, Condition.INTACT)
        return whole()

    def test_it_is_weighed_secured_and_somebody_said_so(self, full: models.Container) -> None:
        closed = self.close(full)
        assert (closed.gross_mass_mg, closed.closed_at) == (2 * KG, MORNING)
        assert closed.closed_by == line.technician()

    @pytest.mark.parametrize(
        ("given", "code", "field"),
        [
            ({"secured": False}, "not_secured", "secured"),
            ({"lid_vents": False}, "lid_tight", "lid_vents"),
            ({"gross_mass_mg": 7 * 46_000}, "too_light", "gross_mass_mg"),
            ({"gross_mass_mg": 30 * KG + 1}, "too_heavy", "gross_mass_mg"),
        ],
    )
    def test_what_is_refused(self, full: models.Container, given: dict[str, Any], code: str, field: str) -> None:
        with refused(code, field=field):
            self.close(full, **given)

    def test_exactly_thirty_kilograms_are_allowed(self, full: models.Container) -> None:
        """ADR packing instruction P909(2): 30 kg gross."""
        assert self.close(full, gross_mass_mg=30 * KG).closed_at

    def test_approved_packaging_may_be_heavier(self, full: models.Container) -> None:
        assert self.close(full, gross_mass_mg=31 * KG, approved_packaging=True).approved_packaging

    def test_damaged_ones_travel_in_nothing_else(self, job: models.Job) -> None:
        """ADR packing instruction P908."""
        into(damaged(), job, Condition.DAMAGED)
        with refused("packaging_not_approved", field="approved_packaging"):
            self.close(damaged())
        assert self.close(damaged(), approved_packaging=True).closed_at

    @pytest.mark.parametrize(("place", "refusal"), [("eu", True), ("uk", True), ("other", True), ("us", False)])
    def test_large_cells_need_approved_packaging_under_adr(
        self, full: models.Container, place: str, refusal: bool
    ) -> None:
        """6.5 Ah × 3.2 V = 20.8 Wh, above 20 Wh: ADR P909(1) or P903; 49 CFR 173.185(d) excepts, from memory."""
        stands_in(place)
        models.CellModel.objects.filter(pk=CellModelFactory().pk).update(
            rated_capacity_mah=Decimal(6500), nominal_voltage_mv=3200
        )
        if refusal:
            with refused("packaging_not_approved", field="approved_packaging"):
                self.close(full)
        else:
            assert self.close(full).closed_at

    def test_an_empty_one_stays_open(self, job: models.Job) -> None:
        with refused("container_empty"):
            self.close(whole())

    def test_nothing_goes_into_a_closed_one_until_it_is_opened_again(self, job: models.Job) -> None:
        cells = removed(job, Condition.INTACT)
        into(whole(), job, Condition.INTACT, cells=cells[:3])
        closed = self.close(whole())
        with refused("container_closed"):
            self.close(closed)
        with refused("container_closed", field="container"):
            into(whole(), job, Condition.INTACT, cells=cells[3:])
        opened = containers.reopen_container(container=closed, by=line.technician())
        assert (opened.gross_mass_mg, opened.closed_at, opened.closed_by) == (None, None, None)
        with refused("container_open"):
            containers.reopen_container(container=opened, by=line.technician())
        into(whole(), job, Condition.INTACT, cells=cells[3:])
        assert whole().cells.count() == 7


class TestStanding:
    def test_it_counts_what_is_known_of_the_mass(self, job: models.Job) -> None:
        into(whole(), job, Condition.INTACT)
        standing = selectors.standing(whole(), MORNING)
        assert (standing.things, standing.mass_mg, standing.unweighed) == (7, 7 * 46_000, 0)

    def test_more_than_thirty_kilograms_do_not_go_in(self, job: models.Job) -> None:
        """ADR P909(2): 30 kg gross; 7 cells of 4.3 kg are 30.1 kg, of 4.2 kg 29.4 kg."""
        models.CellModel.objects.update(mass_mg=4_300_000)
        with refused("container_full", field="container"):
            into(whole(), job, Condition.INTACT)
        models.CellModel.objects.update(mass_mg=4_200_000)
        into(whole(), job, Condition.INTACT)
        assert selectors.standing(whole(), MORNING).package.margin is waste.Margin.NEAR

    def test_it_leaves_a_year_after_its_earliest_item(self, job: models.Job) -> None:
        """40 CFR 273.15. The cells came to the bench on the day before the container began."""
        stands_in("us")
        models.Container.objects.filter(code="W-INTACT").update(started_on=date(2026, 12, 1))
        into(whole(), job, Condition.INTACT)
        came = models.Movement.objects.filter(cell__container=whole(), to_place="bench").first()
        assert came is not None
        day = came.at.date()
        at = datetime(2026, 12, 1, 12, tzinfo=UTC)
        standing = selectors.standing(whole(), at)
        assert standing.began == min(day, date(2026, 12, 1))
        assert standing.leave_by == standing.began.replace(year=standing.began.year + 1)

    @pytest.mark.parametrize(
        ("days_before", "margin"),
        [(61, waste.Margin.CLEAR), (60, waste.Margin.NEAR), (1, waste.Margin.NEAR), (0, waste.Margin.REACHED)],
    )
    def test_it_warns_before_its_last_day(self, job: models.Job, days_before: int, margin: waste.Margin) -> None:
        """Sixty days: common practice, no source. The leap day counts as the day before it."""
        stands_in("us")
        models.Container.objects.filter(code="W-INTACT").update(started_on=date(2024, 2, 29))
        last = date(2025, 2, 28)
        at = datetime(2025, 2, 28, 12, tzinfo=UTC) - timedelta(days=days_before)
        standing = selectors.standing(whole(), at)
        assert (standing.leave_by, standing.time) == (last, margin)

    def test_the_day_is_that_of_the_shop(self, job: models.Job) -> None:
        """At 23:30 UTC it is the next day in Vienna (UTC+1 in winter)."""
        models.Container.objects.filter(code="W-INTACT").update(started_on=date(2026, 3, 1))
        at = datetime(2027, 2, 28, 23, 30, tzinfo=UTC)
        for zone, margin in (("UTC", waste.Margin.NEAR), ("Europe/Vienna", waste.Margin.REACHED)):
            stands_in("us", zone)
            assert selectors.standing(whole(), at).time is margin

    @pytest.mark.parametrize(
        ("other_kg", "margin"),
        [(0, waste.Margin.CLEAR), (4600, waste.Margin.NEAR), (4998, waste.Margin.REACHED)],
    )
    def test_the_site_counts_what_else_there_is(self, job: models.Job, other_kg: int, margin: waste.Margin) -> None:
        """40 CFR 273.9: less than 5,000 kg of all universal waste; 2 kg stand in a container, a cell of 46 g on the bench."""
        stands_in("us", other_mg=other_kg * KG)
        into(whole(), job, Condition.INTACT)
        line.closed(whole())
        site = site_of()
        assert site.mass_mg == (other_kg + 2) * KG + 46_000
        assert site.held.margin is margin
        stands_in("eu", other_mg=other_kg * KG)
        assert not site_of().bounded

    def test_a_red_pack_counts_from_the_day_it_came(self) -> None:
        line.containers()
        SettingsFactory(jurisdiction="us")
        red = line.take_in(signs=[DangerSign.SWELLING])
        disposal.to_container(
            job=red,
            container=damaged(),
            items=list(red.items.all()),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
        assert selectors.standing(damaged(), MORNING + timedelta(days=9)).began == MORNING.date()


class TestOutside:
    """What waits outside containers is waste of the site too."""

    def test_a_red_pack_counts_from_the_day_it_came(self) -> None:
        """40 CFR 273.15: one year from the day it is received; 40 CFR 273.9: all of it counts."""
        SettingsFactory(jurisdiction="us")
        red = line.take_in(signs=[DangerSign.SWELLING])
        assert site_of().mass_mg == 0
        assert site_of().unweighed == 1
        red.items.update(mass_mg=3 * KG)
        (row,) = selectors.waiting(MORNING)
        assert (row.job, row.things, row.mass_mg, row.unweighed) == (red, 1, 3 * KG, 0)
        assert (row.began, row.leave_by) == (date(2026, 11, 24), date(2027, 11, 24))
        assert site_of().mass_mg == 3 * KG

    def test_cells_on_the_bench_count_until_they_go(self, job: models.Job) -> None:
        """Eight cells of 46 g."""
        (row,) = selectors.waiting(MORNING)
        assert (row.things, row.mass_mg) == (8, 8 * 46_000)
        into(whole(), job, Condition.INTACT)
        (row,) = selectors.waiting(MORNING)
        assert (row.things, row.mass_mg) == (1, 46_000)
        into(damaged(), job, Condition.DAMAGED)
        assert selectors.waiting(MORNING) == []
        assert site_of().mass_mg == 8 * 46_000

    def test_boards_are_no_universal_waste(self, job: models.Job) -> None:
        item(job, models.ItemKind.BOARD, mass_mg=KG)
        (row,) = selectors.waiting(MORNING)
        assert (row.things, row.mass_mg) == (8, 8 * 46_000)

    def test_it_presses_before_its_last_day(self) -> None:
        """Sixty days: common practice, no source."""
        SettingsFactory(jurisdiction="us")
        line.take_in(signs=[DangerSign.SWELLING])
        last = datetime(2027, 11, 24, 12, tzinfo=UTC)
        assert not selectors.pressing(last - timedelta(days=61))
        assert selectors.pressing(last - timedelta(days=60)).waiting

    def test_the_site_presses(self) -> None:
        stands_in("us", other_mg=4500 * KG)
        assert selectors.pressing(MORNING)
        stands_in("us", other_mg=4499 * KG)
        assert not selectors.pressing(MORNING)


def test_a_container_begins_on_the_day_of_the_shop() -> None:
    """At 23:30 UTC it is the next day in Vienna (UTC+1 in winter)."""
    at = datetime(2026, 11, 24, 23, 30, tzinfo=UTC)
    given = {"condition": Condition.INTACT, "started_on": date(2026, 11, 25), "by": line.technician(), "now": at}
    stands_in("eu", "UTC")
    with refused("future_date", field="started_on"):
        containers.open_container(code="W1", **given)
    stands_in("eu", "Europe/Vienna")
    assert containers.open_container(code="W1", **given).started_on == date(2026, 11, 25)


def test_how_long_what_is_no_universal_waste_may_stand_is_to_be_determined(job: models.Job) -> None:
    """EPA, RCRA Online 14634: a breached casing is no universal waste, so the year of 40 CFR 273.15 is not its own."""
    into(damaged(), job, Condition.DAMAGED)
    stands_in("us")
    standing = selectors.standing(damaged(), MORNING)
    assert (standing.to_determine, standing.leave_by, standing.warned) == (True, None, True)
    models.InnerPackaging.objects.update(casing_closed=True)
    standing = selectors.standing(damaged(), MORNING)
    assert (standing.to_determine, standing.leave_by is None) == (False, False)
    models.InnerPackaging.objects.update(casing_closed=False)
    stands_in("eu")
    assert not selectors.standing(damaged(), MORNING).to_determine
