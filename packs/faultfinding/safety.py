"""When no load is drawn from a pack, and when it is not charged: what has to be known of its groups first."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import inf, nan

from packs.chemistry import Recovery, limits, recovery
from packs.errors import MissingFact
from packs.faultfinding.diagnosis import Diagnosis
from packs.faultfinding.faults import Fault, PartKind, State
from packs.faultfinding.measurements import Access, Measurement, ends
from packs.faultfinding.model import PackModel, Switch
from packs.faultfinding.narrowing import error_of
from packs.faultfinding.readings import Circumstance, Place, Reading
from packs.units import show, ureg

LOADED = frozenset({Circumstance.LOAD, Circumstance.OUTLET_LOAD, Circumstance.WOKEN, Circumstance.CHARGED})
DISCHARGING = frozenset({Circumstance.LOAD, Circumstance.OUTLET_LOAD})  # with no charger at hand
AT_REST = frozenset({Circumstance.REST, Circumstance.NEXT_DAY})


@dataclass(frozen=True)
class Withheld:
    """Why no load is drawn: from an open pack alone, or at the shut outlet too; of any kind, or without the charger alone."""

    why: str
    at_outlet: bool = True
    loads: frozenset[Circumstance] = LOADED

    def holds_back(self, one: Measurement) -> bool:
        """Whether a measurement is not offered for this reason."""
        return one.circumstance in self.loads and (self.at_outlet or one.access is not Access.SHUT)


def withheld(found: Diagnosis) -> tuple[Withheld, ...]:
    """Return every reason for which no load is drawn from a pack now, by its readings [V].

    None through a group that stands too low, did not settle, was driven backwards or may be shorted: the others would
    drive it backwards, which heats and may vent it. None without the charger while a group is empty. None from an open
    pack of which a group was never looked at. None
    at the outlet either while groups are unknown, unless the open voltage there lies where so many groups work; that
    tells of their sum only, and is taken as what the device itself would draw on. It is no promise of safety.

    References
    ----------
    Common practice, no source; the line of no return as ``packs.chemistry.recovery``.
    """
    model = found.model
    reasons = [*(Withheld(why) for why in _of_groups(found)), *_of_empty_ones(found)]
    if not model.load_stated:
        reasons.append(Withheld("No load is stated that these cells are known to stand: state the load you will draw."))
    if found.readings and not found.possible:
        reasons.append(
            Withheld("Nothing explains the readings together, so that the state of the groups is not known.")
        )
    missing = [n for n in range(1, model.series + 1) if n not in groups_at_rest(model, found.readings)]
    if missing:
        unknown = f"{_names(missing)} {'was' if len(missing) == 1 else 'were'} not read at rest"
        unknown = "No group was read at rest" if len(missing) == model.series else unknown
        outlet = _outlet_silent(found)
        if outlet:
            reasons.append(Withheld(f"{unknown}, and {outlet}: no load before that."))
        else:
            reasons.append(Withheld(f"{unknown}: no load is drawn from an open pack before.", at_outlet=False))
    return tuple(reasons)


def _of_groups(found: Diagnosis) -> Iterator[str]:
    model = found.model
    at_rest = groups_at_rest(model, found.readings)
    loaded = _groups_read(model, found.readings, frozenset({Circumstance.LOAD}))
    spent = {n: one for n, one in at_rest.items() if _spent(model, one)}
    for number, one in spent.items():
        yield f"Group {number} reads {_volts(one)} at rest, too low to come back: the others would drive it backwards."
    if unsettled := [n for n, one in at_rest.items() if one.value is None]:
        yield f"{_names(unsettled)} did not settle at rest: what {_it(unsettled)} would do under load is not known."
    for number, one in loaded.items():
        if number not in spent and _volts_of(one, model.figures.highest) < model.figures.shorted_below:
            yield f"Group {number} fell to {_volts(one)} under load: the others drive it backwards."
    shorted = {fault.number for fault in _explaining(found) if fault.state is State.SHORTED}
    if suspected := sorted(shorted - set(spent) - set(unsettled)):
        yield f"{_names(suspected)} may be shorted: that is among the simplest explanations of what was read."


def _of_empty_ones(found: Diagnosis) -> Iterator[Withheld]:
    model = found.model
    end = model.end_of_discharge
    known = {n: one for n, one in groups_at_rest(model, found.readings).items() if not _spent(model, one)}
    empty = [n for n in empty_groups(model, found.readings) if n in known]
    near = [n for n, one in known.items() if n not in empty and _volts_of(one, inf) < model.least_for_a_load]
    first = "first a supervised charge, then a load" if chargeable(model, found.readings) else "no load"
    if empty:
        rests = "rests" if len(empty) == 1 else "rest"
        why = f"{_names(empty)} {rests} below the end of discharge at {show(end)}: {first}."
        yield Withheld(why, loads=DISCHARGING)
    if near:
        rests = "rests" if len(near) == 1 else "rest"
        why = (
            f"{_names(near)} {rests} so near the end of discharge at {show(end)} that a worn one would fall below it "
            f"under {show(model.load)}: {first}."
        )
        yield Withheld(why, loads=DISCHARGING)


def _explaining(found: Diagnosis) -> Iterator[Fault]:
    best = found.best if found.possible else ()
    return (fault for faults in best for fault in faults if fault.kind is PartKind.GROUP)


def _outlet_silent(found: Diagnosis) -> str:
    """Why the open voltage at the outlet does not show that the groups are within their working range; else nothing."""
    model, pair = found.model, ends(Place.OUTLET)
    if model.outlet_voltage is not None:
        return "a regulated outlet says nothing of the stack"
    if model.switch is Switch.LOW_SIDE:
        return "behind a board in the negative conductor an outlet without load proves nothing"
    here = [one for one in found.readings if (one.low, one.high) == pair and one.circumstance is Circumstance.REST]
    if not here:
        return "neither was the outlet"
    least = model.series * float(model.end_of_discharge.to("V").magnitude)
    most = model.series * model.figures.level[1]
    volts = _volts_of(here[-1], nan)
    if least <= volts <= most + error_of(most, model.figures):
        return ""
    span = f"{show(ureg.Quantity(least, 'V'))} to {show(ureg.Quantity(most, 'V'))}"
    return f"the outlet reads {_volts(here[-1])} at rest, not within {span}, where {model.series} groups work"


def spent_groups(model: PackModel, readings: Iterable[Reading]) -> dict[int, Reading]:
    """Return the groups that were read at rest, steady [V], below the line under which nothing is charged again.

    What was read through a joint and may be what an open one leaves on the meter is no group's own voltage.

    References
    ----------
    Common practice, no source: the line as ``packs.chemistry.recovery``.
    """
    return {
        number: one
        for number, one in groups_at_rest(model, readings).items()
        if _spent(model, one) and (_on_its_own(one) or _volts_of(one, 0.0) > model.figures.floating)
    }


def empty_groups(model: PackModel, readings: Iterable[Reading]) -> list[int]:
    """Return the groups that were read at rest, steady, below the end of discharge [V].

    References
    ----------
    Common practice, no source: the data sheet of the cells, else ``packs.chemistry.limits``.
    """
    least = float(model.end_of_discharge.to("V").magnitude)
    return [n for n, one in groups_at_rest(model, readings).items() if _volts_of(one, inf) < least]


def spent_line(model: PackModel, readings: Iterable[Reading]) -> str:
    """Say which groups are past charging and what becomes of their cells [V]; nothing where none is.

    References
    ----------
    The line as ``packs.chemistry.recovery``; the rest is common practice, no source.
    """
    spent = spent_groups(model, readings)
    if not spent:
        return ""
    stand = "stands" if len(spent) == 1 else "stand"
    shown = ", ".join(dict.fromkeys(_volts(one) for one in spent.values()))
    line = limits(model.chemistry).reject_below
    below = "next to nothing" if line is None else f"below {show(line)}, the voltage of recovery"
    return (
        f"Cells spent: {_names(list(spent)).lower()} {stand} at {shown}, {below}. Never charge {_it(list(spent), 'them')}, "
        "whatever the board does: these cells are rejected and go to disposal; the lead decides about the pack."
    )


def chargeable(model: PackModel, readings: Iterable[Reading]) -> bool:
    """Whether every group was read at rest, steady [V], none below the line where nothing is charged again.

    Nor above its charge limit, as far as the meter can tell.

    References
    ----------
    Common practice, no source; the line itself as ``packs.chemistry.recovery``.
    """
    known = groups_at_rest(model, readings)
    return len(known) == model.series and all(_recovers(model, one) for one in known.values())


def charge_line(model: PackModel, readings: Sequence[Reading]) -> str:
    """Say why the pack is not charged as its groups stand [V], or that their voltages allow it; the line in volts.

    References
    ----------
    The line as ``packs.chemistry.recovery``; the rest is common practice, no source.
    """
    line, known = limits(model.chemistry).reject_below, groups_at_rest(model, readings)
    if line is None:
        return (
            "Do not charge: for this chemistry no voltage of recovery is known here; the data sheet of the cells says."
        )
    if spent := spent_line(model, readings):
        return spent
    missing = [n for n in range(1, model.series + 1) if n not in known]
    if missing:
        which = "every group" if len(missing) == model.series else _names(missing).lower()
        return f"Before any charge, read {which} at rest: each has to stand at {show(line)}, the voltage of recovery, or above."
    if wrong := [n for n, one in known.items() if not _recovers(model, one)]:
        why = (
            f"stands at {show(line)} to its charge limit"
            if len(wrong) == 1
            else f"stand at {show(line)} to their charge limit"
        )
        return f"Do not charge: it is not known that {_names(wrong).lower()} {why}, steady and on the own terminals."
    return (
        f"Every group stands at {show(line)}, the voltage of recovery, or above: a supervised charge through the board is "
        "what comes next, once there is no danger sign and the cells lie within their charging temperatures."
    )


def groups_at_rest(model: PackModel, readings: Iterable[Reading]) -> dict[int, Reading]:
    """Return the last reading at rest [V] of each group, on its own terminals or through the joint below it.

    References
    ----------
    Common practice, no source.
    """
    return _groups_read(model, readings, AT_REST)


def _groups_read(
    model: PackModel, readings: Iterable[Reading], circumstances: frozenset[Circumstance]
) -> dict[int, Reading]:
    spans = {(2 * number - 1, 2 * number): number for number in range(1, model.series + 1)}
    spans |= {(2 * number, 2 * number + 2): number + 1 for number in range(1, model.series)}
    counted = [one for one in readings if one.circumstance in circumstances]
    found = {spans[span]: one for one in counted if (span := one.span(model.series)) in spans}
    return dict(sorted(found.items()))


def _recovers(model: PackModel, reading: Reading) -> bool:
    try:
        if reading.value is None or recovery(model.chemistry, reading.value) is Recovery.REJECT:
            return False
        limit, volts = limits(model.chemistry).charge_limit, _volts_of(reading, 0.0)
        return limit is None or volts - error_of(volts, model.figures) <= float(limit.to("V").magnitude)
    except MissingFact:
        return False


def _spent(model: PackModel, reading: Reading) -> bool:
    """Whether a group stands so low that others would drive it backwards; by what a short leaves where no line is known."""
    if reading.value is None:
        return False
    try:
        return recovery(model.chemistry, reading.value) is Recovery.REJECT
    except MissingFact:
        return _volts_of(reading, 0.0) < model.figures.shorted_below


def _volts_of(reading: Reading, unsteady: float) -> float:
    return unsteady if reading.value is None else float(reading.value.to("V").magnitude)


def _volts(reading: Reading) -> str:
    return "nothing steady" if reading.value is None else str(show(reading.value.to("V")))


def _names(numbers: list[int]) -> str:
    if len(numbers) == 1:
        return f"Group {numbers[0]}"
    *most, last = map(str, numbers)
    return f"Groups {', '.join(most)} and {last}"


def _it(numbers: list[int], several: str = "they") -> str:
    return "it" if len(numbers) == 1 else several


def _on_its_own(reading: Reading) -> bool:
    return reading.low.number == reading.high.number
