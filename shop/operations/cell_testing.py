"""Tester files: looked at, kept byte for byte, and their figures accepted into a cell's readings."""

import hashlib
import json
from collections.abc import Collection, Mapping
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.utils import timezone

from packs.terms import Measure
from packs.units import of
from shop.bridge import traces
from shop.bridge.traces import Understood
from shop.errors import ShopError
from shop.models import Cell, CellModel, Channel, FileLayout, Instrument, Reading, TraceFile, User

from . import files, log
from .base import BENCH, moment, save, verb
from .stock import record_reading

PROPOSED = "proposed from the file"


def look_at(*, content: bytes, model: CellModel, layout: FileLayout | None = None) -> Understood:
    """Read a tester file and tell what was understood; nothing is kept yet."""
    if layout is None:
        return look_by(content=content, model=model, facts=None)
    fitting = traces.recognised(content, [layout.facts])
    return look_by(content=content, model=model, facts=fitting[1] if fitting else layout.facts)


def look_by(*, content: bytes, model: CellModel, facts: Mapping[str, Any] | None) -> Understood:
    """Read a tester file by a layout that has no name yet."""
    try:
        return traces.understand(content, model, facts)
    except traces.TraceRefused as refused:
        raise ShopError(refused.code, str(refused), field="file") from refused


def layout_of(content: bytes) -> FileLayout | None:
    """Return the layout that was stated over a file with the same headings, the newest first."""
    layouts = list(FileLayout.objects.order_by("-at", "-pk"))
    found = traces.recognised(content, [layout.facts for layout in layouts])
    return layouts[found[0]] if found else None


def known_already(content: bytes) -> TraceFile | None:
    """Return the tester file with the same bytes, if the shop has it, for the cell it was put to last."""
    rows = TraceFile.objects.select_related("cell").filter(moved_to__isnull=True)
    return rows.filter(sha256=hashlib.sha256(content).hexdigest()).first()


@verb(*BENCH)
def add_layout(*, name: str, facts: Mapping[str, Any], by: User, now: datetime | None = None) -> FileLayout:
    """How a tester writes its files is stated once, under a name."""
    at = moment(now)
    layout = save(FileLayout(name=name.strip(), facts=dict(facts), at=at, by=by))
    log.record("column layout added", by=by, at=at, layout=layout.name)
    return layout


@verb(*BENCH)
def keep_trace(
    *,
    cell: Cell,
    name: str,
    content: bytes,
    understood: Understood,
    by: User,
    layout: FileLayout | None = None,
    now: datetime | None = None,
) -> TraceFile:
    """A tester file is kept as it came, with what was understood and repaired; the same file counts once."""
    if known := known_already(content):
        raise ShopError(
            "known_already",
            f"This file is kept already, as {known.name} of cell {known.cell.code}, since {known.at:%Y-%m-%d}.",
            field="file",
            trace=known.pk,
        )
    at, sha256 = moment(now), understood.trace.sha256
    files.put(bytes_of(sha256), content)
    files.put(series_of(sha256), understood.parquet())
    kept = save(
        TraceFile(
            cell=cell,
            name=Path(name).name[:200] or "tester file",
            sha256=sha256,
            size=len(content),
            rows=len(understood.trace),
            layout_name=layout.name if layout else PROPOSED,
            layout=understood.trace.layout.facts(),
            remarks=understood.remarks(),
            at=at,
            by=by,
        )
    )
    log.record("tester file kept", by=by, at=at, cell=cell.code, file=kept.name, sha256=sha256)
    return kept


