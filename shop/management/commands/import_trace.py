"""`manage.py import_trace FOLDER --layout NAME`: a folder of tester files, each named after its cell."""

import sys
from argparse import ArgumentParser
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.errors import ShopError
from shop.models import Cell, FileLayout, User
from shop.operations import cell_testing

SUFFIXES = frozenset({".csv", ".txt", ".bdf", ".gz", ".parquet", ".pq", ".xlsx", ".tsv"})
BAR = 30


class Command(BaseCommand):
    """Read every file of a folder, keep it, and say what became of each; what is kept already is passed over."""

    help = (
        "Keeps every tester file of a folder. The part of the name before the first dot or double underline is the "
        "code of the cell. Run again after a stop: files that are kept already are passed over."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the folder, the layout, whose name it goes under, and whether figures are accepted at once."""
        parser.add_argument("folder", type=Path)
        parser.add_argument("--layout", default="", help="name of a stored column layout; none: found from each file")
        parser.add_argument("--by", required=True, help="user name of the person who imports")
        parser.add_argument("--accept", action="store_true", help="also accept the figures into the readings")

    def handle(self, *args: Any, **options: Any) -> None:
        """Go through the folder; end with a report, and with an error if a file was refused."""
        layout, by = _layout(options["layout"]), _person(options["by"])
        paths = _files(options["folder"])
        counts, refused = {"kept": 0, "known": 0}, []
        for number, path in enumerate(paths, start=1):
            try:
                counts[_one(path, layout, by, accept=options["accept"])] += 1
            except ShopError as error:
                refused.append(f"{path.name}: {error.message} [{error.code}]")
            self._progress(number, len(paths))
        for line in refused:
            self.stderr.write(line)
        self.stdout.write(f"{counts['kept']} kept, {counts['known']} kept before, {len(refused)} refused.")
        if refused:
            raise CommandError(f"{len(refused)} of {len(paths)} files were refused; the reasons stand above.")

    def _progress(self, number: int, total: int) -> None:
        if sys.stderr.isatty():
            done = BAR * number // total
            self.stderr.write(f"\r[{'#' * done}{'.' * (BAR - done)}] {number} of {total}", ending="")
            if number == total:
                self.stderr.write("")


def _one(path: Path, layout: FileLayout | None, by: User, *, accept: bool) -> str:
    content = path.read_bytes()
    if cell_testing.known_already(content):
        return "known"
    cell = _cell(path)
    understood = cell_testing.look_at(content=content, model=cell.lot.cell_model, layout=layout)
    kept = cell_testing.keep_trace(
        cell=cell, name=path.name, content=content, understood=understood, layout=layout, by=by
    )
    if accept and understood.offers:
        measures = [offer.measure for offer in understood.offers]
        cell_testing.accept_trace(trace=kept, understood=understood, measures=measures, by=by)
    return "kept"


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
