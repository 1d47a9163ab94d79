"""Steps as tests take them, and what one that was stopped leaves behind."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from packs.terms import JointMethod, Outcome
from shop import models
from shop.bridge.rules import Finding, MadeAgain
from shop.operations import rebuild
from shop.operations.steps import StepResult
from tests import line


def stopped_by(result: StepResult, *rules: str) -> Finding:
    """Return the first stop of a step that was stopped by exactly these rules, in this order."""
    stops = [finding for finding in result.findings if finding.stops]
    assert [finding.rule_id for finding in stops] == list(rules)
    assert not result.done
    job = result.step.job
    job.refresh_from_db()
    assert job.stage == result.step.stage
    kept = [found for found in result.step.findings if found["outcome"] != Outcome.PASS and found["severity"] == "stop"]
    assert [found["rule_id"] for found in kept if found["outcome"] != "not_applicable"] == list(rules)
    assert job.log.last().verb == "step stopped"
    assert job.log.last().facts["stops"] == list(rules)
    return stops[0]


def rests(job: models.Job, voltages: Mapping[str, Any], **given: Any) -> StepResult:
    """Where a try before was stopped, it is told that the cells were levelled since."""
    mv = {name: Decimal(value) for name, value in voltages.items()}
    told = {"since": "levelled over 40 mΩ"} | given
    return rebuild.measure_before_joining(job=job, rest_voltages_mv=mv, by=line.technician(), **told)


def joined(job: models.Job, numbers: Iterable[int], **given: Any) -> StepResult:
    done = [rebuild.StripJoined(strip=number, spots=4) for number in numbers]
    if job.plans.get(state="accepted").joint_method == JointMethod.SPOT_WELD and not job.peel_samples.exists():
        line.peel(job)
    standard = {"strips": done, "weld": line.WELD, "second_look": True, "second_look_by": "Jon Adler"}
    standard |= {"again": MadeAgain(tries=2, cooled=True)}
    return rebuild.join(**{"job": job, "by": line.technician()} | standard | given)
