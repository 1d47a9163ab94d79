"""Rules of a half-built pack that is parked, and of taking it up again."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from statistics import median

from packs.rules import Finding
from packs.terms import Stage
from shop.models import Joint, JointState, Plan

from .asking import asking, volts

Voltages = Sequence[Decimal | None]


def is_joined(plan: Plan | None) -> bool:
    """Whether cells of the pack hang together already, so that its groups have a voltage."""
    return plan is not None and Joint.objects.filter(position__plan=plan, state=JointState.MADE.value).exists()


def parked(plan: Plan, *, insulated: bool, supply_off: bool | None, groups_mv: Voltages) -> list[Finding]:
    """Whether the pack may be left: ends covered, groups read where they are joined, supply off where it charges."""
    ask = asking(plan)
    charging = [ask("park.supply_off", supply_off)] if plan.job.stage == Stage.FIRST_CHARGE else []
    return [ask("park.ends_insulated", insulated), *charging, *_measured(plan, groups_mv)]


def taken_up(plan: Plan, *, before: Mapping[str, Decimal], groups_mv: Voltages, supervised: bool) -> list[Finding]:
    """Whether work may go on: groups read again, none fell behind the others, somebody beside a pack that charges."""
    ask = asking(plan)
    charging = [ask("first_charge.supervised", supervised)] if plan.job.stage == Stage.FIRST_CHARGE else []
    return [*charging, *_measured(plan, groups_mv), *_fallen(plan, before, groups_mv)]


def _measured(plan: Plan, groups_mv: Voltages) -> list[Finding]:
    if not is_joined(plan):
        return []
    count = sum(value is not None for value in groups_mv)
    return [asking(plan)("park.groups_measured", count, limit=plan.series, limit_source="target pack")]


def _fallen(plan: Plan, before: Mapping[str, Decimal], groups_mv: Voltages) -> list[Finding]:
    """Ask how far each group fell beyond the middle one: after a charge all of them fall a little."""
    falls = {
        number: before[f"group {number}"] - value
        for number, value in enumerate(groups_mv, start=1)
        if value is not None and f"group {number}" in before
    }
    if not falls:
        return []
    usual = median(falls.values())
    ask = asking(plan)
    return [
        ask("park.group_falls_behind", volts(fall - usual), where=f"group {number}") for number, fall in falls.items()
    ]
