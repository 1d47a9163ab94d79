"""Before the old pack is cut: its charge, its board, and who works on one above 60 V DC."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

from packs.terms import Measure, Stage
from shop.bridge import rules
from shop.errors import Held, ShopError
from shop.models import Cell, Instrument, Job, PackAsFound, Step, StepOutcome, User

from . import log
from .base import BENCH, lock_job, moment, require_stage, save, verb
from .readings import of_groups, require_count, require_possible, write_all
from .steps import StepResult, begin

QUALIFIED, SECOND = "qualified for the voltage: ", "second person: "


@verb(*BENCH)
def prepare_dismantling(
    *,
    job: Job,
    confirmed: Mapping[str, bool],
    by: User,
    groups_mv: Sequence[Decimal | None] = (),
    qualified: str = "",
    second: str = "",
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """Nothing is cut before the pack is nearly empty, its board is saved, and one above 60 V DC has its people named."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.DISMANTLE)
    found = job.as_found
    _require_asked(found, confirmed)
    require_count(found.series, groups_mv)
    require_possible({f"group {n}": mv for n, mv in enumerate(groups_mv, start=1)}, found.cell_model)
    step = begin(job, Stage.DISMANTLE, by=by, at=at, measured_at=measured_at)
    write_all(of_groups(Measure.REST_VOLTAGE, groups_mv), step=step, by=by, at=at, instrument=instrument)
    answered = dict(confirmed)
    if rules.above_60_v(found):
        answered |= _people(qualified.strip(), second.strip())
    findings = rules.before_opening(found, answered)
    step.confirmed, step.findings = answered, rules.as_json(findings)
    step.rule_set, step.by = rules.version(), by
    save(step)
    stops = rules.stopping(findings)
    log.record("dismantling prepared", by=by, at=at, job=job, stops=[finding.rule_id for finding in stops])
    return StepResult(step, findings)


def require_prepared(job: Job) -> list[rules.Finding]:
    """Refuse to take out the first cell while something stands against cutting the pack; return what was asked.

    Nothing is asked once a cell is out.
    """
    found = [] if Cell.objects.removed_from_pack_of(job).exists() else standing(job)
    if stops := rules.stopping(found):
        raise Held(stops)
    return found


def standing(job: Job) -> list[rules.Finding]:
    """Return what the rules find of a pack that is to be cut, by what was confirmed so far."""
    return rules.before_opening(job.as_found, under_way(job).confirmed)


def under_way(job: Job) -> Step:
    """Return the try of dismantling that is under way, or an empty one."""
    tried = Step.objects.filter(job=job, stage=Stage.DISMANTLE.value, outcome=StepOutcome.UNDER_WAY.value).last()
    return tried or Step(job=job, stage=Stage.DISMANTLE.value)


def keep_findings(step: Step, found: Sequence[rules.Finding]) -> None:
    """What held when the first cell left the pack stays with the step."""
    if found:
        step.findings = rules.as_json(found)
        step.rule_set = rules.version()
        save(step)


def _require_asked(found: PackAsFound, confirmed: Mapping[str, bool]) -> None:
    named = {rules.QUALIFIED, rules.SECOND}
    if unknown := sorted(set(confirmed) - set(rules.opening_questions(found)) | set(confirmed) & named):
        raise ShopError("no_such_question", f"Nobody asks {', '.join(unknown)} here.", field="confirmed")


def _people(qualified: str, second: str) -> dict[str, bool]:
    """A second person is another one."""
    answered = {rules.QUALIFIED: bool(qualified), rules.SECOND: bool(second) and second.lower() != qualified.lower()}
    named = {f"{QUALIFIED}{qualified}": bool(qualified), f"{SECOND}{second}": bool(second)}
    return answered | {words: True for words, given in named.items() if given}
