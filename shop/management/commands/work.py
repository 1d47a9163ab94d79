"""`manage.py work`: does long work, beside the server that started it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand

from shop.management import worker


class Command(BaseCommand):
    """Do long work, one piece after the other."""

    help = (
        "Does long work beside the server, which starts it by itself; only a server of another kind needs it by hand."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add whose end is its own."""
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, parent: int | None, **options: Any) -> None:
        """Work until stopped."""
        try:
            worker.work(parent)
        except KeyboardInterrupt:
            return
