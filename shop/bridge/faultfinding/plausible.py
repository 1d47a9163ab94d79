"""What is not believed of a pack under search, in the words that stand beside the field."""

from packs import faultfinding as room
from packs.terms import Measure
from packs.units import Kind, show
from shop.bridge.possible import Bound

COLDEST_CELLS_MDEGC, HOTTEST_CELLS_MDEGC = -40_000, 80_000
"""Cells that somebody holds probes to. Hotter ones are on their way to venting: nobody measures there, one keeps away.
Common practice, no source."""

LEAST_SENSOR_OHM, MOST_SENSOR_OHM = 10, 1_000_000
"""What sensors on packs have near room temperature, platinum to the largest thermistors; common practice, no source."""

SEARCHED = {
    "temperature_mdegc": Bound.of(Measure.TEMPERATURE, most=HOTTEST_CELLS_MDEGC, least=COLDEST_CELLS_MDEGC),
    "sensor_ohm": Bound(kind=Kind.RESISTANCE, unit="ohm", typed_unit="Ω", least=LEAST_SENSOR_OHM, most=MOST_SENSOR_OHM),
}
"""What may be stated of a pack whose fault is looked for, where it is less than of anything else here."""


def reading_doubt(model: room.PackModel, one: room.Reading) -> str:
    """Say why no meter shows this between these points of the pack; nothing where one may."""
    if one.value is None:
        return ""
    low, high = room.readable(model, one)
    if low <= one.value <= high:
        return ""
    if one.low.place is room.Place.SENSOR:
        return f"{show(one.value)} is no sensor: above {show(high.to('Mohm'))} tick that it shows no connection. Check the unit."
    where = f"here, in a pack of {model.series} groups"
    return f"{show(one.value)} cannot be right {where}: at most {show(high)}. Check the decimal mark and the unit."
