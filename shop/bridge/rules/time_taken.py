"""Whether a step can have been done since the one before: a charge of 105 minutes takes 105 minutes."""

from datetime import datetime, timedelta
from decimal import Decimal

from packs.terms import Stage
from packs.units import show, ureg
from shop.bridge import discharges
from shop.models import Job, Plan, Step, StepOutcome

TOO_SOON = "written down too soon: "
"""What stands before the words on a step that took longer than there was time for."""


def too_soon(job: Job, stage: Stage, at: datetime, took: timedelta) -> str:
    """Say that a step took longer than the time since the step before; nothing where there was time enough.

    ``at`` is when it was read: earlier than it was entered where it stood on paper first. Read before the step before was
    entered, that one was entered later too.
    """
    done = Step.objects.filter(job=job, outcome=StepOutcome.DONE.value).exclude(stage=stage.value)
    before = done.order_by("-ended_at").first()
    if before is None or before.ended_at is None or before.ended_at > at or at - before.ended_at >= took:
        return ""
    passed, label = at - before.ended_at, Stage(before.stage).label
    return f"{TOO_SOON}it took {_minutes(took)}, and {_minutes(passed)} passed since “{label}” was done"


def test_took(plan: Plan, capacity_mah: Decimal | None, conditions: str, hours: Decimal | None) -> timedelta:
    """Return how long a final test takes at least: the discharge, as far as its current is known, and the rest after it."""
    current = discharges.current_of(plan, conditions)
    known = capacity_mah is not None and current is not None and current > 0
    drawn = float(capacity_mah / current) if known and capacity_mah is not None and current is not None else 0.0
    return timedelta(hours=drawn + float(hours or 0))


def _minutes(time: timedelta) -> str:
    minutes = time.total_seconds() / 60
    if minutes < 120:
        return str(show(ureg.Quantity(int(minutes), "minute"), digits=0, locale="en", symbol="min"))
    return str(show(ureg.Quantity(minutes / 60, "hour"), digits=1, locale="en", symbol="h"))
