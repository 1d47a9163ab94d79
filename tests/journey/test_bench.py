"""The journeys would hear it if the browser complained."""

import pytest

from tests.journey.bench import Bench

pytestmark = pytest.mark.browser


def test_a_breach_of_the_content_policy_a_fault_of_a_script_and_a_missing_page_are_heard(bench: Bench) -> None:
    bench.page.evaluate("() => document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">red</p>')")
    bench.page.evaluate("() => setTimeout(() => { throw new Error('broken') })")
    bench.page.wait_for_timeout(200)
    bench.go("/jobs/999/")
    heard = "\n".join(bench.complaints)
    assert "policy: style-src" in heard
    assert "script: " in heard
    assert "broken" in heard
    assert "404" in heard
    bench.complaints.clear()
