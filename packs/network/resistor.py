"""Levelling before cells or groups are joined: two through a resistor, or one alone over it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import expm1, isfinite, log

from packs.errors import ImpossibleValue
from packs.network.checked import volts_of
from packs.network.joining import settling
from packs.units import Quantity, ureg

SETTLED = ureg.Quantity(5.0, "mV")


@dataclass(frozen=True)
class Levelling:
    """What happens between two cells joined through a resistor, from the first moment to the difference left over.

    Attributes
    ----------
    peak_current : Quantity
        At the first moment [A].
    peak_power : Quantity
        In the resistor, at the first moment [W]: its rating is chosen above this.
    time_constant : Quantity
        [h]
    duration : Quantity
        Until the rest voltages differ by no more than what may be left [h].
    charge : Quantity
        Moved by then [Ah].
    energy_given, energy_taken : Quantity
        Out of the higher cell and into the lower one by then [J].
    heat : Quantity
        In resistor and cells by then [J]: what is given and not taken.
    """

    peak_current: Quantity
    peak_power: Quantity
    time_constant: Quantity
    duration: Quantity
    charge: Quantity
    energy_given: Quantity
    energy_taken: Quantity
    heat: Quantity


def levelling(
    voltages: tuple[Quantity, Quantity],
    capacities: tuple[Quantity, Quantity],
    slope: Quantity,
    resistor: Quantity,
    *,
    resistances: Sequence[Quantity] = (),
    left_over: Quantity = SETTLED,
) -> Levelling:
    """Follow two cells that are levelled through a resistor.

    With R the resistor and all other resistance of the loop, k = slope / capacity and K = k₁ + k₂: I₀ = dV/R,
    P₀ = I₀²·R_resistor, τ = R/K, t = τ·ln(dV/left over), charge q = (dV/K)·(1 − left over/dV), energies
    q·(V₁ − k₁q/2) and q·(V₂ + k₂q/2). Valid while both rest voltages are linear in the state of charge over the
    charge moved: short of a knee, and not on a plateau.

    Parameters
    ----------
    voltages : pair of Quantity
        Rest voltages [voltage], in either order.
    capacities : pair of Quantity
        [charge]
    slope : Quantity
        Change of the rest voltage over a full charge where the cells stand [voltage].
    resistor : Quantity
        [resistance]; zero for cells that are joined directly.
    resistances : sequence of Quantity
        Of the cells and of what joins them [resistance]; left out it counts as zero, and the current is taken too
        high rather than too low.
    left_over : Quantity
        Difference of the rest voltages at which it ends [voltage].

    Returns
    -------
    Levelling
        All zero where the cells differ by no more than what may be left.

    Raises
    ------
    ImpossibleValue
        A capacity, the whole resistance, the slope or what may be left is not above zero, or a value is not a number.

    References
    ----------
    Kirchhoff's laws; discharge of two capacitances into each other. The 5 mV left over: common practice, no source.

    Examples
    --------
    >>> three = ureg.Quantity(3, "Ah")
    >>> cells = ureg.Quantity(3.9, "V"), ureg.Quantity(3.7, "V")
    >>> done = levelling(cells, (three, three), ureg.Quantity(0.7, "V"), ureg.Quantity(1, "ohm"))
    >>> f"{done.peak_current:.2f}", f"{done.time_constant:.4f}", f"{done.duration:.2f}"
    ('0.20 ampere', '2.1429 hour', '7.90 hour')
    """
    volts, (end,) = volts_of(voltages), volts_of([left_over])
    ohms = [float(part.to("ohm").magnitude) for part in (resistor, *resistances)]
    if not (all(isfinite(ohm) and ohm >= 0 for ohm in ohms) and end > 0):
        raise ImpossibleValue("What may be left lies above zero, and no resistance below.")
    difference, loop = abs(volts[0] - volts[1]), sum(ohms)
    rest = settling(ureg.Quantity(difference, "V"), ureg.Quantity(loop, "ohm"), capacities, slope)
    seconds = float(rest.time_constant.to("s").magnitude) * log(max(1.0, difference / end))
    moved = -expm1(-seconds / float(rest.time_constant.to("s").magnitude)) * float(rest.charge.to("C").magnitude)
    given, taken = _energies(volts, capacities, slope, moved)
    amps = difference / loop if seconds else 0.0
    return Levelling(
        peak_current=ureg.Quantity(amps, "A"),
        peak_power=ureg.Quantity(amps**2 * ohms[0], "W"),
        time_constant=rest.time_constant.to("hour"),
        duration=ureg.Quantity(seconds, "s").to("hour"),
        charge=ureg.Quantity(moved, "C").to("Ah"),
        energy_given=ureg.Quantity(given, "J"),
        energy_taken=ureg.Quantity(taken, "J"),
        heat=ureg.Quantity(given - taken, "J"),
    )


def _energies(
    volts: Sequence[float], capacities: tuple[Quantity, Quantity], slope: Quantity, moved: float
) -> tuple[float, float]:
    """Energy out of the higher and into the lower cell [J] for a charge [C]: charge times the mean voltage."""
    stiffness = [float((slope / capacity).to("V/C").magnitude) for capacity in capacities]
    (low, low_stiff), (high, high_stiff) = sorted(zip(volts, stiffness, strict=True))
    return moved * (high - high_stiff * moved / 2), moved * (low + low_stiff * moved / 2)


def levelling_resistor(
    voltage_difference: Quantity, largest_current: Quantity, resistances: Sequence[Quantity] = ()
) -> Quantity:
    """Return the smallest resistor that keeps levelling to a current [Ω]: dV/I − the other resistance of the loop.

    Parameters
    ----------
    voltage_difference : Quantity
        Of the rest voltages, of either sign [voltage].
    largest_current : Quantity
        Allowed into the lower cell [current].
    resistances : sequence of Quantity
        Of the cells and of what joins them [resistance].

    Returns
    -------
    Quantity
        [Ω]; zero where the cells themselves keep the current down.

    Raises
    ------
    ImpossibleValue
        The current is not above zero, or a value is not a number.

    References
    ----------
    Ohm's law.

    Examples
    --------
    >>> print(levelling_resistor(ureg.Quantity(0.5, "V"), ureg.Quantity(0.5, "A")))
    1.0 ohm
    """
    amps = float(largest_current.to("A").magnitude)
    others = [float(part.to("ohm").magnitude) for part in resistances]
    if not (isfinite(amps) and amps > 0 and all(isfinite(ohm) and ohm >= 0 for ohm in others)):
        raise ImpossibleValue("The allowed current lies above zero, and no resistance below.")
    return ureg.Quantity(max(0.0, abs(volts_of([voltage_difference])[0]) / amps - sum(others)), "ohm")


E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82, 100)
"""Preferred values of a decade, and the first of the next, in tenths: IEC 60063, recalled from memory."""


def preferred(least: Quantity) -> Quantity:
    """Return the smallest resistor of the E12 series that is not below this [Ω]: one that can be bought.

    References
    ----------
    IEC 60063, recalled from memory.

    Examples
    --------
    >>> print(preferred(ureg.Quantity(13.892, "ohm")), preferred(ureg.Quantity(8.3, "ohm")))
    15.0 ohm 10.0 ohm
    """
    ohms = Decimal(str(round(float(least.to("ohm").magnitude), 9)))
    if not (ohms.is_finite() and ohms > 0):
        raise ImpossibleValue("A resistor lies above zero.")
    decade = Decimal(10) ** (ohms.adjusted() - 1)
    return ureg.Quantity(float(next(value * decade for value in E12 if value * decade >= ohms)), "ohm")


@dataclass(frozen=True)
class Discharging:
    """What happens to one cell that is discharged over a resistor.

    Attributes
    ----------
    peak_current, peak_power : Quantity
        At the first moment [A], [W]; the rating of the resistor is chosen above the power.
    duration : Quantity
        Until it rests at the lower voltage [h].
    """

    peak_current: Quantity
    peak_power: Quantity
    duration: Quantity


def discharge_over(resistor: Quantity, voltages: tuple[Quantity, Quantity], charge: Quantity) -> Discharging:
    """Follow one cell that is discharged over a resistor.

    With the rest voltage falling evenly from V₁ to V₂ over the charge Q: I₀ = V₁/R, P₀ = V₁²/R and
    t = R·Q/(V₁ − V₂)·ln(V₁/V₂). The cell's own resistance is left out, so that current and power are taken too high.

    Parameters
    ----------
    resistor : Quantity
        [resistance]
    voltages : pair of Quantity
        Rest voltage before and after [voltage].
    charge : Quantity
        Between the two [charge].

    Raises
    ------
    ImpossibleValue
        The voltages do not fall, or resistor, lower voltage or charge does not lie above zero.

    References
    ----------
    Ohm's law; discharge of a capacitance over a resistance.

    Examples
    --------
    >>> cell = ureg.Quantity(3.9, "V"), ureg.Quantity(3.7, "V")
    >>> done = discharge_over(ureg.Quantity(15, "ohm"), cell, ureg.Quantity(0.8, "Ah"))
    >>> f"{done.peak_current:.2f}", f"{done.peak_power:.3f}", f"{done.duration:.2f}"
    ('0.26 ampere', '1.014 watt', '3.16 hour')
    """
    high, low = volts_of(voltages)
    ohms, hours_times_amps = float(resistor.to("ohm").magnitude), float(charge.to("Ah").magnitude)
    if not (all(map(isfinite, (ohms, hours_times_amps))) and high > low > 0 and ohms > 0 and hours_times_amps > 0):
        raise ImpossibleValue("A cell falls from a higher voltage to a lower one above zero, over a resistor.")
    return Discharging(
        peak_current=ureg.Quantity(high / ohms, "A"),
        peak_power=ureg.Quantity(high**2 / ohms, "W"),
        duration=ureg.Quantity(ohms * hours_times_amps / (high - low) * log(high / low), "hour"),
    )
