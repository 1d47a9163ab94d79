"""Rules of the peel sample: today's, of this machine, schedule, pulse and strip, at both poles."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from packs.rules import Finding
from packs.terms import CellEnd, JointMethod, Peeled
from shop.models import PeelSample, Plan

from .asking import asking


@dataclass(frozen=True, kw_only=True)
class Weld:
    """What a welder is set to: machine, schedule, and the pulse as the machine counts it."""

    machine: str
    schedule: str
    pulse: Decimal

    def __str__(self) -> str:
        return f"{self.machine}, {self.schedule}, pulse {self.pulse.normalize():f}"


def isolated(plan: Plan, held: bool) -> list[Finding]:
    """Whether a block with a pierced can was put apart before anything else."""
    return [asking(plan)("join.breached_isolated", held)]


def todays_samples(plan: Plan, at: datetime) -> list[PeelSample]:
    """Return the samples of the day on the strip of a plan, oldest first."""
    begins = timezone.localtime(at).replace(hour=0, minute=0, second=0, microsecond=0)
    strip = ("strip_material", "strip_width_um", "strip_thickness_um")
    same = {name: getattr(plan, name) for name in strip}
    return list(PeelSample.objects.filter(at__gte=begins, at__lte=at, **same))


def sampled(plan: Plan, weld: Weld | None, at: datetime) -> list[Finding]:
    """Whether today's samples hold with this setting, pole by pole; nothing to ask where nothing is welded."""
    if plan.joint_method != JointMethod.SPOT_WELD:
        return []
    ask, of_setting = asking(plan), _of_setting(todays_samples(plan, at), weld)
    findings = []
    for end in CellEnd:
        here = [one for one in of_setting if one.end == end]
        at_pulse = [one for one in here if weld and one.pulse == weld.pulse]
        held = at_pulse[-1].peeled == Peeled.HELD if at_pulse else None
        against = _against(here, weld.pulse) if weld else None
        inside = against is None if weld and here else None
        where = f"{end.label} terminal"
        window = where if against is None else f"{where}, {_sample_told(against)}"
        findings += [ask("join.peel_sample", held, where=where), ask("join.pulse_window", inside, where=window)]
    return findings


def doubts(plan: Plan, weld: Weld, at: datetime) -> str:
    """Say pole by pole what speaks against welding with a setting by today's samples; nothing where they hold."""
    of_setting, told = _of_setting(todays_samples(plan, at), weld), []
    for end in CellEnd:
        here = [one for one in of_setting if one.end == end]
        at_pulse = [one for one in here if one.pulse == weld.pulse]
        against = _against(here, weld.pulse)
        if not at_pulse:
            told.append(f"no sample at the {end.label} terminal")
        elif against is not None:
            told.append(f"{end.label} terminal: {_sample_told(against)}")
    return "; ".join(told)


def _of_setting(samples: Sequence[PeelSample], weld: Weld | None) -> list[PeelSample]:
    if weld is None:
        return []
    return [one for one in samples if (one.machine, one.schedule) == (weld.machine, weld.schedule)]


def _against(samples: Sequence[PeelSample], pulse: Decimal) -> PeelSample | None:
    """Return the sample of one pole that puts a pulse outside: it did not hold at or above, or burnt through at or below.

    The newest of each pulse counts, so that dressed electrodes can be tried again; what burnt through stays for the day.
    """
    newest = {one.pulse: one for one in samples}
    burnt = (one for one in samples if one.peeled == Peeled.BURNT and one.pulse <= pulse)
    loose = (one for one in newest.values() if one.peeled == Peeled.LOOSE and one.pulse >= pulse)
    return next(burnt, None) or next(loose, None)


def _sample_told(sample: PeelSample) -> str:
    """Say what came of a sample: "pulse 15 of 09:12 did not hold"."""
    at = timezone.localtime(sample.at)
    return f"pulse {sample.pulse.normalize():f} of {at:%H:%M} {Peeled(sample.peeled).label}"
