"""manage.py restore: a shop comes back from a backup, into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.management import backups, databases


class Command(BaseCommand):
    """Bring a shop back."""

    help = "Brings a shop back from a backup into an empty place, and checks it by its audit."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add which archive."""
        parser.add_argument("archive", help="the file that `manage.py backup` wrote")

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore, or say why nothing was changed."""
        databases.reach()
        try:
            manifest = backups.bring_back(Path(options["archive"]))
        except OSError as error:
            raise CommandError(f"The backup could not be restored: {error.strerror or error}.") from error
        self.stdout.write(f"The shop of {manifest.made_at} is back.")
        for sentence in manifest.heads:
            self.stdout.write(sentence)
        if manifest.differences:
            raise CommandError(
                f"It is as it was backed up; its books did not balance then: {len(manifest.differences)} differences. "
                "`manage.py audit` names them."
            )
        if gone := backups.missing():
            raise CommandError(
                f"The books balance, but {len(gone)} files that they name did not come, the first {gone[0]}."
            )
        self.stdout.write("The books balance, and every file they name is there.")
