"""Peel samples, and who looked a second time before anything was welded or bolted."""

from collections.abc import Mapping
from datetime import datetime

from packs.terms import CellEnd, JointMethod, Peeled, Specimen, Stage
from packs.units import ureg
from shop.bridge import rules
from shop.bridge.rules import Weld
from shop.errors import ShopError
from shop.models import Job, PeelSample, User

from . import incidents, log
from .base import BENCH, lock_job, moment, require_stage, save, standing_plan, verb

SAMPLED_AT = (Stage.PLACE, Stage.MEASURE, Stage.JOIN)


@verb(*BENCH)
def record_samples(
    *,
    job: Job,
    weld: Weld,
    specimen: Specimen,
    peeled: Mapping[CellEnd, Peeled],
    by: User,
    version: int | None = None,
    now: datetime | None = None,
) -> list[PeelSample]:
    """A sample of this strip is welded and peeled off at each pole, on a discharged scrap can or steel: never on a cell."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, *SAMPLED_AT)
    incidents.require_released(weld.machine, "welder", by=by, field="machine")
    plan = standing_plan(job)
    if plan.joint_method != JointMethod.SPOT_WELD:
        raise ShopError("not_welded", "Nothing is welded on this pack.", field="peeled")
    if not peeled:
        raise ShopError("no_sample", "Say what came of the sample at one pole at least.", field="positive")
    samples = [
        save(
            PeelSample(
                job=job,
                machine=weld.machine.strip(),
                schedule=weld.schedule.strip(),
                pulse=weld.pulse,
                strip_material=plan.strip_material,
                strip_width_um=plan.strip_width_um,
                strip_thickness_um=plan.strip_thickness_um,
                end=end.value,
                specimen=specimen.value,
                peeled=peeled[end].value,
                at=at,
                by=by,
            )
        )
        for end in CellEnd
        if end in peeled
    ]
    log.record(
        "peel samples", by=by, at=at, job=job, weld=str(weld), peeled={end.value: peeled[end].value for end in peeled}
    )
    return samples


def second_look(done: bool, name: str, pause_min: int | None, by: User) -> rules.SecondLook:
    """Return who looked again: another person by name, or the same one after a pause."""
    pause = None if pause_min is None else ureg.Quantity(pause_min, "minute")
    return rules.SecondLook(done=done, by_another=done and _another(name, by), pause=pause)


def _another(name: str, by: User) -> bool:
    return bool(name.strip()) and name.strip().lower() not in {str(by).lower(), by.username.lower()}
