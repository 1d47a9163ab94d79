"""manage.py audit: recompute where everything is from the movement history."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shop.management import databases
from shop.selectors import audit, audit_chains


class Command(BaseCommand):
    """Say whether the books balance."""

    help = "Recompute where every cell and item is from the movement history and report every difference."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print each difference; end with an error if there is one."""
        databases.require_shop()
        found = list(audit.differences())
        for sentence in found:
            self.stderr.write(sentence)
        if found:
            raise CommandError(f"{len(found)} differences.")
        self.stdout.write("The books balance.")
        for sentence in audit_chains.heads():
            self.stdout.write(sentence)
