"""A fault is found by doing what the page says next, in a real browser.

The packs are invented; what each reading shows is added up by hand here, node by node, from the negative end.
"""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from packs.terms import Stage
from shop import models
from tests import line
from tests.journey.bench import Bench

pytestmark = pytest.mark.browser

UNDER_LOAD = "under the stated load"
Shown = Callable[[str, str, str], str]


def nodes(group: float, joint_2: float) -> dict[str, float]:
    """Voltage of every point of four groups above the board's negative input; all joints but the second are sound."""
    at, found = 0.0, {"board input −": 0.0}
    for number in range(1, 5):
        found[f"group {number} −"] = at
        at += group
        found[f"group {number} +"] = at
        at -= joint_2 if number == 2 else 0.0
    return found | {"board input +": at}


def resistive_joint(low: str, high: str, words: str) -> str:
    """Right at rest; at 5 A the joint between groups 2 and 3 loses a volt."""
    loaded = UNDER_LOAD in words.lower()
    if low.startswith("sensor"):
        return "10 kΩ"
    stack = nodes(3.58, 1.0) if loaded else nodes(3.70, 0.0)
    if low.startswith(("outlet", "board output")):
        return f"{stack['board input +'] - (0.1 if loaded else 0.0):.2f}"
    return f"{stack[high] - stack[low]:.2f}"


def latched_off(low: str, high: str, words: str) -> str:
    """Near empty, and the board off below its wake voltage of 12.4 V until it was charged above it."""
    if low.startswith("sensor"):
        return "10 kΩ"
    if low.startswith(("outlet", "board output")):
        return "13.6" if "supervised charge" in words else "0"
    stack = nodes(2.65 if UNDER_LOAD in words.lower() else 2.80, 0.0)
    return f"{stack[high] - stack[low]:.2f}"


def open_search(bench: Bench) -> models.Job:
    job = line.job_at(Stage.EXAMINE)
    bench.go(f"/jobs/{job.number}/examine/")
    bench.page.get_by_role("link", name="Find the fault").click()
    bench.press("State the pack")
    bench.fill({"Groups in series": "4", "Wake voltage of the board": "12.4 V", "Temperature of the cells": "21"})
    bench.fill({"Load you will draw": "5 A", "DC resistance of a sound group": "20 mΩ"})
    bench.fill({"Sensor at this temperature": "10 kΩ"})
    bench.choose(
        {
            "Chemistry": "lithium nickel manganese cobalt oxide (NMC)",
            "Where the board switches": "in the positive conductor",
        }
    )
    bench.press("Say what to measure")
    return job


@pytest.fixture
def wait_a_day(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Return what lets a day pass in the shop; whoever signed in stays so."""
    settings.SESSION_COOKIE_AGE *= 6

    def wait() -> None:
        tomorrow = timezone.now() + timedelta(days=1)
        monkeypatch.setattr(timezone, "now", lambda: tomorrow)

    return wait


def follow(bench: Bench, shown: Shown, wait_a_day: Callable[[], None]) -> list[str]:
    """Measure what the page says until nothing more can be told apart; return what stood first before each step."""
    first: list[str] = []
    for _ in range(12):
        slip = bench.page.locator(".slip")
        if slip.get_by_role("link", name="Tell a second fault apart").count():
            bench.says("One fault explains everything", "working explanation")
            slip.get_by_role("link", name="Tell a second fault apart").click()
        if "Nothing more can be told apart" in slip.inner_text():
            return first
        first.append(bench.page.locator(".suspects > li").first.inner_text())
        words = slip.locator("p").first.inner_text()
        if "a day after" in words:
            wait_a_day()
        for label in slip.locator("label[for^=id_value_]").all():
            low, high = re.split(r" to ", label.inner_text().strip())
            bench.page.locator(f"#{label.get_attribute('for')}").fill(shown(low, high, words))
        slip.locator("button.primary").click()
        bench.page.get_by_text("in the book.").wait_for()
    raise AssertionError(bench.text)


def test_a_resistive_joint_is_found_by_following_the_page(wait_a_day: Callable[[], None], bench: Bench) -> None:
    job = open_search(bench)
    first = follow(bench, resistive_joint, wait_a_day)
    assert all(one.startswith("Joint between groups 2 and 3: resistive") for one in first[4:])
    assert len(first) <= 8, (
        "what is left after outlet, its load, groups and the way under load are faults beside this one"
    )
    bench.says("Joint between groups 2 and 3: resistive", "Remake the joint; look for heat marks and torn welds.")
    assert bench.page.locator(".suspects > li").count() == 1
    bench.press("Go on with the job")
    assert bench.path == f"/jobs/{job.number}/"


def test_a_board_latched_off_is_charged_before_anything_is_replaced(
    wait_a_day: Callable[[], None], bench: Bench
) -> None:
    open_search(bench)
    assert len(follow(bench, latched_off, wait_a_day)) <= 6
    bench.says("Board: latched off below its wake voltage", "Never charge or discharge around the board.")
    bench.says("Charge through the board, supervised and at the current for low cells, before anything is replaced")
    assert bench.page.locator(".suspects > li").count() == 1
