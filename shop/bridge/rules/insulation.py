"""Whether insulation between a pack and metal that can be touched is measured, and what the rule says of it."""

from decimal import Decimal

from packs.rules import Finding
from packs.units import ureg
from shop.bridge.cautions import HIGH_VOLTAGE_MV
from shop.models import Job, PackAsFound

from .limits import in_force
from .opening import above_60_v


def insulation_due(job: Job, found: PackAsFound | None, *, metal: bool | None) -> bool:
    """Whether it is measured: metal that can be touched, or more than 60 V DC."""
    if metal:
        return True
    if found is not None:
        return above_60_v(found)
    named = (job.device.charger_voltage_mv, job.device.rated_voltage_mv)
    return any(mv is not None and mv > HIGH_VOLTAGE_MV for mv in named)


def insulated(
    job: Job, found: PackAsFound | None, *, metal: bool | None, insulation_kohm: Decimal | None
) -> list[Finding]:
    """Return what the rule finds of a measured insulation, and of one that was not measured where it is due."""
    if insulation_kohm is None:
        return [in_force(job).check("examine.insulation", None)] if insulation_due(job, found, metal=metal) else []
    return [in_force(job).check("examine.insulation", ureg.Quantity(float(insulation_kohm), "kiloohm"))]
