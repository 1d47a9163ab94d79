"""The audit finds what was changed behind the shop's back, and says nothing of a clean book."""

import functools
from collections.abc import Callable
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from packs.terms import Condition, DocumentKind, Place, Stage
from shop import append_only, models
from shop.operations import conditions, documents, stock
from shop.selectors import audit
from tests import line
from tests.factories import LotFactory

pytestmark = pytest.mark.django_db

PDF = b"%PDF-1.7 what was printed"


@pytest.fixture
def job() -> models.Job:
    """A job whose pack is being built, seven whole cells and a damaged one on the bench, two papers issued."""
    job = line.job_at(Stage.MEASURE)
    for kind in (DocumentKind.JOB_CARD, DocumentKind.JOB_CARD):
        document = documents.issue(job=job, kind=kind, by=line.technician())
        documents.keep_bytes(document=document, pdf=PDF, by=line.technician())
    return job


def past_the_triggers(corrupt: Callable[[], str]) -> Callable[[], str]:
    """Let a corruption happen that the database would refuse."""

    @functools.wraps(corrupt)
    def run() -> str:
        append_only.remove(connection)
        found = corrupt()
        append_only.install(connection)
        return found

    return run


def sql(statement: str) -> None:
    """Write past operations, models and triggers."""
    append_only.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute(statement)
        assert cursor.rowcount == 1, "the corruption must hit one row, or the test proves nothing"
    append_only.install(connection)


def in_pack() -> models.Cell:
    return models.Cell.objects.get(code="S001")


def on_bench() -> models.Cell:
    return models.Cell.objects.get(code="J0001-R01")


def place_changed() -> str:
    models.Cell.objects.filter(pk=on_bench().pk).update(place=Place.STOCK.value)
    return "cell J0001-R01 is shown in stock, its last movement went to bench"


def item_place_changed() -> str:
    models.Item.objects.update(place=Place.CUSTOMER.value)
    return "item Garden pump GP-3 with its pack is shown in customer, its last movement went to bench"


def item_of_another_job() -> str:
    other = line.take_in()
    models.Item.objects.filter(job__number=1).update(job=other)
    return "item Garden pump GP-3 with its pack is shown with another job than the one with which it came in"


def lot_changed() -> str:
    """The cell goes on in another lot: whoever recalls the one it came with would not find it."""
    row = [stock.CellRow(line=1, code="N1")]
    stock.import_cells(lot=LotFactory(code="L7"), rows=row, by=line.technician())
    models.Cell.objects.filter(code="N1").update(lot=LotFactory(code="L8"))
    return "cell N1 is shown in lot L8, it came in with lot L7"


def container_changed() -> str:
    """The right place, but another container than the book names."""
    job = models.Job.objects.get()
    _, damaged = line.containers()
    other = models.Container.objects.create(code="W-OTHER", condition="damaged", started_on=damaged.started_on)
    line.sort_removed(job)
    cell = models.Cell.objects.get(place=Place.CONTAINER.value)
    models.Cell.objects.filter(pk=cell.pk).update(container=other)
    models.InnerPackaging.objects.update(container=other)
    return f"cell {cell} is shown in container, its last movement went to container"


def movement_missing() -> str:
    sql(f"DELETE FROM shop_movement WHERE cell_id = {on_bench().pk}")
    return "cell J0001-R01 has no movement at all\njob J0001: 7 cells came out where 8 were due"


def last_movement_missing() -> str:
    sql(f"DELETE FROM shop_movement WHERE cell_id = {in_pack().pk} AND to_place = 'pack'")
    return (
        "cell S001 is shown in pack, its last movement went to stock\n"
        "cell S001 of J0001 4s2p should be in pack, it is in stock"
    )


def chain_broken() -> str:
    movement = models.Movement.objects.get(cell=in_pack(), to_place=Place.PACK.value)
    sql(f"UPDATE shop_movement SET from_place = 'quarantine' WHERE id = {movement.pk}")
    return f"movement {movement.pk} starts in quarantine, the thing stood in stock"


def came_from_nowhere() -> str:
    movement = models.Movement.objects.get(cell=on_bench())
    sql(f"UPDATE shop_movement SET from_place = 'stock' WHERE id = {movement.pk}")
    return (
        f"movement {movement.pk} starts in stock, the thing stood in nowhere\n"
        "job J0001: 7 cells came out where 8 were due"
    )


def position_without_cell() -> str:
    """The position says placed; cell and book agree that the cell never left stock."""
    sql(f"DELETE FROM shop_movement WHERE cell_id = {in_pack().pk} AND to_place = 'pack'")
    models.Cell.objects.filter(code="S001").update(place=Place.STOCK.value, job=None)
    return "cell S001 of J0001 4s2p should be in pack, it is in stock"


def position_not_placed() -> str:
    models.PlanPosition.objects.filter(cell__code="S001").update(placed_at=None, placed_by=None)
    return "cell S001 of J0001 4s2p should be in stock, it is in pack"


def position_closed() -> str:
    """A cell in a pack that no plan holds could be given to another job."""
    models.PlanPosition.objects.filter(cell__code="S001").update(open=False)
    return "cell S001 is in a pack, but holds no position there"


