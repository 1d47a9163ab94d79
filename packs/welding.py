"""What a welder's source drives through its leads: a check of the leads, never a setting.

What a weld needs is found on coupons of the same strip, terminal and machine, and by its maker's instructions.
"""

from dataclasses import dataclass

from packs.conductors import (
    Conductor,
    adiabatic_current,
    adiabatic_rise,
    adiabatic_time,
    drop,
    loss,
    resistance,
)
from packs.errors import ImpossibleValue
from packs.materials import ROOM
from packs.units import Quantity, ureg

NOT_A_SETTING = "This checks the leads. It is no setting for a weld: that is found on coupons."
"""To be told wherever a result of this room is."""


@dataclass(frozen=True)
class PulseCircuit:
    """A source and what its pulse runs through.

    Attributes
    ----------
    source_voltage : Quantity
        Open-circuit [voltage].
    source_resistance, lead_resistance, contact_resistance : Quantity
        Of the source; of both leads together; between the electrodes with all contacts and the work [resistance].
    """

    source_voltage: Quantity
    source_resistance: Quantity
    lead_resistance: Quantity
    contact_resistance: Quantity


@dataclass(frozen=True)
class Pulse:
    """A pulse as its circuit allows it.

    Attributes
    ----------
    current : Quantity
        [A]
    between_electrodes : Quantity
        Voltage left there [V].
    energy_drawn, energy_leads, energy_contacts : Quantity
        From the source's open-circuit voltage, into the leads, and between the electrodes [J].
    """

    current: Quantity
    between_electrodes: Quantity
    energy_drawn: Quantity
    energy_leads: Quantity
    energy_contacts: Quantity


def pulse_current(circuit: PulseCircuit) -> Quantity:
    """Return the current of a pulse [A]: source voltage over source, lead and contact resistance.

    Valid for the flat part of the pulse: the rise against the loop's inductance, a source that sinks and contacts
    that change while they melt are left out.

    Parameters
    ----------
    circuit : PulseCircuit
        [voltage], [resistance]

    Raises
    ------
    ImpossibleValue
        A value is below zero or not a number, or the whole circuit resists nothing.

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> part = lambda number: ureg.Quantity(number, "milliohm")
    >>> f"{pulse_current(PulseCircuit(ureg.Quantity(12, 'V'), part(4), part(2), part(2))).magnitude:.0f}"
    '1500'
    """
    volts, ohms = float(circuit.source_voltage.to("volt").magnitude), _ohms(circuit)
    if not (0 <= volts < float("inf") and sum(ohms) > 0):
        raise ImpossibleValue("A source has a voltage, and its circuit a resistance above zero.")
    return ureg.Quantity(volts / sum(ohms), "ampere")


def pulse(circuit: PulseCircuit, duration: Quantity) -> Pulse:
    """Return current [A], voltage between the electrodes [V] and energies [J] of a pulse: E = I²·R·t.

    Parameters
    ----------
    circuit : PulseCircuit
        [voltage], [resistance]
    duration : Quantity
        [time]

    Raises
    ------
    ImpossibleValue
        As ``pulse_current``; or the duration is below zero or not a number.

    References
    ----------
    Joule's law.
    """
    amps = float(pulse_current(circuit).magnitude)
    seconds = float(duration.to("second").magnitude)
    if not 0 <= seconds < float("inf"):
        raise ImpossibleValue("A pulse lasts a time of zero or more.")
    _, leads, contacts = _ohms(circuit)
    volts = float(circuit.source_voltage.to("volt").magnitude)
    return Pulse(
        current=ureg.Quantity(amps, "ampere"),
        between_electrodes=ureg.Quantity(amps * contacts, "volt"),
        energy_drawn=ureg.Quantity(volts * amps * seconds, "joule"),
        energy_leads=ureg.Quantity(amps**2 * leads * seconds, "joule"),
        energy_contacts=ureg.Quantity(amps**2 * contacts * seconds, "joule"),
    )


