"""What was written to the wrong cell: readings that are withdrawn, and tester files that are put to the right one."""

from datetime import datetime

from shop.bridge.traces import Understood
from shop.errors import ShopError
from shop.models import Cell, Reading, ReadingWithdrawal, TraceFile, User

from . import conditions, incidents, log
from .base import BENCH, moment, save, verb


@verb(*BENCH)
def withdraw_reading(*, reading: Reading, reason: str, by: User, now: datetime | None = None) -> ReadingWithdrawal:
    """A reading that is none of its cell's stays in the book, struck through, and the one before it counts again."""
    at = moment(now)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the reading is none of this cell's.", field="reason")
    if reading.cell is None or reading.step is not None:
        raise ShopError(
            "belongs_to_a_step",
            "This reading was taken in a step of a job, and its rules were asked about it: write the right value below it.",
        )
    incidents.require_cells_released([reading.cell])
    if Reading.objects.filter(corrects=reading).exists():
        raise ShopError("corrected_already", "This reading was corrected already; withdraw the newer one.")
    if ReadingWithdrawal.objects.filter(reading=reading).exists():
        raise ShopError("withdrawn_already", "This reading was withdrawn already.")
    return _withdrawn(reading, reason.strip(), by=by, at=at)


@verb(*BENCH)
def put_to_cell(
    *, trace: TraceFile, cell: Cell, understood: Understood, reason: str, by: User, now: datetime | None = None
) -> TraceFile:
    """A tester file that was kept for the wrong cell is put to the right one; what came of it there is withdrawn.

    ``understood`` is what the file says of a cell of the right one's model. Nothing of it goes into the readings yet.
    """
    at, trace = moment(now), TraceFile.objects.select_for_update().get(pk=trace.pk)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the file is of another cell.", field="reason")
    if moved := TraceFile.objects.select_related("cell").filter(moved_from=trace).first():
        raise ShopError("moved_already", f"{trace.name} was put to cell {moved.cell.code} already.")
    if cell.pk == trace.cell_id:
        raise ShopError("same_cell", f"{trace.name} is kept for cell {cell.code} already.", field="cell")
    if understood.trace.sha256 != trace.sha256:
        raise ShopError("read_differently", f"What was read is not {trace.name}. Nothing was changed.")
    for reading in Reading.objects.standing().filter(trace=trace):
        _withdrawn(reading, reason.strip(), by=by, at=at)
    right = save(
        TraceFile(
            cell=cell,
            name=trace.name,
            sha256=trace.sha256,
            size=trace.size,
            rows=len(understood.trace),
            layout_name=trace.layout_name,
            layout=understood.trace.layout.facts(),
            remarks=understood.remarks(),
            at=at,
            by=by,
            moved_from=trace,
            reason=reason.strip(),
        )
    )
    log.record(
        "tester file put to another cell",
        by=by,
        at=at,
        cell=cell.code,
        before=trace.cell.code,
        file=trace.name,
        reason=right.reason,
    )
    return right


def _withdrawn(reading: Reading, reason: str, *, by: User, at: datetime) -> ReadingWithdrawal:
    row = save(ReadingWithdrawal(reading=reading, reason=reason, at=at, by=by))
    conditions.follow_withdrawal(reading, reason, by=by, at=at)
    log.record(
        "reading withdrawn",
        by=by,
        at=at,
        job=reading.job,
        cell=reading.cell.code if reading.cell else "",
        measure=reading.measure,
        value=str(reading.value),
        reason=reason,
    )
    return row
