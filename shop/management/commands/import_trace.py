"""`manage.py import_trace FOLDER --layout NAME`: a folder of tester files, each named after its cell."""

import sys
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from shop.bridge.traces import Understood
from shop.errors import ShopError
from shop.models import Cell, FileLayout, User
from shop.operations import cell_testing

SUFFIXES = frozenset({".csv", ".txt", ".bdf", ".gz", ".parquet", ".pq", ".xlsx", ".tsv"})
BAR = 30
KEPT, KNOWN, REFUSED = "kept", "kept before", "refused"


class Command(BaseCommand):
    """Read every file of a folder, keep it, and say what became of each; what is kept already is passed over."""

    help = (
        "Keeps every tester file of a folder. The part of the name before the first dot or double underline is the "
        "code of the cell. Run again after a stop: files that are kept already are passed over."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the folder, the layout, whose name it goes under, and whether figures are accepted at once."""
        parser.add_argument("folder", type=Path)
        parser.add_argument(
            "--layout",
            default="",
            help="name of a stored column layout; none: the one with the same headings, else found from each file",
        )
        parser.add_argument("--by", required=True, help="user name of the person who imports")
        parser.add_argument("--accept", action="store_true", help="also accept the figures into the readings")
        parser.add_argument("--sure", action="store_true", help="accept figures, too, that hardly any cell has")

    def handle(self, *args: Any, **options: Any) -> None:
        """Go through the folder; end with a report, and with an error if a file was refused."""
        layout, by = _layout(options["layout"]), _person(options["by"])
        paths = _files(options["folder"])
        became: list[tuple[str, str]] = []
        for number, path in enumerate(paths, start=1):
            became.append(_tried(path, layout, by, accept=options["accept"], sure=options["sure"]))
            self._progress(number, len(paths))
        self._report(list(zip(paths, became, strict=True)))

    def _report(self, files: Sequence[tuple[Path, tuple[str, str]]]) -> None:
        """Say of each file what became of it, and how many went which way."""
        counts = Counter(way for _, (way, _) in files)
        for path, (way, words) in files:
            out = self.stderr if way == REFUSED else self.stdout
            out.write(f"{path.name}: {way}{words}")
        self.stdout.write(f"{counts[KEPT]} kept, {counts[KNOWN]} kept before, {counts[REFUSED]} refused.")
        if counts[REFUSED]:
            raise CommandError(f"{counts[REFUSED]} of {len(files)} files were refused; the reasons stand above.")

    def _progress(self, number: int, total: int) -> None:
        if sys.stderr.isatty():
            done = BAR * number // total
            self.stderr.write(f"\r[{'#' * done}{'.' * (BAR - done)}] {number} of {total}", ending="")
            if number == total:
                self.stderr.write("")


def _tried(path: Path, layout: FileLayout | None, by: User, *, accept: bool, sure: bool) -> tuple[str, str]:
    """Return what became of a file, and more words about it."""
    try:
        with transaction.atomic():
            return _one(path, layout, by, accept=accept, sure=sure)
    except ShopError as error:
        return REFUSED, f": {error.message} [{error.code}]"


def _one(path: Path, layout: FileLayout | None, by: User, *, accept: bool, sure: bool) -> tuple[str, str]:
    content = path.read_bytes()
    if known := cell_testing.known_already(content):
        return KNOWN, f", as {known.name} of cell {known.cell.code}"
    cell, layout = _cell(path), layout or cell_testing.layout_of(content)
    understood = cell_testing.look_at(content=content, model=cell.lot.cell_model, layout=layout)
    kept = cell_testing.keep_trace(
        cell=cell, name=path.name, content=content, understood=understood, layout=layout, by=by
    )
    if accept and understood.offers:
        measures = [offer.measure for offer in understood.offers if not offer.doubt]
        at = cell_testing.believed(understood, cell)
        cell_testing.accept_trace(
            trace=kept, understood=understood, measures=measures, measured_at=at, by=by, sure=sure
        )
    return KEPT, _told(understood)


def _told(understood: Understood) -> str:
    """Rows, figures on offer, and repairs by their codes."""
    figures = ", ".join(offer.measure.label for offer in understood.offers) or "no figure"
    repairs = ", ".join(str(repair["code"]) for repair in understood.repairs()) or "none"
    return f", {len(understood.trace)} rows; figures: {figures}; repairs: {repairs}"


def _cell(path: Path) -> Cell:
    code = path.name.split("__")[0].split(".")[0]
    cell = Cell.objects.select_related("lot__cell_model").filter(code=code).first()
    if cell is None:
        raise ShopError("no_cell", f"No cell in the shop has the code {code}.")
    return cell


def _layout(name: str) -> FileLayout | None:
    if not name:
        return None
    layout = FileLayout.objects.filter(name=name).first()
    if layout is None:
        known = ", ".join(FileLayout.objects.values_list("name", flat=True)) or "none yet"
        raise CommandError(f"There is no column layout {name}; known are: {known}.")
    return layout


def _person(name: str) -> User:
    person = User.objects.filter(username=name, is_active=True).first()
    if person is None:
        raise CommandError(f"Nobody here is called {name}.")
    return person


def _files(folder: Path) -> Sequence[Path]:
    if not folder.is_dir():
        raise CommandError(f"{folder} is no folder.")
    paths = sorted(path for path in folder.iterdir() if path.is_file() and path.suffix.lower() in SUFFIXES)
    if not paths:
        raise CommandError(f"{folder} holds no tester files.")
    return paths
