"""How a pack's capacity and those of its cells were measured, by what their readings say."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from packs.discharges import Discharged, alike, rate_of
from packs.terms import Measure, Stage
from packs.units import Quantity, amount, of
from shop.models import Job, Plan, Reading

from . import figures, said

DRAWN = "drawn "
"""What stands before the charge at which the voltage of a discharging pack was read."""
MOST_POINTS = 60
"""Points that are kept of a measured discharge; a curve on paper shows no more."""
Curve = Sequence[tuple[Decimal, Decimal]]


def thinned(curve: Curve) -> list[tuple[Decimal, Decimal]]:
    """Return at most MOST_POINTS of a curve of charge [mAh] and voltage [mV], both ends among them."""
    if len(curve) <= MOST_POINTS:
        return list(curve)
    last = len(curve) - 1
    kept = sorted({round(number * last / (MOST_POINTS - 1)) for number in range(MOST_POINTS)})
    return [curve[number] for number in kept]


def drawn_point(mah: Decimal) -> str:
    """Return the point at which a pack's voltage was read after so much charge was drawn."""
    return f"{DRAWN}{round(mah, 1).normalize():f} mAh"


def measured_curve(job: Job) -> list[tuple[Decimal, Decimal]]:
    """Return the measured discharge of a finished pack: charge drawn [mAh] and voltage [mV]; nothing where none was kept."""
    read = figures.of_points(job, Stage.FINAL_TEST, Measure.VOLTAGE)
    found = [
        (Decimal(point.removeprefix(DRAWN).removesuffix(" mAh")), mv)
        for point, mv in read.items()
        if point.startswith(DRAWN)
    ]
    return sorted(found)


def current_of(plan: Plan, words: str) -> Decimal | None:
    """Return the current of a pack's discharge [mA] by what is said of it; None where its rate is not."""
    rate = of_pack(plan, words).rate
    whole = of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah) * plan.parallel
    return None if rate is None else amount(rate * whole, "mA")


def of_pack(plan: Plan, words: str) -> Discharged:
    """Return what is said of the discharge of a finished pack; volts above those of one full cell are the pack's."""
    volts, amperes = said.cut_off(words), said.current(words)
    if volts is not None and volts > of(Measure.VOLTAGE, plan.cell_model.charge_limit_mv):
        volts = volts / plan.series
    return Discharged(said.rate(words) or _rate(amperes, plan, plan.parallel), volts, said.temperature(words))


def _rate(amperes: Quantity | None, plan: Plan, parallel: int) -> Quantity | None:
    if amperes is None:
        return None
    return rate_of(amperes, of(Measure.CAPACITY, plan.cell_model.rated_capacity_mah) * parallel)


def of_cells(plan: Plan) -> list[Discharged]:
    """Return what is said of how the capacity of each placed cell was measured, each way once."""
    cells = plan.positions.values("cell")
    rows = Reading.objects.still_telling().filter(cell__in=cells, measure=Measure.CAPACITY.value)
    newest = {cell: f"{method}, {how}" for cell, method, how in rows.values_list("cell", "method", "conditions")}
    ways = set(newest.values())
    return [
        Discharged(said.rate(way) or _rate(said.current(way), plan, 1), said.cut_off(way), said.temperature(way))
        for way in sorted(ways)
    ]


def pack_like_cells(plan: Plan, words: str) -> bool | None:
    """Return whether the pack was discharged as its cells were; None where that is not known of one of them."""
    return _all(alike(of_pack(plan, words), way) for way in of_cells(plan))


def unstated(plan: Plan) -> str:
    """Say what nobody wrote down of how the placed cells were discharged; nothing where all is known of each."""
    ways = of_cells(plan)
    if not ways:
        return "how the cells were discharged is not written down"
    names = {"rate": "rate", "cut_off": "cut-off", "temperature": "temperature"}
    open_ = [word for name, word in names.items() if any(getattr(way, name) is None for way in ways)]
    return f"not written down of the cells’ own test: {', '.join(open_)}" if open_ else ""


def _all(answers: Iterable[bool | None]) -> bool | None:
    found = list(answers)
    if False in found:
        return False
    return True if found and None not in found else None
