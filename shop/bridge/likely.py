"""What hardly any cell of its model has. Such a number may be a true finding, so it is asked back and not refused."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from math import pi
from types import MappingProxyType
from typing import Any

from packs.terms import CellFormat, Measure
from shop.models import CellModel

from . import cells

LEAST_SHARE, MOST_SHARE = Decimal("0.05"), Decimal("1.5")
"""A worn cell still gives more of its rated capacity, a new one less; common practice, no source."""

LEAST_OHM_AH, MOST_OHM_AH = Decimal("0.001"), Decimal(10)
"""Resistance times rated capacity: some 0.01 Ω·Ah for cells made for power, some 0.1 Ω·Ah for common ones, a few Ω·Ah
for worn out ones. The bounds lie ten times and more beyond; common practice, no source."""

LEAST_MV = Decimal(10)
"""Nobody sorts a cell by less: it is 0 V, or it was typed in volts; common practice, no source."""

MASS_FACTOR = 5
"""No cell weighs so many times what its data sheet says, or so small a part of it; common practice, no source."""

JUMP_FACTOR = 2
"""No cell loses half of what it gave from one test to the next, nor doubles it; common practice, no source."""

LEAST_RATED_MAH = Decimal(20)
"""Smaller cells are not built into packs on this bench; common practice, no source."""

LEAST_WH_KG, MOST_WH_KG = 10, 500
LEAST_WH_L, MOST_WH_L = 15, 1500
"""Energy by mass and by volume: lead has some 30 Wh/kg, the best lithium-ion cells some 300 Wh/kg and 800 Wh/l. The bounds
lie well beyond; common practice, no source."""

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
    if before <= 0 or value <= 0 or _near(value, before, JUMP_FACTOR):
        return ""
    why = f"is far from the {written(Measure.CAPACITY, before)} that this cell gave last"
    return _asked(Measure.CAPACITY, value, why, lambda other: _near(other, before, JUMP_FACTOR))


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
        return _not_of_the_size(value, model)
    if measure is Measure.REST_VOLTAGE and 0 < value < LEAST_MV and cells.possible_at_rest(model, value * 1000):
        return "is less than any sorting goes by"
    if measure is Measure.MASS and model.mass_mg and not _near(value, Decimal(model.mass_mg), MASS_FACTOR):
        return f"is far from the {written(measure, Decimal(model.mass_mg))} one {model} weighs by its data sheet"
    return ""


def _far_from_rated(mah: Decimal, rated: Decimal, of: str) -> str:
    """Nothing at all is a true reading of a dead cell."""
    if mah == 0 or LEAST_SHARE * rated <= mah <= MOST_SHARE * rated:
        return ""
    return f"is far from the {written(Measure.CAPACITY, rated)} that {of} is rated at"


def _not_of_the_size(uohm: Decimal, model: CellModel) -> str:
    ohm_ah = uohm * Decimal(model.rated_capacity_mah) / 10**9
    if LEAST_OHM_AH <= ohm_ah <= MOST_OHM_AH:
        return ""
    return f"is far from what any cell rated at {written(Measure.CAPACITY, Decimal(model.rated_capacity_mah))} has"


def _near(value: Decimal, stated: Decimal, factor: int) -> bool:
    return stated / factor <= value <= stated * factor


def _unlikely_model(rated: Decimal, facts: Mapping[str, Any]) -> str:
    if rated < LEAST_RATED_MAH:
        return "is less than any cell has that packs are built of"
    wh = float(rated) * facts["nominal_voltage_mv"] / 1e6
    if (mass := facts.get("mass_mg")) and not LEAST_WH_KG <= wh / (mass / 1e6) <= MOST_WH_KG:
        return f"does not go with a mass of {written(Measure.MASS, Decimal(mass))}"
    if (litres := _litres(facts)) and not LEAST_WH_L <= wh / litres <= MOST_WH_L:
        return "does not go with the size of this cell"
    return ""


def _litres(facts: Mapping[str, Any]) -> float:
    """Return the volume of a cell as far as its measures tell it, 0 where they do not."""
    sides: list[float] = [(facts.get(name) or 0) / 1e5 for name in ("diameter_um", "width_um", "height_um")]
    if facts.get("cell_format") in (CellFormat.ROUND, CellFormat.ROUND.value):
        return pi / 4 * sides[0] ** 2 * sides[2]
    return sides[0] * sides[1] * sides[2]


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
