"""What the tests share: published data, a browser, and a refusal to skip on the machine that judges."""

import os
import shutil
import sys
import time
from collections.abc import Generator
from ctypes.util import find_library
from pathlib import Path
from typing import TYPE_CHECKING

import hypothesis
import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection

from shop import append_only, checks

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

REPOSITORY = Path(__file__).resolve().parent.parent
DAY = 24 * 3600
CI = os.environ.get("CI", "").lower() in {"1", "true"}


# How long an example takes says how busy the machine is: speed is measured in tests/benchmarks.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Where CI is set a test that can't run has failed: what doesn't apply there is deselected by its marker."""
    report = yield
    if CI and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped where nothing may be: {reason}"
    return report


class DataTests:
    """Counts the comparisons with published data that ran, and fails a run with fewer than DATA_TESTS_AT_LEAST."""

    def __init__(self, least: int) -> None:
        self.least = least
        self.passed = 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.passed += report.when == "call" and report.passed and "data" in report.keywords

    @pytest.hookimpl(trylast=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self.passed < self.least and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if self.passed < self.least:
            terminalreporter.write_line(
                f"Compared with published data: only {self.passed} of at least {self.least} tests.", red=True
            )


def pytest_configure(config: pytest.Config) -> None:
    """Count published data in the process that reports, not in its workers."""
    _sweep(settings.DATA_DIR)
    least = os.environ.get("DATA_TESTS_AT_LEAST")
    if least and not hasattr(config, "workerinput"):
        config.pluginmanager.register(DataTests(int(least)), "data tests")


def _sweep(folder: Path) -> None:
    """Delete the databases of runs that were cut off."""
    for path in folder.glob("test-*.sqlite3*"):
        if time.time() - path.stat().st_mtime > DAY:
            path.unlink(missing_ok=True)


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Return the folder of published data sets; it is too large to be part of the project."""
    folder = Path(os.environ.get("SHARED_DATA", REPOSITORY.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip(f"published data not found in {folder}: set SHARED_DATA to the folder that holds it")
    return folder


@pytest.fixture
def committed_db(transactional_db: None) -> Generator[None]:
    """Let a test commit for real, beside threads or a server; what it wrote is gone afterwards.

    The triggers of append-only tables would refuse to let it go; they are taken away for that moment only.
    """
    yield
    append_only.remove(connection)
    call_command("flush", verbosity=0, interactive=False)
    append_only.install(connection)


@pytest.fixture(scope="session")
def pango() -> None:
    """Let a test that renders a PDF run only where the text library is installed."""
    if problem := checks.missing_pango():
        pytest.skip(f"{problem} {checks.HOW}")


@pytest.fixture(scope="session")
def pdftotext() -> str:
    """Return the program that reads the text of a PDF."""
    return _program("pdftotext", package="poppler-utils")


@pytest.fixture(scope="session")
def ngspice() -> str:
    """Return the circuit simulator that the current paths are compared with."""
    return _program("ngspice", package="ngspice")


@pytest.fixture(scope="session")
def browser() -> Generator["Browser"]:
    """Start the system's Chromium; Playwright's own download is not needed."""
    path = shutil.which("chromium") or _program("chromium-browser", package="chromium")
    if sys.platform == "linux" and not find_library("atomic"):
        pytest.skip("Playwright's driver needs the library libatomic: apt-get install libatomic1")
    from playwright.sync_api import sync_playwright

    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright keeps an event loop in this thread; Django would take every test after it for asynchronous code.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        # Chromium's sandbox refuses to run as root.
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"] if os.geteuid() == 0 else [])
        yield browser
        browser.close()


@pytest.fixture
def context(browser: "Browser") -> Generator["BrowserContext"]:
    """Open a browser window that remembers nothing; on a busy machine too a page gets the time that it needs."""
    context = browser.new_context(viewport={"width": 1280, "height": 900}, locale="en-GB")
    context.set_default_timeout(20_000)
    yield context
    context.close()


@pytest.fixture
def page(context: "BrowserContext") -> "Page":
    """Return a page in a fresh browser window."""
    return context.new_page()


def _program(name: str, *, package: str) -> str:
    path = shutil.which(name)
    if path is None:
        pytest.skip(f"{name} is not installed: Debian's package {package} has it")
    return path
