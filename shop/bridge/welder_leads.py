"""The leads of a welder under its pulses: a check of the leads, never a setting."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from packs import welding
from packs.conductors import Conductor, adiabatic_rise, resistance, wire
from packs.terms import Measure
from packs.units import Quantity, of, ureg
from packs.welding import LeadCheck, Pulse, PulseCircuit

from .conductors import gauge_word

__all__ = ["TYPED", "Asked", "LeadFigures", "Source", "checked"]

TYPED: Mapping[str, str] = MappingProxyType(
    {
        "lead_area_um2": "AWG 4",
        "lead_length_um": "4 ft",
        "current_ma": "250 A",
        "rise_k": "30 K",
        "pulse_us": "10 ms",
        "pulses": "100",
    }
)
"""The lead that is used for 250 A, to begin with; common practice, no source. Rise and pulses are an example."""


@dataclass(frozen=True, kw_only=True)
class Source:
    """What drives a pulse, as stored: open-circuit voltage, resistance of the source and between the electrodes."""

    voltage_mv: Decimal
    resistance_uohm: Decimal
    contact_uohm: Decimal


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Leads and pulses as stored. Without a source the current is what was typed, with one it follows from it."""

    lead_area_um2: int
    lead_length_um: int
    current_ma: Decimal | None
    rise_k: Decimal
    pulse_us: Decimal
    pulses: int
    source: Source | None = None


@dataclass(frozen=True)
class LeadFigures:
    """What a page says of both leads; ``rise`` is that of all pulses without a pause."""

    gauge: str | None
    area: Quantity
    length: Quantity
    current: Quantity
    pulse: Pulse | None
    check: LeadCheck
    both_drop: Quantity
    pulses: int
    rise: Quantity
    permitted_rise: Quantity
    least_area: Quantity

    @property
    def holds(self) -> bool:
        """Whether the leads stay within the permitted rise."""
        return bool(self.rise <= self.permitted_rise)

    @property
    def past_melting(self) -> bool:
        """Whether the pulses, without a pause, would melt the lead."""
        return bool(self.rise.magnitude == float("inf"))


def _driven(source: Source, lead: Conductor, duration: Quantity) -> Pulse:
    """Return a pulse through both leads, cold."""
    circuit = PulseCircuit(
        source_voltage=of(Measure.VOLTAGE, source.voltage_mv),
        source_resistance=of(Measure.CONTACT_RESISTANCE, source.resistance_uohm),
        lead_resistance=2 * resistance(lead),
        contact_resistance=of(Measure.CONTACT_RESISTANCE, source.contact_uohm),
    )
    return welding.pulse(circuit, duration)


def checked(asked: Asked) -> LeadFigures:
    """Return what pulses do to two leads alike, all their heat kept in the copper.

    Raises
    ------
    packs.errors.ImpossibleValue
        The circuit or the pulses cannot be.
    """
    area = ureg.Quantity(asked.lead_area_um2 / 1e6, "millimeter**2")
    lead = wire(area, ureg.Quantity(asked.lead_length_um / 1000, "millimeter"))
    duration, permitted = (
        ureg.Quantity(float(asked.pulse_us) / 1000, "ms"),
        ureg.Quantity(float(asked.rise_k), "delta_degC"),
    )
    driven = None if asked.source is None else _driven(asked.source, lead, duration)
    current = of(Measure.CURRENT, asked.current_ma or 0) if driven is None else driven.current
    check = welding.check_lead(lead, current, permitted, duration=duration)
    together = duration * asked.pulses
    return LeadFigures(
        gauge=gauge_word(asked.lead_area_um2),
        area=area,
        length=lead.length,
        current=current,
        pulse=driven,
        check=check,
        both_drop=2 * check.drop,
        pulses=asked.pulses,
        rise=adiabatic_rise(lead.metal, area, current, together),
        permitted_rise=permitted,
        least_area=welding.smallest_lead_area(lead, current, together, permitted),
    )
