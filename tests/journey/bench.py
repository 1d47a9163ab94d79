"""A person at the bench: finds things by the words that stand on the page, and hears what the browser complains of."""

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page, Response

SPACES = str.maketrans({"\N{NARROW NO-BREAK SPACE}": " ", "\N{NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " "})


def plain(text: str) -> str:
    """Return text with one plain space wherever any white space stood."""
    return re.sub(r"\s+", " ", text.translate(SPACES)).strip()


ABANDONED = ("htmx:sendAbort", "htmx:afterRequest")
"""What a page says of a request of its own that nobody waits for any more, since the form went off before it came back."""


class Bench:
    """The browser of one person."""

    def __init__(self, page: "Page", url: str) -> None:
        self.page, self.url = page, url
        self.complaints: list[str] = []
        page.set_default_timeout(30_000)
        page.on("console", lambda message: self._hear(message.type, message.text))
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("response", self._look)
        page.add_init_script(
            "document.addEventListener('securitypolicyviolation', event => "
            "console.error('policy: ' + event.violatedDirective + ' ' + event.blockedURI))"
        )

    def _hear(self, kind: str, text: str) -> None:
        if kind in {"error", "warning"} and not text.startswith(ABANDONED):
            self.complaints.append(f"{self.page.url}: {text}")

    def _look(self, response: "Response") -> None:
        if response.status >= 400:
            self.complaints.append(f"{response.status} {response.url}")

    def sign_in(self, name: str, password: str) -> None:
        self.go("/sign-in/")
        self.page.locator("#id_username").fill(name)
        self.page.locator("#id_password").fill(password)
        self.press("Sign in")

    def go(self, path: str) -> None:
        self.page.goto(self.url + path)

    @property
    def text(self) -> str:
        """What the page says."""
        return plain(self.page.locator("main").inner_text())

    @property
    def path(self) -> str:
        return re.split(r"[?#]", self.page.url.removeprefix(self.url))[0]

    def says(self, *sentences: str) -> None:
        """Every sentence stands on the page."""
        text = self.text
        for sentence in sentences:
            assert sentence in text, f"{sentence!r} is not on {self.path}: {text}"

    def field(self, label: str) -> "Locator":
        """Find a field by its label, with or without the word that says that it may stay empty."""
        return self.page.get_by_label(re.compile(rf"^\s*{re.escape(label)}(\s+optional)?\s*$"))

    def fill(self, fields: Mapping[str, str]) -> None:
        """Type into fields by their labels, from top to bottom."""
        for label, value in fields.items():
            self.field(label).fill(value)

    def choose(self, fields: Mapping[str, str]) -> None:
        """Choose from lists by their labels."""
        for label, value in fields.items():
            self.field(label).select_option(label=value)

    def tick(self, *labels: str) -> None:
        for label in labels:
            self.field(label).check()

    def press(self, words: str) -> None:
        """Press the button, or follow the link that looks like one, and wait for the next page."""
        found = self.page.get_by_role("button", name=words, exact=True)
        target = found if found.count() else self.page.get_by_role("link", name=words, exact=True)
        with self.page.expect_navigation():
            target.click()

    def go_on(self, path: str) -> None:
        """Do the one thing the page puts first, which leads to the given page."""
        self.only_one_thing_first()
        with self.page.expect_navigation():
            self.primary().click()
        assert self.path == path, f"{self.path} instead of {path}: {self.text}"

    def primary(self) -> "Locator":
        return self.page.locator("main .primary")

    def only_one_thing_first(self) -> None:
        found = self.primary().all_inner_texts()
        assert len(found) == 1, f"{self.path} puts {found} first"
