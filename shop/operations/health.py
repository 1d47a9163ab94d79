"""A pack is tested as it is, and nothing is taken out of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from packs.terms import Measure, Stage
from shop.bridge import rules
from shop.errors import ShopError
from shop.models import Instrument, Job, User

from .base import BENCH, lock_job, moment, require_stage, verb
from .readings import Taken, of_groups, require_count, require_possible, write_all
from .steps import StepResult, begin, conclude

END = "end of discharge"


@dataclass(frozen=True, kw_only=True)
class Discharge:
    """One discharge of the whole pack: what it gave, at which current, down to what, how warm."""

    capacity_mah: Decimal | None = None
    current_ma: Decimal | None = None
    end_mv: Decimal | None = None
    temperature_mdegc: Decimal | None = None


@verb(*BENCH)
def record_pack_test(
    *,
    job: Job,
    discharge: Discharge,
    pack_rest_mv: Decimal | None,
    groups_mv: Sequence[Decimal | None],
    by: User,
    resistance_uohm: Decimal | None = None,
    resistance_method: str = "",
    instrument: Instrument | None = None,
    measured_at: datetime | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> StepResult:
    """What is measured of a pack as it is goes into its health report; what is not is named there too."""
    at = moment(now)
    job = lock_job(job, version)
    require_stage(job, Stage.TEST_PACK)
    found = job.as_found
    readings: list[Taken] = [
        ("pack", Measure.CAPACITY, discharge.capacity_mah),
        ("pack", Measure.CURRENT, discharge.current_ma),
        (END, Measure.VOLTAGE, discharge.end_mv),
        ("pack", Measure.TEMPERATURE, discharge.temperature_mdegc),
        ("pack", Measure.REST_VOLTAGE, pack_rest_mv),
        *of_groups(Measure.REST_VOLTAGE, groups_mv),
        ("pack", Measure.DC_RESISTANCE, resistance_uohm),
    ]
    require_count(found.series, groups_mv)
    taken = sum(value is not None for _, _, value in readings)
    _require_complete(discharge, resistance_uohm, resistance_method, taken=taken)
    require_possible({f"group {n}": mv for n, mv in enumerate(groups_mv, start=1)}, found.cell_model)
    step = begin(job, Stage.TEST_PACK, by=by, at=at, measured_at=measured_at)
    write_all(
        readings,
        step=step,
        by=by,
        at=at,
        instrument=instrument,
        methods={Measure.DC_RESISTANCE: resistance_method.strip()},
    )
    findings = rules.pack_test(found, pack_rest_mv=pack_rest_mv, groups_mv=groups_mv, instrument=instrument)
    return conclude(step, findings, by=by, at=at)


def _require_complete(
    discharge: Discharge, resistance_uohm: Decimal | None, resistance_method: str, *, taken: int
) -> None:
    """A figure that says nothing without another one comes with it."""
    if not taken:
        raise ShopError("no_readings", "Write down at least one reading; without any there is nothing to report.")
    if discharge.capacity_mah is not None and discharge.current_ma is None:
        raise ShopError("current_missing", "Say at which current it was discharged.", field="current")
    if resistance_uohm is not None and not resistance_method.strip():
        raise ShopError("method_missing", "Say how the resistance was measured.", field="method")
