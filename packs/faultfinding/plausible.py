"""What a meter can show at all between two points of a stated pack; beyond it a unit or a digit slipped."""

from packs.faultfinding.measurements import ends
from packs.faultfinding.model import PackModel
from packs.faultfinding.readings import Circumstance, Place, Reading
from packs.units import Quantity, ureg

MOST_SENSOR = 1e7  # ohm; what is above reads as no connection: common practice, no source
BOOSTED = 2.0  # of a regulated outlet's voltage, before its converter settles: common practice, no source


def readable(model: PackModel, reading: Reading) -> tuple[Quantity, Quantity]:
    """Return the least and the largest value that a meter can show there [V], at the sensor [Ω].

    A group on its own terminals shows no more than an overcharged one at rest. Anything else may show the whole stack,
    either way round: an open joint does, under load. Whether probes were held the wrong way round is for the diagnosis.

    References
    ----------
    Kirchhoff's voltage law; the figures: common practice, no source.

    Examples
    --------
    >>> from packs.terms import Chemistry
    >>> pack = PackModel(4, Chemistry.NMC, ureg.Quantity(20, "mΩ"), ureg.Quantity(5, "A"), ureg.Quantity(12, "V"))
    >>> first = Reading(*ends(Place.GROUP, 1), Circumstance.REST, ureg.Quantity(37.0, "V"))
    >>> print("{:.1f~P} {:.1f~P}".format(*readable(pack, first)))
    -20.8 V 5.2 V
    """
    if reading.low.place is Place.SENSOR:
        return ureg.Quantity(0.0, "ohm"), ureg.Quantity(MOST_SENSOR, "ohm")
    whole = model.series * model.figures.highest
    most = whole
    own = reading.low.place is Place.GROUP and (reading.low, reading.high) == ends(Place.GROUP, reading.low.number)
    if own and reading.circumstance in (Circumstance.REST, Circumstance.NEXT_DAY):
        most = model.figures.highest
    if reading.low.place is Place.OUTLET and model.figures.outlet is not None:
        most = whole = max(whole, BOOSTED * model.figures.outlet)
    return ureg.Quantity(-whole, "V"), ureg.Quantity(most, "V")
