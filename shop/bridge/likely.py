"""What hardly any cell of its model has. Such a number may be a true finding, so it is asked back and not refused."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from packs import likely
from packs.terms import CellFormat, Measure
from packs.units import Quantity, of, show, ureg
from shop.models import CellModel, Job

from . import cells

WRITTEN: Mapping[Measure, tuple[Decimal, str, str]] = MappingProxyType(
    {
        Measure.CAPACITY: (Decimal(1), "mAh", "Ah"),
        Measure.DC_RESISTANCE: (Decimal(1000), "mΩ", "Ω"),
        Measure.AC_RESISTANCE: (Decimal(1000), "mΩ", "Ω"),
        Measure.REST_VOLTAGE: (Decimal(1), "mV", "V"),
        Measure.MASS: (Decimal(1000), "g", "kg"),
    }
)
"""How a number is written out in full: by what the stored one is divided, its unit, and the one a thousand times as large."""


def doubt(measure: Measure, value: Decimal, model: CellModel) -> str:
    """Ask whether a reading of one cell is meant; nothing where cells of the model have such ones."""
    why = _why(measure, Decimal(value), model)
    return _asked(measure, Decimal(value), why, lambda other: not _why(measure, other, model)) if why else ""


def jump_doubt(before: Decimal, value: Decimal) -> str:
    """Ask whether a capacity is meant that is far from what the same cell gave before; nothing where it is near."""

    def near(mah: Decimal) -> bool:
        return likely.is_likely_after(of(Measure.CAPACITY, mah), of(Measure.CAPACITY, before))

    if near(value):
        return ""
    why = f"is far from the {written(Measure.CAPACITY, before)} that this cell gave last"
    return _asked(Measure.CAPACITY, value, why, near)


def group_doubt(mah: Decimal, model: CellModel, parallel: int) -> str:
    """Say why a group cannot have given so much; nothing where it can."""
    rated = Decimal(model.rated_capacity_mah) * parallel
    if likely.is_likely_group(of(Measure.CAPACITY, mah), of(Measure.CAPACITY, rated)):
        return ""
    given, most = (written(Measure.CAPACITY, value) for value in (mah, rated))
    return f"{given} cannot be right: a group of this pack is rated at {most}. Check the number and its unit."


def pack_capacity_doubt(value: Decimal, model: CellModel, parallel: int) -> str:
    """Ask whether the capacity of a pack is meant; nothing where cells in parallel have such ones."""

    def why(mah: Decimal) -> str:
        return _far_from_rated(mah, Decimal(model.rated_capacity_mah) * parallel, "this pack")

    return _asked(Measure.CAPACITY, Decimal(value), why(Decimal(value)), lambda other: not why(other))


def model_doubts(facts: Mapping[str, Any]) -> dict[str, str]:
    """Ask, by field, whether the figures of a cell model are meant; nothing where cells have such ones."""
    rated = Decimal(facts["rated_capacity_mah"])
    why = _unlikely_model(rated, facts)
    if not why:
        return {}
    message = _asked(Measure.CAPACITY, rated, why, lambda other: not _unlikely_model(other, facts))
    return {"rated_capacity_mah": message}


def written(measure: Measure, stored: Decimal) -> str:
    """Return a stored number with all its digits, so that a slipped one is seen."""
    by, unit, _ = WRITTEN[measure]
    return f"{_plain(stored / by)} {unit}"


def _why(measure: Measure, value: Decimal, model: CellModel) -> str:
    if measure is Measure.CAPACITY:
        return _far_from_rated(value, Decimal(model.rated_capacity_mah), f"one {model}")
    if measure in (Measure.DC_RESISTANCE, Measure.AC_RESISTANCE):
        return _not_of_the_size(measure, value, model)
    if measure is Measure.REST_VOLTAGE and not likely.is_likely_at_rest(of(measure, value)):
        # What it would be in volts has to be possible, else nobody typed it in volts.
        return "is less than any sorting goes by" if cells.possible_at_rest(model, value * 1000) else ""
    if measure is Measure.MASS and model.mass_mg:
        stated = Decimal(model.mass_mg)
        if not likely.is_likely_mass(of(measure, value), of(measure, stated)):
            return f"is far from the {written(measure, stated)} one {model} weighs by its data sheet"
    return ""


def _far_from_rated(mah: Decimal, rated: Decimal, whose: str) -> str:
    if likely.is_likely_capacity(of(Measure.CAPACITY, mah), of(Measure.CAPACITY, rated)):
        return ""
    return f"is far from the {written(Measure.CAPACITY, rated)} that {whose} is rated at"


def _not_of_the_size(measure: Measure, uohm: Decimal, model: CellModel) -> str:
    rated = Decimal(model.rated_capacity_mah)
    if likely.is_likely_resistance(of(measure, uohm), of(Measure.CAPACITY, rated)):
        return ""
    return f"is far from what any cell rated at {written(Measure.CAPACITY, rated)} has"


def _unlikely_model(rated_mah: Decimal, facts: Mapping[str, Any]) -> str:
    rated = of(Measure.CAPACITY, rated_mah)
    if not likely.is_likely_rated(rated):
        return "is less than any cell has that packs are built of"
    energy = rated * of(Measure.VOLTAGE, facts["nominal_voltage_mv"])
    if (mass := facts.get("mass_mg")) and not likely.goes_with_mass(energy, of(Measure.MASS, mass)):
        return f"does not go with a mass of {written(Measure.MASS, Decimal(mass))}"
    if (volume := _volume(facts)) is not None and not likely.goes_with_volume(energy, volume):
        return "does not go with the size of this cell"
    return ""


def _volume(facts: Mapping[str, Any]) -> Quantity | None:
    """Return the volume of a cell, nothing where its measures do not tell it."""
    sides = [_length(facts.get(name)) for name in ("diameter_um", "width_um", "height_um")]
    across, width, height = sides
    if across is None or height is None:
        return None
    return likely.cell_volume(CellFormat(facts["cell_format"]), across, width, height)


def _length(um: int | None) -> Quantity | None:
    return ureg.Quantity(float(um), "um") if um else None


def _asked(measure: Measure, value: Decimal, why: str, is_likely: Callable[[Decimal], bool]) -> str:
    if not why:
        return ""
    meant = next((other for other in _slipped(value) if is_likely(other)), None)
    question = f" Did you mean {_both_ways(measure, meant)}?" if meant is not None else ""
    return f"{written(measure, value)} {why}.{question}"


def _slipped(value: Decimal) -> Iterator[Decimal]:
    """Yield what a number would be had its unit slipped by a thousand, or a digit been left out or typed twice."""
    yield value * 1000
    yield value / 1000
    yield value * 10
    yield value / 10


def _both_ways(measure: Measure, stored: Decimal) -> str:
    _, _, larger = WRITTEN[measure]
    by = WRITTEN[measure][0] * 1000
    return f"{written(measure, stored)}, which is {_plain(stored / by)} {larger}"


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


DEAD_MV, LIVE_MV = Decimal(100), Decimal(1000)
"""Below the one a cell reads nothing, above the other a group does read something; common practice, no source."""


def removed_doubt(job: Job, rest_mv: Decimal | None) -> str:
    """Ask back about a cell that reads nothing though every group of its pack was found with a voltage."""
    if rest_mv is None or rest_mv >= DEAD_MV:
        return ""
    found = list(job.readings.of_examined_groups().values_list("value", flat=True))
    if not found or min(found) < LIVE_MV:
        return ""
    low, high = (show(of(Measure.VOLTAGE, mv), symbol="V") for mv in (min(found), max(found)))
    return (
        f"{show(of(Measure.VOLTAGE, rest_mv), symbol='V')} at a cell of a pack whose groups were found at {low} to {high}: cells of a "
        "group have one voltage, unless the cell’s own fuse opened. Measure it again at its can and cap."
    )
