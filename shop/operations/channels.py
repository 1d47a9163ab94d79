"""The test bench: channels of testers, check cells, and the queue of cells that wait for a channel."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from packs.terms import Area, Condition, DangerLevel, Measure, Place
from shop.bridge import checking
from shop.bridge.possible import OF_A_CELL
from shop.errors import ShopError
from shop.models import Cell, Channel, ChannelRun, CheckCell, CheckReading, Instrument, Job, RunState, User

from . import areas, incidents, log
from .base import BENCH, EVERYONE, lock_job, moment, save, verb
from .possible import refuse

AT_HAND = (Place.BENCH.value, Place.STOCK.value)
MOST_HOURS = Decimal(2000)
"""More than any test of one cell takes; common practice, no source."""
MOST_QUEUED = 500


@verb(*BENCH)
def add_channel(
    *,
    instrument: Instrument,
    name: str,
    by: User,
    offset_uv: int = 0,
    check_every_d: int = 7,
    hour_cost: Decimal = Decimal(0),
    handling_min: int = 0,
    now: datetime | None = None,
) -> Channel:
    """A channel of a tester is known by its name; from then on its check cell is read, weekly where nothing else is said."""
    at = moment(now)
    if not 1 <= check_every_d <= 366:
        raise ShopError("impossible_value", "A check cell is read every 1 to 366 days.", field="check_every_d")
    if abs(offset_uv) > 1_000_000:
        raise ShopError("impossible_value", "A channel that is off by a volt is broken.", field="offset_uv")
    channel = save(
        Channel(
            instrument=instrument,
            name=name.strip(),
            offset_uv=offset_uv,
            check_every_d=check_every_d,
            hour_cost=hour_cost,
            handling_min=handling_min,
        )
    )
    log.record("channel added", by=by, at=at, tester=instrument.name, channel=channel.name)
    return channel


@verb(*BENCH)
def keep_check_cell(
    *, cell: Cell, capacity_mah: Decimal, conditions: str, by: User, now: datetime | None = None
) -> CheckCell:
    """A check cell stays at the bench: it goes into no pack, and what is known of it says how."""
    at = moment(now)
    row = Cell.objects.select_for_update().get(pk=cell.pk)
    _require_fit([row])
    if row.positions.filter(open=True).exists():
        raise ShopError("reserved", f"Cell {row.code} is meant for a pack; keep another one.", field="cell")
    _require_capacity(capacity_mah)
    if not conditions.strip():
        raise ShopError("conditions_missing", "Say how its capacity is known.", field="conditions")
    kept = save(CheckCell(cell=row, capacity_mah=capacity_mah, conditions=conditions.strip(), at=at, by=by))
    log.record("check cell kept", by=by, at=at, cell=row.code, capacity_mah=str(capacity_mah))
    return kept


@verb(*BENCH)
def read_check_cell(
    *,
    channel: Channel,
    cell: Cell,
    capacity_mah: Decimal,
    by: User,
    temperature_mdegc: int | None = None,
    now: datetime | None = None,
) -> CheckReading:
    """A channel counts for as long as it reads its check cell true, and no longer than the time set for it.

    With a ``temperature_mdegc`` it was read beside cells that are tested at another temperature than usual: their
    capacity is held against this cell's of the same day, and the channel is not judged by it.
    """
    at = moment(now)
    known = CheckCell.objects.filter(cell=cell).last()
    if known is None:
        raise ShopError("no_check_cell", f"Cell {cell.code} is no check cell.", field="cell")
    _require_capacity(capacity_mah)
    beside = temperature_mdegc is not None
    if beside:
        refuse("impossible_value", {"temperature_mdegc": checking.TESTED_AT.doubt(Decimal(temperature_mdegc or 0))})
    true = None if beside else checking.agrees(capacity_mah, known.capacity_mah)
    read = save(
        CheckReading(
            channel=channel, check_cell=known, capacity_mah=capacity_mah, agrees=true,
            temperature_mdegc=temperature_mdegc, at=at, by=by,
        )
    )  # fmt: skip
    log.record("check cell read", by=by, at=at, tester=str(channel), cell=cell.code, agrees=true)
    return read


@verb(*BENCH)
def queue_cells(
    *, cells: Sequence[Cell], by: User, job: Job | None = None, now: datetime | None = None
) -> list[ChannelRun]:
    """Cells wait for a channel in the order in which they came, for a job or for the stock."""
    at = moment(now)
    rows = list(Cell.objects.select_for_update().filter(pk__in=[cell.pk for cell in cells]).order_by("code"))
    if not 1 <= len(rows) <= MOST_QUEUED:
        raise ShopError("no_cells", f"Say which cells are to be tested, at most {MOST_QUEUED} at once.", field="cells")
    _require_fit(rows)
    incidents.require_cells_released(rows)
    busy = list(ChannelRun.objects.filter(cell__in=rows, state__in=OPEN).values_list("cell__code", flat=True))
    if busy:
        raise ShopError("queued_already", f"{', '.join(busy[:5])}: waiting or in a channel already.", field="cells")
    if job is not None:
        job = lock_job(job)
        if job.danger_level == DangerLevel.RED:
            raise ShopError(
                "stays_outside", f"The pack of {job.code} stays outside; nothing is tested for it.", field="job"
            )
    runs = ChannelRun.objects.bulk_create(ChannelRun(cell=cell, job=job, queued_at=at, by=by) for cell in rows)
    log.record("cells queued", by=by, at=at, job=job, cells=[cell.code for cell in rows])
    return runs


OPEN = (RunState.WAITING.value, RunState.RUNNING.value)


@verb(*BENCH)
def begin_run(
    *, run: ChannelRun, channel: Channel, hours: Decimal, by: User, now: datetime | None = None
) -> ChannelRun:
    """A cell goes into a free channel, with the hours its test is expected to take; a damaged one is never charged."""
    at = moment(now)
    row = ChannelRun.objects.select_for_update().select_related("cell").get(pk=run.pk)
    if row.state != RunState.WAITING:
        raise ShopError("not_waiting", f"The test of {row.cell.code} is {RunState(row.state).label}.", field="run")
    if not 0 < hours <= MOST_HOURS:
        raise ShopError("impossible_value", f"A test takes some hours, at most {MOST_HOURS}.", field="hours")
    _require_fit([row.cell])
    incidents.require_cells_released([row.cell])
    for name in (channel.instrument.name, str(channel)):  # a tester charges by itself
        incidents.require_released(name, "charger", by=by, field="channel")
    if there := ChannelRun.objects.filter(channel=channel, state=RunState.RUNNING.value).first():
        raise ShopError("channel_taken", f"In {channel} is {there.cell.code}.", field="channel")
    row.channel, row.state, row.began_at = channel, RunState.RUNNING.value, at
    row.due_at = at + timedelta(hours=float(hours))
    save(row)
    areas.require_room(Area.CHARGING)
    log.record("cell in channel", by=by, at=at, job=row.job, cell=row.cell.code, channel=str(channel))
    return row


@verb(*BENCH)
def end_run(*, run: ChannelRun, state: RunState, by: User, now: datetime | None = None) -> ChannelRun:
    """A test ends passed, rejected or called off; a cell that never was in a channel is only called off."""
    at = moment(now)
    row = ChannelRun.objects.select_for_update().select_related("cell").get(pk=run.pk)
    if row.state not in OPEN:
        raise ShopError("over_already", f"The test of {row.cell.code} is over: {RunState(row.state).label}.")
    if state.value in OPEN or (row.state == RunState.WAITING and state is not RunState.CALLED_OFF):
        raise ShopError(
            "not_tested", f"{row.cell.code} was in no channel yet; its test can be called off.", field="state"
        )
    row.state, row.ended_at = state.value, at
    save(row)
    log.record("test of cell over", by=by, at=at, job=row.job, cell=row.cell.code, state=state.value)
    return row


@verb(*EVERYONE)
def promise(*, job: Job, promised_on: date, by: User, version: int | None = None, now: datetime | None = None) -> Job:
    """The day a customer was promised stands with the job, and orders the queue of the bench."""
    at = moment(now)
    job = lock_job(job, version)
    if promised_on < timezone.localdate(at):
        raise ShopError("day_past", "This day is past.", field="promised_on")
    job.promised_on = promised_on
    save(job)
    log.record("promised", by=by, at=at, job=job, day=promised_on.isoformat())
    return job


def _require_fit(rows: Sequence[Cell]) -> None:
    if wrong := [cell.code for cell in rows if cell.condition != Condition.INTACT.value]:
        raise ShopError(
            "not_intact", f"{', '.join(wrong[:5])}: damaged, and never charged.", field="cells", cells=wrong
        )
    if gone := [cell.code for cell in rows if cell.place not in AT_HAND]:
        raise ShopError("not_here", f"{', '.join(gone[:5])}: not on the bench or in stock.", field="cells", cells=gone)


def _require_capacity(value: Decimal) -> None:
    if value <= 0 or (doubt := OF_A_CELL[Measure.CAPACITY].doubt(value)):
        message = doubt if value > 0 else "A check cell has some capacity."
        raise ShopError("impossible_value", message, field="capacity_mah")
