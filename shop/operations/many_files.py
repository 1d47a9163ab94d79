"""Tester files by the dozen: each comes in whole or not at all, and each says what became of it."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from packs.terms import TaskKind
from shop.bridge.traces import Understood
from shop.errors import ShopError
from shop.models import Cell, FileLayout, Instrument, Task, User

from . import cell_testing, files, log
from .base import BENCH, moment, save, verb

KEPT, KNOWN, REFUSED = "kept", "kept before", "refused"
WAITS = timedelta(days=7)
MOST_FILES = 200
"""At once; a rack of testers has fewer channels. Our own, no source."""


@dataclass(frozen=True)
class Sent:
    """One file as it was sent; the part of its name before the first dot or double underline is the code of its cell."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Became:
    """What became of a file: which way it went, and more words about it."""

    name: str
    way: str
    words: str
    cell: str = ""
    trace: int | None = None

    def as_json(self) -> dict[str, Any]:
        """Return it as a task keeps it."""
        return vars(self) | {}


@verb(*BENCH)
def read_files(
    *,
    sent: Sequence[Sent],
    by: User,
    accept: bool = False,
    instrument: Instrument | None = None,
    now: datetime | None = None,
) -> Task:
    """Several tester files are read one after the other by the worker beside the shop; nobody has to wait for it."""
    at = moment(now)
    if not 1 <= len(sent) <= MOST_FILES:
        raise ShopError("no_files", f"Choose 1 to {MOST_FILES} files; these are {len(sent)}.", field="files")
    _sweep(at)
    listed = []
    for one in sent:
        sha256 = hashlib.sha256(one.content).hexdigest()
        files.put(_waiting(sha256), one.content)
        listed.append({"name": Path(one.name).name[:200], "sha256": sha256})
    asked = {"files": listed, "accept": accept, "instrument": instrument.pk if instrument else None}
    task = save(Task(kind=TaskKind.TESTER_FILES.value, asked=asked, by=by, at=at))
    log.record("tester files sent", by=by, at=at, files=len(listed))
    return task


def work_off(task: Task) -> Iterator[tuple[float, list[dict[str, Any]]]]:
    """Read the files of a task, and after each yield the share that is done and what became of them so far."""
    listed, became = task.asked["files"], []
    instrument = Instrument.objects.filter(pk=task.asked["instrument"]).first()
    yield 0.0, []
    for number, one in enumerate(listed, start=1):
        became.append(_of_task(task, one, instrument).as_json())
        yield number / len(listed), became


def _of_task(task: Task, one: dict[str, str], instrument: Instrument | None) -> Became:
    path = _waiting(one["sha256"])
    try:
        content = files.read(path, one["sha256"], name=one["name"])
    except ShopError as error:
        return Became(one["name"], REFUSED, error.message)
    return bring_in(Sent(one["name"], content), by=task.by, accept=task.asked["accept"], instrument=instrument)


def bring_in(
    sent: Sent,
    *,
    by: User,
    layout: FileLayout | None = None,
    accept: bool = False,
    sure: bool = False,
    instrument: Instrument | None = None,
) -> Became:
    """Keep one file and, where asked, accept its figures, both or neither; a file that is refused says why."""
    try:
        if known := cell_testing.known_already(sent.content):
            words = f"as {known.name} of cell {known.cell.code}"
            if (named := Cell.objects.coded(_named(sent.name))) is not None and named.pk != known.cell_id:
                words = f"The same bytes are the file of {known.cell.code}, kept as {known.name}; nothing of it is {named.code}'s."
                return Became(sent.name, REFUSED, words, trace=known.pk)
            return Became(sent.name, KNOWN, words, known.cell.code, known.pk)
        cell, layout = _cell(sent.name), layout or cell_testing.layout_of(sent.content)
        understood = cell_testing.look_at(content=sent.content, model=cell.lot.cell_model, layout=layout)
        with transaction.atomic():
            kept = cell_testing.keep_trace(
                cell=cell, name=sent.name, content=sent.content, understood=understood, layout=layout, by=by
            )
            if accept and understood.offers:
                cell_testing.accept_trace(
                    trace=kept,
                    understood=understood,
                    measures=[offer.measure for offer in understood.offers if not offer.doubt],
                    instrument=instrument,
                    measured_at=cell_testing.believed(understood, cell),
                    by=by,
                    sure=sure,
                )
    except ShopError as error:
        return Became(sent.name, REFUSED, error.message)
    return Became(sent.name, KEPT, _told(understood), cell.code, kept.pk)


def _told(understood: Understood) -> str:
    """Rows, figures on offer, and repairs in words."""
    figures = ", ".join(offer.measure.label for offer in understood.offers) or "no figure"
    repairs = " ".join(str(repair["message"]) for repair in understood.repairs()) or "none"
    return f"{len(understood.trace)} rows; figures: {figures}; repairs: {repairs}"


def _named(name: str) -> str:
    return name.split("__")[0].split(".")[0]


def _cell(name: str) -> Cell:
    code = _named(name)
    cell = Cell.objects.select_related("lot__cell_model").coded(code)
    if cell is None:
        raise ShopError("no_cell", f"No cell in the shop has the code {code}.")
    return cell


def _sweep(at: datetime) -> None:
    """What waited too long, for a task that was stopped or failed, makes room."""
    for path in (Path(settings.DATA_DIR) / files.Folder.WAITING).glob("*/*.original"):
        if at.timestamp() - path.stat().st_mtime > WAITS.total_seconds():
            path.unlink(missing_ok=True)


def _waiting(sha256: str) -> Path:
    return files.path_of(files.Folder.WAITING, sha256, "original")
