"""The criteria by which a shop grades its tested cells: one set, with a version, and what counts until it sets its own."""

from dataclasses import dataclass

from packs.errors import ImpossibleValue
from packs.terms import Grade
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class Band:
    """What a cell of one grade keeps at least and shows at most.

    Attributes
    ----------
    least_health : Quantity
        Capacity by rated capacity [%].
    most_resistance : Quantity
        DC resistance by that of a new cell of the model, measured alike [%].
    most_loss : Quantity
        Charge lost at rest in 30 days, by rated capacity [%].
    most_beyond_lot : Quantity
        How much faster than the median of its lot the rest voltage falls [mV/day].
    """

    grade: Grade
    least_health: Quantity
    most_resistance: Quantity
    most_loss: Quantity
    most_beyond_lot: Quantity


@dataclass(frozen=True)
class Criteria:
    """One version of the criteria.

    Attributes
    ----------
    bands : tuple of Band
        Grades 1, 2 and 3; no band asks more than the one before it.
    rate : Quantity
        Current of the capacity test by rated capacity [1/h].
    temperature : Quantity
        At which tests are compared [°C].
    temperature_band : Quantity
        How far from it a test still counts [K].
    oldest : Quantity
        How old a test may be [d].
    """

    version: int
    bands: tuple[Band, Band, Band]
    rate: Quantity
    temperature: Quantity
    temperature_band: Quantity
    oldest: Quantity

    def __post_init__(self) -> None:
        if [band.grade for band in self.bands] != [Grade.FIRST, Grade.SECOND, Grade.THIRD]:
            raise ImpossibleValue("The bands are those of grades 1, 2 and 3, in this order.")
        for better, worse in zip(self.bands, self.bands[1:], strict=False):
            if better.least_health < worse.least_health:
                raise ImpossibleValue(f"{worse.grade.label} would ask for more health than {better.grade.label}.")
            for name in ("most_resistance", "most_loss", "most_beyond_lot"):
                if getattr(better, name) > getattr(worse, name):
                    what = name.removeprefix("most_").replace("_", " ")
                    raise ImpossibleValue(f"{worse.grade.label} would allow less {what} than {better.grade.label}.")


def _band(grade: Grade, health: float, resistance: float, loss: float, beyond: float) -> Band:
    kept, grown, lost = (ureg.Quantity(number, "percent") for number in (health, resistance, loss))
    return Band(grade, kept, grown, lost, ureg.Quantity(beyond, "mV/day"))


DEFAULT = Criteria(
    version=0,
    bands=(
        _band(Grade.FIRST, 90, 130, 3, 0.3),
        _band(Grade.SECOND, 80, 160, 5, 0.7),
        _band(Grade.THIRD, 70, 200, 8, 1.5),
    ),
    rate=ureg.Quantity(0.2, "1/hour"),
    temperature=ureg.Quantity(23, "degC"),
    temperature_band=ureg.Quantity(3, "delta_degC"),
    oldest=ureg.Quantity(180, "day"),
)
"""What counts until a shop sets criteria of its own: common practice, no source.

A pack of cells of at least 90 % follows Regulation (EU) 2023/1542, Art. 3(32); the rate is that of IEC 61960-3, 7.3.1,
as recalled; cells in storage are read again every 3 to 6 months (common practice, no source).
"""
