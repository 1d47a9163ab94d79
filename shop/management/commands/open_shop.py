"""`manage.py open_shop`: one's own shop, opened once and served from then on."""

import os
import sys
from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.conf import settings
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management import BaseCommand, CommandError
from django.utils import timezone

from shop.errors import ShopError
from shop.management import databases, serving
from shop.management.questions import QUESTIONS, Question, Refused, defaults
from shop.models import User
from shop.operations import workshop

PASSWORD_VARIABLE = "SHOP_OWNER_PASSWORD"  # noqa: S105 - the variable's name, not what it holds


class Command(BaseCommand):
    """Open the shop when it is new; serve it to the workshop's network."""

    help = "Opens your own shop: asks what it must know the first time, then serves it to the workshop's network."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add a flag for every question, and how to serve."""
        for question in QUESTIONS:
            parser.add_argument(question.flag, dest=question.name, help=question.help)
        parser.add_argument("--host", help="address to listen at (0.0.0.0: the whole network)")
        parser.add_argument("--no-input", action="store_true", help="ask nothing: flags and usual answers decide")
        parser.add_argument("--no-server", action="store_true", help="only prepare the shop")
        parser.add_argument(
            "--have-copy", action="store_true", help="a database server's data was copied by other means"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Settle where the data lives, bring it up to date, open the shop if it is new, serve it."""
        if settings.SHOP_DATABASE != "own":
            raise CommandError("This is for your own shop: leave SHOP_DATABASE out.")
        self._choose_database(options["database"])
        databases.reach()
        host = options["host"] or ("127.0.0.1" if settings.HTTPS else "0.0.0.0")  # noqa: S104 - tablets must reach it
        if settings.DEBUG and host != "127.0.0.1":
            raise CommandError("DEBUG=1 shows the inside of the shop: add --host 127.0.0.1, or leave DEBUG out.")
        serving.allow_network_names()
        server = None if options["no_server"] else serving.listen(host, settings.PORT)
        self._prepare(options)
        if server is not None:
            self._tell(host)
            serving.serve(server)

    def _choose_database(self, address: str | None) -> None:
        if not address or address in {settings.DATABASE_URL, "sqlite"}:
            return
        if settings.SHOP_ENV_FILE.exists() and settings.DATABASE_URL:
            raise CommandError(f"This shop's data is elsewhere: {settings.SHOP_ENV_FILE} names another database.")
        databases.remember_address(address)
        # The settings were read before the address was known: begin again with it.
        os.execv(sys.executable, [sys.executable, *sys.argv])  # noqa: S606

    def _prepare(self, options: dict[str, Any]) -> None:
        if copy := databases.migrate(now=timezone.now(), have_copy=options["have_copy"]):
            self.stdout.write(f"The tables changed; the shop as it was before is kept in {copy}.")
        if User.objects.exists():
            return
        answers = self._answers(options)
        try:
            workshop.open_shop(**answers, owner_password=self._password(options, answers["owner_username"]))
        except ShopError as error:
            raise CommandError(error.message) from error
        self.stdout.write(f"{answers['name']} is open. Its owner signs in as {answers['owner_username']}.")

    def _answers(self, options: dict[str, Any]) -> dict[str, Any]:
        answers: dict[str, Any] = {}
        for question in QUESTIONS:
            if question.asked:
                usual = defaults(answers).get(question.name, question.usual)
                answers[question.name] = self._answer(
                    question, options[question.name], usual, ask=not options["no_input"]
                )
        return answers

    def _answer(self, question: Question, given: str | None, usual: str, *, ask: bool) -> str:
        while True:
            text = given if given is not None else input(f"{question.words} [{usual}]: ").strip() if ask else usual
            try:
                return question.check(text or usual)
            except Refused as error:
                if given is not None or not ask:
                    raise CommandError(f"{question.flag}: {error}") from error
                self.stderr.write(str(error))

    def _password(self, options: dict[str, Any], username: str) -> str:
        if (given := os.environ.get(PASSWORD_VARIABLE)) or options["no_input"]:
            return self._strong(given or "", username)
        while True:
            first = getpass(f"Password for {username}: ")
            if first != getpass("The same once more: "):
                self.stderr.write("The two differ.")
                continue
            try:
                return self._strong(first, username)
            except CommandError as error:
                self.stderr.write(str(error))

    def _strong(self, password: str, username: str) -> str:
        if not password:
            raise CommandError(f"The owner needs a password: put it into {PASSWORD_VARIABLE}, or leave --no-input out.")
        try:
            validate_password(password, User(username=username))
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        return password

    def _tell(self, host: str) -> None:
        reached = [host] if host != "0.0.0.0" else ["127.0.0.1", *serving.network_addresses()]  # noqa: S104
        self.stdout.write("The shop is served at (Ctrl-C ends it):")
        for address in reached:
            self.stdout.write(f"  http://{address}:{settings.PORT}")
        self.stdout.flush()
