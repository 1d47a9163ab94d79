"""manage.py backup: one file that holds the whole shop, made while people write."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from shop.management import backups, databases


class Command(BaseCommand):
    """Back the shop up."""

    help = "Writes one file with database and stored files, while people go on writing. The secret key is not in it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add where to."""
        parser.add_argument("--to", metavar="FOLDER", help="folder to write to (usually backups/ beside the data)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the archive and say what is in it."""
        folder = Path(options["to"]) if options["to"] else settings.DATA_DIR / "backups"
        databases.require_shop()
        try:
            path, manifest = backups.back_up(folder, now=timezone.now())
        except OSError as error:
            raise CommandError(f"The backup could not be written to {folder}: {error.strerror or error}.") from error
        self.stdout.write(f"Backup: {path}")
        for sentence in manifest.heads:
            self.stdout.write(sentence)
        if manifest.differences:
            raise CommandError(
                f"The backup was made, but the books do not balance: {len(manifest.differences)} differences. "
                "`manage.py audit` names them."
            )
        if gone := backups.missing():
            raise CommandError(
                f"The backup was made and its books balance, but {len(gone)} files that they name were not in "
                f"{settings.DATA_DIR}, the first of them {gone[0]}."
            )
        self.stdout.write("The books in it balance, and every file they name is in it. Keep a copy on another machine.")
