"""How a cell may be charged at its temperature: zones of current and voltage, and where it may not."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf, isfinite
from types import MappingProxyType
from typing import TypeAlias

from packs.errors import ImpossibleValue, MissingFact
from packs.sources import SOURCES, Source
from packs.terms import Chemistry
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class ChargeZone:
    """What a charge may do between two cell temperatures.

    Attributes
    ----------
    low, high : Quantity
        Cell temperature [°C]; the zone takes its lower end and leaves its upper one, the coldest and the hottest
        zone have no end.
    current_share : float
        Largest current, as a share of the largest current of the data sheet; 0 where nothing may be charged.
    largest_rate : Quantity or None
        Largest current by capacity [1/h], where the source names one.
    voltage_limit : Quantity or None
        Largest charging voltage of a cell [V]; ``None`` where the limit of the data sheet stands.
    source : Source
        Where the zone comes from.
    """

    low: Quantity
    high: Quantity
    current_share: float
    largest_rate: Quantity | None
    voltage_limit: Quantity | None
    source: Source

    @property
    def may_charge(self) -> bool:
        """Whether anything may be charged in this zone."""
        return self.current_share > 0


# Upper end [°C], share of the current, largest rate [1/h], voltage limit [V], source.
_Row: TypeAlias = tuple[float, float, float | None, float | None, str]
_FOUR_TWO: tuple[_Row, ...] = (
    (0.0, 0.0, None, None, "jeita"),
    (10.0, 0.5, None, 4.10, "jeita"),
    (45.0, 1.0, None, None, "jeita"),
    (50.0, 1.0, None, 4.15, "jeita"),
    (60.0, 1.0, None, 4.10, "jeita"),
    (inf, 0.0, None, None, "jeita"),
)
_LFP: tuple[_Row, ...] = (
    (0.0, 0.0, None, None, "lfp_specification"),
    (15.0, 1.0, 0.2, None, "lfp_specification"),
    (45.0, 1.0, 0.5, None, "lfp_specification"),
    (inf, 0.0, None, None, "no_charge_beyond"),
)
_NICKEL: tuple[_Row, ...] = (
    (0.0, 0.0, None, None, "no_charge_beyond"),
    (45.0, 1.0, 0.1, None, "nickel_charge"),
    (inf, 0.0, None, None, "no_charge_beyond"),
)
_ROWS: Mapping[Chemistry, tuple[_Row, ...]] = MappingProxyType(
    {
        Chemistry.LCO: _FOUR_TWO,
        Chemistry.NMC: _FOUR_TWO,
        Chemistry.NCA: _FOUR_TWO,
        Chemistry.LMO: tuple((high, share, rate, volt, "lmo_class") for high, share, rate, volt, _ in _FOUR_TWO),
        Chemistry.LFP: _LFP,
        Chemistry.NIMH: _NICKEL,
        Chemistry.NICD: _NICKEL,
    }
)


def charge_zones(chemistry: Chemistry) -> tuple[ChargeZone, ...]:
    """Return the charging zones of a chemistry from the coldest to the hottest, without gaps [°C, 1/h, V].

    Between 0 and 10 °C the source for the 4.2 V class asks for half the current or 4.10 V; both are taken.

    Raises
    ------
    MissingFact
        Nothing is known for the chemistry.

    References
    ----------
    A Guide to the Safe Use of Secondary Lithium Ion Batteries in Notebook-type Personal Computers (JEITA/BAJ); product
    specification of a small lithium iron phosphate cell; each zone names its own.

    Examples
    --------
    >>> [f"{zone.high:.0f~P}" for zone in charge_zones(Chemistry.LFP)]
    ['0 °C', '15 °C', '45 °C', 'inf °C']
    """
    if chemistry not in _ROWS:
        raise MissingFact(f"For {chemistry.label}, charging temperatures are not known; see the cell's data sheet.")
    rows = _ROWS[chemistry]
    lows = (-inf, *(row[0] for row in rows))
    return tuple(_zone(low, row) for low, row in zip(lows, rows, strict=False))


def charge_zone(chemistry: Chemistry, temperature: Quantity) -> ChargeZone:
    """Return what a charge may do at a cell temperature [°C].

    Parameters
    ----------
    chemistry : Chemistry
        Of the cell.
    temperature : Quantity
        Of the cell itself, not of the room [temperature].

    Raises
    ------
    MissingFact
        Nothing is known for the chemistry.
    ImpossibleValue
        The temperature is not a number.

    References
    ----------
    A Guide to the Safe Use of Secondary Lithium Ion Batteries in Notebook-type Personal Computers (JEITA/BAJ); product
    specification of a small lithium iron phosphate cell; each zone names its own.

    Examples
    --------
    >>> str(charge_zone(Chemistry.NMC, ureg.Quantity(47, "degC")).voltage_limit)
    '4.15 volt'
    """
    degrees = float(temperature.to("degC").magnitude)
    if not isfinite(degrees):
        raise ImpossibleValue("A temperature is a number.")
    return next(zone for zone in charge_zones(chemistry) if degrees < zone.high.magnitude)


def _zone(low: float, row: _Row) -> ChargeZone:
    high, share, rate, volt, source = row
    return ChargeZone(
        low=ureg.Quantity(low, "degC"),
        high=ureg.Quantity(high, "degC"),
        current_share=share,
        largest_rate=None if rate is None else ureg.Quantity(rate, "1/hour"),
        voltage_limit=None if volt is None else ureg.Quantity(volt, "V"),
        source=SOURCES[source],
    )
