"""`manage.py demo`: a shop with a history, to look at and to try."""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError
from django.utils import timezone

import shop.demo.history
import shop.demo.people
from shop.management import databases, serving
from shop.models import User


class Command(BaseCommand):
    """Open the demo shop, in a database of its own."""

    help = "Opens a demo shop with a history, in a database of its own; your own shop is never touched."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add what can be asked of the demo."""
        parser.add_argument("--reset", action="store_true", help="begin again: delete the demo shop first")
        parser.add_argument("--no-server", action="store_true", help="only prepare the demo shop")

    def handle(self, *args: Any, reset: bool, no_server: bool, **options: Any) -> None:
        """Prepare, tell who can sign in, serve."""
        if settings.SHOP_DATABASE != "demo":
            raise CommandError("The demo shop has a database of its own: start it with `python manage.py demo`.")
        server = None if no_server else serving.listen("127.0.0.1", settings.PORT)
        held = databases.hold_demo(alone=reset)
        self._prepare(reset=reset)
        databases.share_demo(held)
        self._tell()
        if server is not None:
            serving.open_browser(f"http://127.0.0.1:{settings.PORT}")
            serving.serve(server)

    def _prepare(self, *, reset: bool) -> None:
        if reset:
            databases.delete_demo()
        databases.migrate(now=timezone.now())
        if not User.objects.exists():
            self.stdout.write("Building the demo shop ...")
            self.stdout.flush()
            shop.demo.history.build()

    def _tell(self) -> None:
        self.stdout.write("\nDemo shop. Everything in it is invented. Sign in as (new passwords at every start):\n\n")
        for username, password in shop.demo.people.fresh_passwords().items():
            self.stdout.write(f"  {username:<12} {password}")
        self.stdout.write(f"\n  http://127.0.0.1:{settings.PORT}      Ctrl-C ends it.\n")
        self.stdout.flush()