def cell_of_another_job() -> str:
    models.Cell.objects.filter(code="S001").update(job=line.take_in())
    return "cell S001 is shown with another job than its last movement names"


def placed_by_another_job() -> str:
    """Cell and book agree on a job; the position is another one's."""
    other = line.take_in()
    models.Cell.objects.filter(code="S001").update(job=other)
    sql(f"UPDATE shop_movement SET job_id = {other.pk} WHERE cell_id = {in_pack().pk} AND to_place = 'pack'")
    return "cell S001 is placed in J0001 4s2p but belongs to another job"


def removed_cell_added() -> str:
    lot = models.Lot.objects.get(donor_job__number=1)
    cell = models.Cell.objects.create(code="J0001-R09", lot=lot, place=Place.BENCH.value, job=lot.donor_job)
    models.Movement.objects.create(
        cell=cell, to_place="bench", job=lot.donor_job, at=lot.donor_job.opened_at, by=line.technician()
    )
    return "job J0001: 9 cells came out where 8 were due"


def removed_cell_smuggled_in() -> str:
    """It is called removed from the pack, and came straight into stock."""
    lot = models.Lot.objects.get(donor_job__number=1)
    cell = models.Cell.objects.create(code="J0001-R09", lot=lot, place=Place.STOCK.value)
    models.Movement.objects.create(cell=cell, to_place="stock", at=lot.donor_job.opened_at, by=line.technician())
    return "cell J0001-R09 is said to come out of the pack of job J0001, no movement shows it"


def count_changed() -> str:
    models.PackAsFound.objects.update(series=5)
    return "job J0001: 8 cells came out where 10 were due"


def condition_changed() -> str:
    dented()
    models.Cell.objects.filter(code="J0001-R01").update(condition="intact")
    return "cell J0001-R01 is shown as intact, its last change made it damaged"


def condition_history_cut() -> str:
    cell = dented()
    change = models.ConditionChange.objects.get(cell=cell)
    conditions.lower_condition(cell=cell, condition=Condition.REACTIVE, reason="swelling", by=line.technician())
    after = models.ConditionChange.objects.latest("pk")
    sql(f"UPDATE shop_conditionchange SET after = 'reactive' WHERE id = {change.pk}")
    return f"change of condition {after.pk} of cell J0001-R01 starts at damaged, the one before ended at reactive"


def dented() -> models.Cell:
    conditions.lower_condition(cell=on_bench(), condition=Condition.DAMAGED, reason="dented", by=line.technician())
    return on_bench()


@past_the_triggers
def number_missing() -> str:
    models.IssuedDocument.objects.filter(number=1).delete()
    return "job_card: numbers [2] where 1 to 2 were given out"


def series_reset() -> str:
    models.NumberSeries.objects.update(next_number=2)
    return "job_card: numbers [1, 2] where 1 to 1 were given out"


def series_missing() -> str:
    models.NumberSeries.objects.all().delete()
    return "job_card: numbers [1, 2] where none were given out"


@past_the_triggers
def bytes_changed() -> str:
    models.IssuedDocument.objects.filter(number=2).update(pdf=PDF.replace(b"was", b"is "))
    return "document JC0002 is not the one that was stored"


@past_the_triggers
def content_changed() -> str:
    models.IssuedDocument.objects.filter(number=1).update(content={"number": 1, "job": "J0009"})
    return "document JC0001 says something else than when it was issued"


CORRUPTIONS = [
    place_changed,
    item_place_changed,
    item_of_another_job,
    lot_changed,
    container_changed,
    movement_missing,
    last_movement_missing,
    chain_broken,
    came_from_nowhere,
    position_without_cell,
    position_not_placed,
    position_closed,
    cell_of_another_job,
    placed_by_another_job,
    removed_cell_added,
    removed_cell_smuggled_in,
    condition_changed,
    condition_history_cut,
    count_changed,
    number_missing,
    series_reset,
    series_missing,
    bytes_changed,
    content_changed,
]


@pytest.mark.parametrize("corrupt", CORRUPTIONS)
def test_what_was_changed_behind_the_book_is_found(job: models.Job, corrupt: Callable[[], str]) -> None:
    assert list(audit.differences()) == []
    expected = corrupt()
    assert balances() == expected.splitlines()


def balances() -> list[str]:
    """What the audit finds beside the chains of entries, which `test_audit_chains` attacks."""
    chains = ("movements: ", "job log: ")
    return [sentence for sentence in audit.differences() if not sentence.startswith(chains)]


@pytest.mark.parametrize("stage", list(Stage)[1:])
def test_a_clean_line_is_clean_at_every_stage(stage: Stage) -> None:
    line.job_at(stage)
    assert list(audit.differences()) == []


def test_the_command_says_so_and_ends_accordingly(job: models.Job) -> None:
    told = StringIO()
    call_command("audit", stdout=told)
    assert told.getvalue().strip()
    place_changed()
    with pytest.raises((CommandError, SystemExit)) as ended:
        call_command("audit", stdout=told, stderr=told)
    assert "J0001-R01" in told.getvalue() + str(ended.value)
