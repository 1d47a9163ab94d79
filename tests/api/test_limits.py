"""Limits and written exceptions by the API."""

import pytest

from packs.rules import RULES
from packs.terms import Stage
from shop.bridge import rules
from tests import line
from tests.api.conftest import Caller

pytestmark = pytest.mark.django_db

SET = {"rule_id": "measure.rest_spread", "value": "40", "reason": "our meters are better"}


def test_every_rule_is_told_and_one_is_set(caller: Caller) -> None:
    before = caller.get("limits/")
    assert {one["rule_id"] for one in before["rules"]} == set(RULES)
    row = caller.post("limits/", SET, expect=201)
    assert (row["number"], row["old"], row["new"], row["own"]) == (1, "50.000", "40.000", True)
    after = caller.get("limits/")
    assert after["rule_set"] == rules.version() == f"{before['rule_set']}.1"
    (told,) = [one for one in after["rules"] if one["rule_id"] == "measure.rest_spread"]
    assert told["asks"].replace("\N{NARROW NO-BREAK SPACE}", " ") == "at most 40.0 mV"


def test_a_looser_limit_is_refused(caller: Caller) -> None:
    answer = caller.post("limits/", {"rule_id": "ladder.tap", "value": "200", "reason": "old meters"}, expect=409)
    assert answer["code"] == "limit_refused"


def test_an_exception_is_written_used_by_nothing_and_withdrawn(caller: Caller) -> None:
    job = line.job_at(Stage.TARGET)
    body = {"rule_id": "final.capacity", "reason": "for a lamp"}
    (number,) = caller.post(f"jobs/{job.number}/write-exception/", body)["created"]
    assert list(rules.in_force(job).exceptions) == ["final.capacity"]
    refused = caller.post(f"jobs/{job.number}/write-exception/", body | {"rule_id": "ladder.tap"}, expect=409)
    assert refused["code"] == "no_exception"
    caller.post(f"jobs/{job.number}/withdraw-exception/", {"exception": int(number), "reason": "for a drill"})
    assert not rules.in_force(job).exceptions
