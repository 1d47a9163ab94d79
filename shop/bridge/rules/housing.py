"""Rules of the shut case."""

from collections.abc import Mapping

from packs.rules import RULES, Finding
from packs.terms import Outcome, Stage
from shop.models import Job, Plan

from .asking import asking

HOUSING_RULES = (
    "housing.fixed",
    "housing.wires",
    "housing.insulation",
    "housing.vent_path",
    "housing.strain_relief",
    "housing.sensors",
    "housing.gasket",
)
FLAT_CELLS = "housing.compression"
PHOTOGRAPHS = "housing.photographs"
THERMAL_CUTOFF = "housing.thermal_cutoff"
METAL = "metal at the case"
"""What is written down when the case is closed, for the insulation to be measured at the final test."""


def housing(plan: Plan, confirmed: Mapping[str, bool]) -> list[Finding]:
    """Whether the case may be shut: what somebody looked at, and that the open case was photographed."""
    return [*_looked_at(plan, confirmed), asking(plan)(PHOTOGRAPHS, photographed(plan.job))]


def photographed(job: Job) -> bool:
    """Whether a photograph of the open case is kept."""
    return job.photographs.standing().filter(stage=Stage.HOUSING.value).exists()


def _looked_at(plan: Plan, confirmed: Mapping[str, bool]) -> list[Finding]:
    ask = asking(plan)
    return [ask(rule, confirmed.get(rule)) for rule in (*HOUSING_RULES, FLAT_CELLS, THERMAL_CUTOFF)]


def housing_questions(plan: Plan) -> list[tuple[str, str]]:
    """Return the rules of the housing step that apply to this pack, and the words to confirm them with."""
    asked = [finding for finding in _looked_at(plan, {}) if finding.outcome is not Outcome.NOT_APPLICABLE]
    return [(finding.rule_id, RULES[finding.rule_id].holds_words) for finding in asked]