@dataclass(frozen=True)
class LeadCheck:
    """A lead under the current of pulses.

    Attributes
    ----------
    resistance, drop, loss : Quantity
        Of the one lead, cold [Ω], [V], [W].
    time_to_rise : Quantity
        How long the current may flow, all pulses together, until the permitted rise is reached [s]; heat that leaves
        in between comes on top.
    rise_per_pulse : Quantity or None
        [K]; None where no duration was given.
    pulses_to_rise : int or None
        Whole pulses without a pause that stay within the permitted rise [dimensionless].
    caution : str
        To be told with the result.
    """

    resistance: Quantity
    drop: Quantity
    loss: Quantity
    time_to_rise: Quantity
    rise_per_pulse: Quantity | None
    pulses_to_rise: int | None
    caution: str = NOT_A_SETTING


def check_lead(
    lead: Conductor,
    current: Quantity,
    permitted_rise: Quantity,
    *,
    duration: Quantity | None = None,
    start: Quantity = ROOM,
) -> LeadCheck:
    """Return drop, loss and heating of a lead with all its heat kept in the metal [Ω], [V], [W], [s], [K].

    Parameters
    ----------
    lead : Conductor
        One lead, ``conductors.wire`` [area], [length].
    current : Quantity
        Of the pulse, not zero [current].
    permitted_rise : Quantity
        Above the start [K].
    duration : Quantity, optional
        Of one pulse [time].
    start : Quantity
        Of the lead before [temperature].

    Raises
    ------
    ImpossibleValue
        As ``adiabatic_time`` and ``adiabatic_rise``.

    References
    ----------
    Ohm's law; Joule's law; IEC 60949. That AWG 4 of 4 ft serves for 250 A: common practice, no source.

    Examples
    --------
    >>> from packs.conductors import awg_area, wire
    >>> four = wire(awg_area(4), ureg.Quantity(4, "ft"))
    >>> checked = check_lead(four, ureg.Quantity(250, "A"), ureg.Quantity(30, "delta_degC"))
    >>> f"{checked.drop:.3f}", f"{checked.time_to_rise:.0f}"
    ('0.248 volt', '41 second')
    """
    end = start.to("degC") + permitted_rise.to("delta_degC")
    lasts = adiabatic_time(lead.metal, lead.area, current, end, start)
    each = None if duration is None else adiabatic_rise(lead.metal, lead.area, current, duration, start)
    return LeadCheck(
        resistance=resistance(lead, start),
        drop=drop(lead, current, start),
        loss=loss(lead, current, start),
        time_to_rise=lasts,
        rise_per_pulse=each,
        pulses_to_rise=None if duration is None or not duration.magnitude else int((lasts / duration).to("").magnitude),
    )


def smallest_lead_area(lead: Conductor, current: Quantity, time: Quantity, permitted_rise: Quantity) -> Quantity:
    """Return the section of a lead that a current heats by no more than permitted in a time [mm²].

    Parameters
    ----------
    lead : Conductor
        Its metal counts, not its section.
    current : Quantity
        [current]
    time : Quantity
        All pulses together [time].
    permitted_rise : Quantity
        Above 20 °C [K].

    Raises
    ------
    ImpossibleValue
        Time or rise is not above zero.

    References
    ----------
    IEC 60949.
    """
    one = ureg.Quantity(1.0, "millimeter**2")
    stands = adiabatic_current(lead.metal, one, time, ROOM + permitted_rise.to("delta_degC"))
    return one * float(abs(current / stands).to("").magnitude)


def _ohms(circuit: PulseCircuit) -> list[float]:
    parts = (circuit.source_resistance, circuit.lead_resistance, circuit.contact_resistance)
    ohms = [float(part.to("ohm").magnitude) for part in parts]
    if not all(0 <= ohm < float("inf") for ohm in ohms):
        raise ImpossibleValue("A resistance is a number of zero or more.")
    return ohms
