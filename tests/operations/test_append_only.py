"""What was written once stays: the database itself refuses to change or delete it."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction

from packs.grading import DEFAULT
from packs.terms import Condition, DeviceClass, Stage
from shop import append_only
from shop.bridge.grading import facts_of
from shop.models import (
    AppendOnlyError,
    AreaLimit,
    CellPreparation,
    CheckCell,
    CheckReading,
    ConditionChange,
    EmergencyText,
    ExceptionWithdrawal,
    FacilityOrder,
    FileLayout,
    GradeCriteria,
    Incident,
    IncidentRelease,
    LogEntry,
    LotCheck,
    LotHistory,
    LotSignature,
    Movement,
    NewCell,
    PackDetails,
    PackTime,
    PeelSample,
    Photograph,
    PhotographWithdrawal,
    Prices,
    ProbeReading,
    Reading,
    ReadingWithdrawal,
    ShopLimit,
    TraceFile,
    Voiding,
    WorkshopSettings,
    WrittenException,
)
from shop.models.base import AppendOnly
from shop.operations import (
    conditions,
    details,
    exceptions,
    goods_in,
    grading,
    incidents,
    pack_notes,
    photographs,
    voiding,
    withdrawing,
)
from tests import line, rows
from tests.factories import CellFactory, CellModelFactory, LotFactory
from tests.operations import calls, tester_files

pytestmark = pytest.mark.django_db

MODELS = (
    LogEntry,
    Movement,
    Reading,
    WorkshopSettings,
    FileLayout,
    TraceFile,
    ConditionChange,
    ProbeReading,
    Prices,
    PackTime,
    ShopLimit,
    WrittenException,
    ExceptionWithdrawal,
    PeelSample,
    GradeCriteria,
    NewCell,
    LotCheck,
    CellPreparation,
    CheckCell,
    CheckReading,
    LotHistory,
    LotSignature,
    FacilityOrder,
    PackDetails,
    Photograph,
    PhotographWithdrawal,
    ReadingWithdrawal,
    Incident,
    IncidentRelease,
    EmergencyText,
    AreaLimit,
    Voiding,
)
STATEMENTS = ("UPDATE {table} SET id = id + 1000", "DELETE FROM {table}")


@pytest.fixture(scope="module")
def written(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """A shop with something in each of these tables, built once."""
    with django_db_blocker.unblock(), transaction.atomic():
        line.state_prices()
        pack_notes.note_time(job=line.job_at(Stage.HAND_OVER), minutes=95, by=line.technician())
        job = line.job_at(Stage.MEASURE)
        rows.probes(job, 1)
        details.describe(job=line.job_at(Stage.TARGET), details=details.Details(metal=True), by=line.technician())
        shown = rows.photographed(job, 1)
        photographs.withdraw_photograph(job=job, photograph=shown, reason="another pack", by=line.lead())
        line.set_limit("measure.rest_spread", 40)
        row = line.accept_in_writing(job, "final.capacity")
        exceptions.withdraw_exception(job=job, exception=row, reason="a new tester came", by=line.lead())
        grading.set_criteria(values=facts_of(DEFAULT), reason="a new tester came", by=line.lead())
        new = {"dc_resistance_uohm": 30_000, "method": "DC pulse 10 s", "temperature_mdegc": 23_000, "source": "sheet"}
        grading.state_new_cell(cell_model=CellModelFactory(), **new, by=line.technician())
        goods_in.check_lot(lot=LotFactory(), invoice="4711", by=line.technician())
        calls.run("histories.state_history", None)
        calls.run("preparing.prepare_cells", None)
        calls.run("channels.read_check_cell", None)
        line.sign(LotFactory())
        line.take_in(device_class=DeviceClass.MEDICAL)
        row = calls.incident()
        incidents.release_incident(incident=row, findings="a loose plug", by=line.lead())
        EmergencyText.objects.create(text="Meet at the gate.", at=row.at, by=row.by)
        AreaLimit.objects.create(area="stock", said_by="fire code", at=row.at, by=row.by)
        voiding.void(document=calls.issued(), reason="issued for the wrong job", by=line.lead())
        tester_files.kept()
        tester_files.layout()
        cell = CellFactory(code="R1")
        reading = Reading.objects.filter(cell=cell).first()
        withdrawing.withdraw_reading(reading=reading, reason="of another cell", by=line.technician())
        conditions.lower_condition(cell=cell, condition=Condition.DAMAGED, reason="dented", by=line.technician())
        yield
        transaction.set_rollback(True)


def test_every_append_only_table_has_its_triggers() -> None:
    declared = {model._meta.db_table for model in apps.get_models() if issubclass(model, AppendOnly)}
    assert declared == set(append_only.TABLES) == {model._meta.db_table for model in MODELS}


@pytest.mark.parametrize("statement", STATEMENTS)
@pytest.mark.parametrize("table", append_only.TABLES)
def test_the_database_refuses_what_goes_past_the_models(written: None, table: str, statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY id")
        before = cursor.fetchall()
        assert before
        with pytest.raises(DatabaseError, match=f"{table} is only ever added to"), transaction.atomic():
            cursor.execute(statement.format(table=table))
        cursor.execute(f"SELECT * FROM {table} ORDER BY id")
        assert cursor.fetchall() == before


@pytest.mark.parametrize("model", MODELS)
def test_the_models_refuse_too(written: None, model: type[AppendOnly]) -> None:
    row = model._default_manager.first()
    assert row is not None
    with pytest.raises(AppendOnlyError):
        row.save()
    with pytest.raises(AppendOnlyError):
        row.delete()


@pytest.mark.parametrize("model", MODELS)
def test_a_query_over_many_rows_is_refused_as_well(written: None, model: type[AppendOnly]) -> None:
    with pytest.raises(DatabaseError), transaction.atomic():
        model._default_manager.update(by=line.lead())
    with pytest.raises(DatabaseError), transaction.atomic():
        model._default_manager.all()._raw_delete("default")


def test_without_the_triggers_it_would_go_through(written: None) -> None:
    """The refusal comes from the triggers and from nothing else."""
    append_only.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE shop_reading SET value = value + 1")
        assert cursor.rowcount > 0
    append_only.install(connection)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE shop_reading SET value = value + 1")
