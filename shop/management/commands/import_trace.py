"""`manage.py import_trace FOLDER --layout NAME`: a folder of tester files, each named after its cell."""

import sys
from argparse import ArgumentParser
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.models import FileLayout, User
from shop.operations.many_files import KEPT, KNOWN, REFUSED, Became, Sent, bring_in

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
        became: list[Became] = []
        for number, path in enumerate(paths, start=1):
            sent, more = Sent(path.name, path.read_bytes()), {name: options[name] for name in ("accept", "sure")}
            became.append(bring_in(sent, layout=layout, by=by, **more))
            self._progress(number, len(paths))
        self._report(became)

    def _report(self, files: Sequence[Became]) -> None:
        """Say of each file what became of it, and how many went which way."""
        counts = Counter(one.way for one in files)
        for one in files:
            out, mark = (self.stderr, ":") if one.way == REFUSED else (self.stdout, ",")
            out.write(f"{one.name}: {one.way}{mark} {one.words}")
        self.stdout.write(f"{counts[KEPT]} kept, {counts[KNOWN]} kept before, {counts[REFUSED]} refused.")
        if counts[REFUSED]:
            raise CommandError(f"{counts[REFUSED]} of {len(files)} files were refused; the reasons stand above.")

    def _progress(self, number: int, total: int) -> None:
        if sys.stderr.isatty():
            done = BAR * number // total
            self.stderr.write(f"\r[{'#' * done}{'.' * (BAR - done)}] {number} of {total}", ending="")
            if number == total:
                self.stderr.write("")


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