@verb(*BENCH)
def accept_trace(
    *,
    trace: TraceFile,
    understood: Understood,
    measures: Collection[Measure],
    by: User,
    instrument: Instrument | None = None,
    channel: Channel | None = None,
    temperature_mdegc: Decimal | None = None,
    measured_at: datetime | None = None,
    sure: bool = False,
    now: datetime | None = None,
) -> list[Reading]:
    """Figures of a kept file become readings of its cell; method, conditions and the file's repairs stay with them.

    ``temperature_mdegc`` is how warm it was where the file does not say it, ``channel`` the one the cell was in.

    They count from when the test ended; ``believed`` says when that was by the file.

    ``understood`` is what ``again`` made of the file: reading a long one takes seconds, in which no other bench
    should have to wait for the book.
    """
    at = moment(now)
    _require_same(TraceFile.objects.select_for_update().get(pk=trace.pk), understood)
    _refuse_twice(trace, measures)
    if channel is not None and instrument is not None and channel.instrument_id != instrument.pk:
        raise ShopError("another_tester", f"{channel} is none of {instrument}.", field="channel")
    instrument = instrument or (channel.instrument if channel else None)
    warm = None if temperature_mdegc is None else of(Measure.TEMPERATURE, temperature_mdegc)
    offers = {offer.measure: offer for offer in understood.offers}
    if missing := [measure for measure in measures if measure not in offers]:
        raise ShopError("not_offered", f"This file gives no {missing[0].label}; its report says why.")
    readings = [
        record_reading(
            cell=trace.cell,
            measure=measure,
            value=offers[measure].value,
            method=offers[measure].method,
            conditions=traces.as_stated(offers[measure].conditions, warm, channel.name if channel else ""),
            trace=trace,
            instrument=instrument,
            measured_at=measured_at,
            sure=sure,
            by=by,
            now=at,
        )
        for measure in offers
        if measure in measures
    ]
    log.record("tester file accepted", by=by, at=at, cell=trace.cell.code, file=trace.name, readings=len(readings))
    return readings


def believed(understood: Understood, cell: Cell, now: datetime | None = None) -> datetime | None:
    """Return when a test ended by its tester's clock, where that can be: not ahead, and not before the cell came in."""
    ended = understood.ended
    if ended is None or ended > moment(now) or timezone.localdate(ended) < cell.lot.received_on:
        return None
    return ended


def _require_same(kept: TraceFile, understood: Understood) -> None:
    """What was read outside the transaction is the kept file, by its layout and with the repairs written beside it."""
    read = (understood.trace.sha256, _frozen(understood.trace.layout.facts()), _made(understood.repairs()))
    if read != (kept.sha256, _frozen(kept.layout), _made(kept.repairs)):
        raise ShopError(
            "read_differently",
            f"{kept.name} reads differently by now than when it was kept: its figures would not carry the repairs "
            "that stand beside it. Nothing was accepted.",
        )


def _refuse_twice(trace: TraceFile, measures: Collection[Measure]) -> None:
    if moved := TraceFile.objects.select_related("cell").filter(moved_from=trace).first():
        raise ShopError("moved_already", f"{trace.name} is of cell {moved.cell.code}: its figures are accepted there.")
    taken = set(Reading.objects.standing().filter(trace=trace).values_list("measure", flat=True))
    if twice := taken & {measure.value for measure in measures}:
        label = Measure(min(twice)).label
        raise ShopError("accepted_already", f"The {label} of this file is among the cell's readings already.")


def _made(repairs: Collection[Mapping[str, Any]]) -> list[tuple[object, object]]:
    """Which repairs were made and how often; a later version of the shop may say the same in other words."""
    return [(repair["code"], repair["count"]) for repair in repairs]


def _frozen(facts: Any) -> str:
    """Facts as text, so that they can be compared however they went through the database."""
    return json.dumps(facts, sort_keys=True)


def again(trace: TraceFile) -> Understood:
    """Read a kept file once more, by the layout it was read with."""
    return look_by(content=content_of(trace), model=trace.cell.lot.cell_model, facts=trace.layout)


def content_of(trace: TraceFile) -> bytes:
    """Return the bytes of a kept file as they came."""
    return files.read(bytes_of(trace.sha256), trace.sha256, name=trace.name)


def bytes_of(sha256: str) -> Path:
    """Return where the bytes of a file lie."""
    return files.path_of(files.Folder.TRACES, sha256, "original")


def series_of(sha256: str) -> Path:
    """Return where the series of a file lies."""
    return files.path_of(files.Folder.TRACES, sha256, "parquet")
