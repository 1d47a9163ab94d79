"""Containers out with a carrier, everything in them with them, and the confirmation that comes back."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from packs.terms import Condition, DangerSign, DocumentKind, Mode, Place, Stage
from shop import models
from shop.bridge import waste
from shop.operations import consignments, containers, disposal, documents
from shop.selectors import audit
from shop.selectors import waste as selectors
from tests import line
from tests.factories import MORNING, SettingsFactory
from tests.operations.calls import removed
from tests.refusal import refused

pytestmark = pytest.mark.django_db


def consign(*rows: models.Container, **given: Any) -> models.Consignment:
    names = {"carrier": "Vale Haulage", "receiver": "Vale Recycling", "taken_by": "Per Lund"}
    return consignments.consign(containers=rows, by=line.technician(), **({"now": MORNING} | names | given))


@pytest.fixture
def both() -> tuple[models.Container, models.Container]:
    """Two closed containers: seven whole cells, a damaged one."""
    job = line.job_at(Stage.REMOVED)
    made = line.containers()
    for row, condition in zip(made, (Condition.INTACT, Condition.DAMAGED), strict=True):
        disposal.to_container(
            job=job,
            container=row,
            cells=removed(job, condition),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )
    return line.closed(made[0]), line.closed(made[1])


def test_everything_in_them_leaves_with_them(both: tuple[models.Container, models.Container]) -> None:
    gone = consign(*both, statutory_number="WT 4711")
    cells = models.Cell.objects.filter(container__in=both)
    assert {cell.place for cell in cells} == {Place.CONSIGNED}
    assert cells.count() == 8
    assert {row.consigned_at for row in gone.containers.all()} == {MORNING}
    assert (gone.code, gone.handed_over_by, gone.mode) == ("C0001", "Technician", Mode.ROAD)
    assert list(audit.differences()) == []


def test_a_container_can_go_alone(both: tuple[models.Container, models.Container]) -> None:
    assert consign(both[1]).number == 1
    assert consign(both[0]).number == 2
    assert list(audit.differences()) == []


@pytest.mark.parametrize("given", [{"carrier": " "}, {"receiver": ""}, {"taken_by": " "}])
def test_with_names(both: tuple[models.Container, models.Container], given: dict[str, str]) -> None:
    with refused("invalid", field=next(iter(given))):
        consign(*both, **given)
    assert not models.Consignment.objects.exists()


def test_never_by_air(both: tuple[models.Container, models.Container]) -> None:
    """Industry guide to ADR, IMDG Code and IATA rules."""
    with refused("impossible_value"):
        consign(*both, mode=Mode.AIR)
    gone = consign(*both, mode=Mode.SEA)
    with pytest.raises(IntegrityError, match="consignment_never_by_air"), transaction.atomic():
        models.Consignment.objects.filter(pk=gone.pk).update(mode="air")


def test_once(both: tuple[models.Container, models.Container]) -> None:
    consign(both[0])
    for rows in (both[:1], both):
        with refused("container_gone"):
            consign(*rows)
    with refused("container_gone", field="container"):
        containers.reopen_container(container=both[0], by=line.technician())


def test_only_closed_ones(both: tuple[models.Container, models.Container]) -> None:
    containers.reopen_container(container=both[0], by=line.technician())
    with refused("container_open"):
        consign(*both)
    both[1].refresh_from_db()
    assert both[1].consigned_at is None


def test_nothing_goes_in_after_it_left(both: tuple[models.Container, models.Container]) -> None:
    consign(*both)
    red = line.take_in(signs=[DangerSign.SWELLING])
    with refused("container_gone", field="container"):
        disposal.to_container(
            job=red,
            container=both[1],
            items=list(red.items.all()),
            insulated=True,
            packed_alone=True,
            by=line.technician(),
        )


def test_an_empty_one_and_none_at_all_stay() -> None:
    empty = line.containers()[0]
    with refused("container_empty"):
        consign(empty)
    with refused("nothing_chosen"):
        consign()


@pytest.mark.parametrize(("place", "until"), [("uk", date(2029, 11, 24)), ("us", date(2029, 11, 24)), ("eu", None)])
def test_how_long_papers_are_kept(
    both: tuple[models.Container, models.Container], place: str, until: date | None
) -> None:
    """England: three years (gov.uk). United States: 40 CFR 273.39, from memory. European Union: national rules."""
    SettingsFactory(jurisdiction=place)
    assert consign(*both).keep_until == until


class TestConfirmation:
    LATER = MORNING + timedelta(days=3)

    def confirm(self, row: models.Consignment, **given: Any) -> models.Consignment:
        said = {"confirmed_on": date(2026, 11, 26), "confirmed_by": "Ola Berg", "now": self.LATER}
        return consignments.confirm_consignment(consignment=row, by=line.technician(), **(said | given))

    @pytest.fixture
    def gone(self, both: tuple[models.Container, models.Container]) -> models.Consignment:
        return consign(*both)

    def test_it_comes_back_once(self, gone: models.Consignment) -> None:
        row = self.confirm(gone)
        assert (row.confirmed_on, row.confirmed_by) == (date(2026, 11, 26), "Ola Berg")
        with refused("confirmed_already"):
            self.confirm(gone)

    @pytest.mark.parametrize(
        ("given", "code", "field"),
        [
            ({"confirmed_by": " "}, "name_missing", "confirmed_by"),
            ({"confirmed_on": date(2026, 11, 23)}, "wrong_date", "confirmed_on"),
            ({"confirmed_on": date(2026, 11, 28)}, "wrong_date", "confirmed_on"),
        ],
    )
    def test_what_is_refused(self, gone: models.Consignment, given: dict[str, Any], code: str, field: str) -> None:
        with refused(code, field=field):
            self.confirm(gone, **given)

    def test_the_day_it_left_and_today_will_do(self, gone: models.Consignment) -> None:
        assert self.confirm(gone, confirmed_on=MORNING.date(), now=MORNING).confirmed_on


# --- what the audit finds


def place_left_behind(gone: models.Consignment) -> str:
    cell = models.Cell.objects.filter(container__consignment=gone).first()
    assert cell is not None
    models.Cell.objects.filter(pk=cell.pk).update(place="container")
    return f"{cell} of container {cell.container} should be in consigned, it is in container"


def another_moment(gone: models.Consignment) -> str:
    models.Container.objects.filter(code="W-INTACT").update(consigned_at=datetime(2026, 12, 1, tzinfo=UTC))
    return f"container W-INTACT left at another moment than consignment {gone}"


def packaging_lost(gone: models.Consignment) -> str:
    row = models.InnerPackaging.objects.get()
    cell = row.cell
    row.delete()
    return f"{cell} in container W-DAMAGED has no inner packaging"


def packaging_elsewhere(gone: models.Consignment) -> str:
    row = models.InnerPackaging.objects.get()
    models.InnerPackaging.objects.update(container=models.Container.objects.get(code="W-INTACT"))
    return f"{row.cell} is in container W-DAMAGED, its inner packaging in W-INTACT"


def packaging_of_another(gone: models.Consignment) -> str:
    whole = models.Cell.objects.filter(container__code="W-INTACT").last()
    models.InnerPackaging.objects.create(
        container=models.Container.objects.get(code="W-DAMAGED"),
        number=9,
        cell=whole,
        casing_closed=True,
        packed_at=MORNING,
        packed_by=line.technician(),
    )
    return f"W-DAMAGED inner packaging 9 holds {whole}, which is not in that container"


def wrong_condition(gone: models.Consignment) -> str:
    cell = models.Cell.objects.filter(container__code="W-INTACT").first()
    assert cell is not None
    models.Cell.objects.filter(pk=cell.pk).update(condition="damaged")
    return f"{cell} is damaged or defective, container W-INTACT takes what is intact"


def nothing_taken(gone: models.Consignment) -> str:
    models.Consignment.objects.create(
        number=2, carrier="a", receiver="b", handed_over_by="c", taken_by="d", left_at=MORNING, by=line.technician()
    )
    return "consignment C0002 took no container"


def renumbered(gone: models.Consignment) -> str:
    models.Consignment.objects.update(number=3)
    return "consignments are numbered [3]"


@pytest.mark.parametrize(
    "corrupt",
    [
        place_left_behind,
        another_moment,
        packaging_lost,
        packaging_elsewhere,
        packaging_of_another,
        wrong_condition,
        nothing_taken,
        renumbered,
    ],
)
def test_the_audit_finds_it(both: tuple[models.Container, models.Container], corrupt: Any) -> None:
    gone = consign(*both)
    assert list(audit.differences()) == []
    expected = corrupt(gone)
    assert expected in list(audit.differences())

    def test_its_days_are_those_of_the_shop(self, both: tuple[models.Container, models.Container]) -> None:
        """At 23:30 UTC it is the next day in Vienna (UTC+1 in winter)."""
        SettingsFactory(time_zone="Europe/Vienna")
        gone = consign(*both, now=datetime(2026, 11, 24, 23, 30, tzinfo=UTC))
        with refused("wrong_date", field="confirmed_on"):
            self.confirm(gone, confirmed_on=date(2026, 11, 24))
        assert self.confirm(gone, confirmed_on=date(2026, 11, 25)).confirmed_by


@pytest.mark.parametrize(
    ("gross_kg", "margin"), [(298, waste.Margin.CLEAR), (331, waste.Margin.NEAR), (332, waste.Margin.REACHED)]
)
def test_the_mass_on_one_vehicle(
    both: tuple[models.Container, models.Container], gross_kg: int, margin: waste.Margin
) -> None:
    """ADR special provision 636: 333 kg of intact ones; damaged ones of 2 kg are not among them, another 1.5 kg is."""
    models.Container.objects.filter(pk=both[0].pk).update(gross_mass_mg=gross_kg * 1_000_000)
    models.Container.objects.create(
        code="W9",
        condition="intact",
        started_on=MORNING.date(),
        gross_mass_mg=1_500_000,
        closed_at=MORNING,
        closed_by=line.technician(),
    )
    load = selectors.load(models.Container.objects.all(), MORNING)
    assert load.mass_kg == gross_kg + Decimal("1.5")
    assert load.margin is margin


def test_jobs_whose_notes_do_not_tell_yet_who_took_it(both: tuple[models.Container, models.Container]) -> None:
    gone = consign(*both)
    (row,) = selectors.jobs_of(gone)
    assert row.behind
    documents.issue(job=row.job, kind=DocumentKind.DISPOSAL_NOTE, by=line.technician())
    assert [each.behind for each in selectors.jobs_of(gone)] == [False]
