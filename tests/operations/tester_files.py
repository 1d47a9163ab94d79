"""A made-up tester file of a 1 Ah cell for the operations: charged to 4.15 V, discharged to 3.25 V."""

from decimal import Decimal
from typing import Any

from packs.terms import Measure
from packs.traces import propose
from shop.models import Cell, FileLayout, TraceFile
from shop.operations import cell_testing
from tests.factories import CellFactory, CellModelFactory, UserFactory
from tests.packs.traces.made import sound

CONTENT: bytes = sound().bytes()


def cell() -> Any:
    model = CellModelFactory(
        name="Round 1.0", rated_capacity_mah=Decimal(1000), charge_limit_mv=4150, end_of_discharge_mv=3250
    )
    known = {Measure.CAPACITY: 1000}
    return Cell.objects.filter(code="T1").first() or CellFactory(
        code="T1", lot__code="L-T", lot__cell_model=model, readings=known
    )


def stated() -> dict[str, Any]:
    return propose(CONTENT).layout.facts()


def to_keep(content: bytes = CONTENT) -> dict[str, Any]:
    one = cell()
    understood = cell_testing.look_at(content=content, model=one.lot.cell_model)
    return {"cell": one, "name": "run 7.csv", "content": content, "understood": understood}


def kept(content: bytes = CONTENT) -> TraceFile:
    return cell_testing.keep_trace(**to_keep(content), by=UserFactory(username="tester"))


def layout() -> FileLayout:
    return cell_testing.add_layout(name="Tester 4", facts=stated(), by=UserFactory(username="tester"))
