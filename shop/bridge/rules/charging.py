"""Rules of the first charge: looks at intervals, groups in the middle and at the end."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise
from typing import Protocol

from packs.rules import Finding
from packs.terms import LITHIUM_ION, NICKEL, Measure, Stage
from packs.units import Quantity, of, to, ureg
from shop.bridge import cells
from shop.models import Plan, Reading, StepOutcome

from .asking import DATA_SHEET, SERIES_TIMES_LIMIT, asking, volts
from .building import Ask
from .limits import counted, counted_window, in_force, own_limit

ENDS_ITSELF = "first_charge.ends_itself"
STOPPED = "stopped early: "
"""What is kept with a step whose charge was stopped, before the reason."""
MID = "mid-charge "
"""What stands before the name of a group that was read at mid-charge."""


class Look(Protocol):
    """What is read at one look at a charging pack."""

    @property
    def minutes(self) -> int: ...
    @property
    def pack_voltage_mv(self) -> Decimal: ...
    @property
    def current_ma(self) -> Decimal: ...
    @property
    def hottest_mdegc(self) -> Decimal: ...


@dataclass(frozen=True)
class ChargeLimits:
    """What a pack, its groups, its current and its hottest spot are held against while it charges."""

    charger: Quantity | None
    pack: Quantity | None
    group: Quantity | None
    current: Quantity | None
    temperature: tuple[Quantity, Quantity] | None


def first_charge(
    plan: Plan,
    *,
    supervised: bool,
    charger_voltage_mv: Decimal,
    looks: Sequence[Look],
    groups_mv: Sequence[Decimal | None],
    mid_groups_mv: Sequence[Decimal | None] = (),
    stopped: bool = False,
    ends_itself: bool | None = None,
) -> list[Finding]:
    """Whether the first charge was supervised, read at intervals, stayed inside every limit and went to its end."""
    ask = asking(plan)
    limits = _by_data_sheet(plan)
    charger = volts(charger_voltage_mv)
    return [
        ask("first_charge.supervised", supervised),
        ask("first_charge.charger_voltage", charger, limit=limits.charger, limit_source=SERIES_TIMES_LIMIT),
        *(finding for number, look in enumerate(looks, start=1) for finding in _looked(ask, limits, number, look)),
        *_precharged(plan, looks),
        *_formed(plan, looks, ends_itself=ends_itself),
        ask("first_charge.completed", not stopped),
        *_overcharged(plan),
        *([] if stopped else [*_at_intervals(plan, looks), *_mid_groups(plan, mid_groups_mv)]),
        *([] if stopped else _charged_groups(plan, groups_mv)),
    ]


def _overcharged(plan: Plan) -> list[Finding]:
    """Ask about a group that was charged above what its cells may ever have, in this try or one before."""
    highest, source = cells.highest_ever(plan.cell_model)
    if highest is None or plan.cell_model.chemistry not in LITHIUM_ION:
        return []
    rows = Reading.objects.filter(job=plan.job, stage=Stage.FIRST_CHARGE.value, measure=Measure.VOLTAGE.value)
    counting = rows.filter(corrected_by__isnull=True, withdrawal__isnull=True, point__contains="group ")
    worst = counting.exclude(step__outcome=StepOutcome.GIVEN_UP.value).order_by("-value", "pk").first()
    if worst is None or worst.value <= to(Measure.VOLTAGE, highest):
        return []
    return [
        asking(plan)(
            "first_charge.overcharged_group",
            volts(worst.value),
            limit=highest,
            limit_source=source,
            where=worst.point.removeprefix(MID),
        )
    ]


def _at_intervals(plan: Plan, looks: Sequence[Look]) -> list[Finding]:
    """Ask when the pack was looked at: at the start, often enough, in the middle; the last look is at the end."""
    ask, at = asking(plan), sorted(look.minutes for look in looks)
    gaps = [ureg.Quantity(later - earlier, "minute") for earlier, later in pairwise(at)]
    quarter = (at[-1] - at[0]) / 4
    middle = any(at[0] < minute < at[-1] and at[0] + quarter <= minute <= at[-1] - quarter for minute in at)
    return [
        ask("first_charge.look_at_start", ureg.Quantity(at[0], "minute")),
        ask(_interval_rule(plan), max(gaps, default=None)),
        ask("first_charge.look_at_mid", middle),
    ]


def look_interval(plan: Plan) -> Quantity:
    """Return the longest time there may be between two looks."""
    return own_limit(_interval_rule(plan))


def _interval_rule(plan: Plan) -> str:
    nickel = plan.cell_model.chemistry in NICKEL
    return "first_charge.forming_interval" if nickel else "first_charge.look_interval"


def has_mid_groups(plan: Plan) -> bool:
    """Whether groups are read at mid-charge: of lithium-ion; the voltage of a nickel cell on charge tells little."""
    return plan.cell_model.chemistry in LITHIUM_ION


def _mid_groups(plan: Plan, groups_mv: Sequence[Decimal | None]) -> list[Finding]:
    if not has_mid_groups(plan):
        return []
    ask, top = asking(plan), _by_data_sheet(plan).group
    over = [
        ask("first_charge.group_voltage", volts(mv), limit=top, limit_source=DATA_SHEET, where=f"{MID}group {number}")
        for number, mv in enumerate(groups_mv, start=1)
        if mv is not None
    ]
    return [*over, ask("first_charge.mid_spread", _spread(plan, groups_mv))]


def _spread(plan: Plan, groups_mv: Sequence[Decimal | None]) -> Quantity | None:
    """Return how far the groups lie apart; None where one is missing."""
    known = [value for value in groups_mv if value is not None]
    return volts(max(known) - min(known)) if len(known) == plan.series else None


def _precharged(plan: Plan, looks: Sequence[Look]) -> list[Finding]:
    """Ask about the looks at which the groups were, on average, below the precharge threshold; none where none was."""
    ask, known, model = asking(plan), cells.limits(plan.cell_model), cells.model(plan.cell_model)
    if known.precharge_below is None or known.precharge_rate is None or model.rated_capacity is None:
        return []
    threshold = to(Measure.VOLTAGE, known.precharge_below) * plan.series
    low = [(number, look) for number, look in enumerate(looks, start=1) if look.pack_voltage_mv < threshold]
    most = (known.precharge_rate * model.rated_capacity * plan.parallel).to("mA")
    findings = [
        ask(
            "first_charge.precharge_current",
            of(Measure.CURRENT, look.current_ma),
            limit=most,
            limit_source="chemistry",
            where=f"look {number}",
        )
        for number, look in low
    ]
    if low:
        lasted = max(look.minutes for _, look in low) - min(look.minutes for look in looks)
        findings.append(ask("first_charge.precharge_time", ureg.Quantity(lasted, "minute")))
    return findings


def _formed(plan: Plan, looks: Sequence[Look], *, ends_itself: bool | None) -> list[Finding]:
    """Ask how a nickel pack was formed: slowly, long enough, by a charger that ends by itself."""
    if plan.cell_model.chemistry not in NICKEL:
        return []
    ask = asking(plan)
    most = of(Measure.CURRENT, plan.cell_model.rated_capacity_mah * plan.parallel / 10)
    currents = [
        ask(
            "first_charge.forming_current",
            of(Measure.CURRENT, look.current_ma),
            limit=most,
            limit_source=DATA_SHEET,
            where=f"look {number}",
        )
        for number, look in enumerate(looks, start=1)
    ]
    lasted = ureg.Quantity(max(look.minutes for look in looks), "minute")
    return [ask(ENDS_ITSELF, ends_itself), *currents, ask("first_charge.forming_time", lasted)]


def charge_limits(plan: Plan) -> ChargeLimits:
    """Return what a pack is held against while it charges; None where data sheet or chemistry do not say."""
    rules, known = in_force(plan.job), _by_data_sheet(plan)
    return ChargeLimits(
        charger=counted(rules, "first_charge.charger_voltage", known.charger),
        pack=counted(rules, "first_charge.pack_voltage", known.pack),
        group=counted(rules, "first_charge.group_voltage", known.group),
        current=counted(rules, "first_charge.current", known.current),
        temperature=counted_window(rules, "first_charge.temperature", known.temperature),
    )


def _by_data_sheet(plan: Plan) -> ChargeLimits:
    """Return the limits before the rules count them. Nickel is charged by current: its voltage sets no limit."""
    current = cells.model(plan.cell_model).max_charge_current
    lithium = plan.cell_model.chemistry in LITHIUM_ION
    full = cells.pack_figures(plan).voltage_high if lithium else None
    return ChargeLimits(
        charger=full,
        pack=full,
        group=of(Measure.VOLTAGE, plan.cell_model.charge_limit_mv) if lithium else None,
        current=None if current is None else current * plan.parallel,
        temperature=cells.limits(plan.cell_model).charging_window,
    )


def _looked(ask: Ask, limits: ChargeLimits, number: int, look: Look) -> list[Finding]:
    where = f"look {number}"
    temperature = of(Measure.TEMPERATURE, look.hottest_mdegc)
    return [
        ask(
            "first_charge.pack_voltage",
            volts(look.pack_voltage_mv),
            limit=limits.pack,
            limit_source=SERIES_TIMES_LIMIT,
            where=where,
        ),
        ask(
            "first_charge.current",
            of(Measure.CURRENT, look.current_ma),
            limit=limits.current,
            limit_source=DATA_SHEET,
            where=where,
        ),
        ask(
            "first_charge.temperature",
            temperature,
            limit=limits.temperature,
            limit_source="charging temperatures of the chemistry",
            where=where,
        ),
    ]


def _charged_groups(plan: Plan, groups_mv: Sequence[Decimal | None]) -> list[Finding]:
    ask = asking(plan)
    top = _by_data_sheet(plan).group
    given = [*groups_mv, *[None] * (plan.series - len(groups_mv))]
    each = [
        ask("first_charge.group_voltage", volts(value), limit=top, limit_source=DATA_SHEET, where=f"group {group}")
        for group, value in enumerate(given, start=1)
    ]
    return [*each, ask("first_charge.group_spread", _spread(plan, given))]
