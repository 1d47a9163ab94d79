"""The slow part of a cell's voltage drop: ions diffuse through the grains of its electrodes for minutes to an hour.

In a grain filled at a steady rate the surface runs ahead of the mean, at first by the square root of time and in the
end by τ/15 of the rate, with τ = (radius of the grain)²/diffusivity. What stands of it after a time t is
g(t) = 1 − 10·Σ exp(−λₙ²t/τ)/λₙ², λₙ the roots of tan λ = λ.
"""

from dataclasses import dataclass
from math import pi, sqrt
from typing import Any, TypeAlias

import numpy as np

from packs.errors import ImpossibleValue
from packs.units import Quantity, ureg

Floats: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]

# Roots of tan λ = λ. What faster modes carry counts as settled at once: the eighth settles in τ/714.
ROOTS = np.array(
    [
        4.493409457909064,
        7.725251836937707,
        10.904121659428899,
        14.066193912831473,
        17.22075527193077,
        20.371302959287563,
        23.519452498689007,
        26.666054258812674,
    ]
)
WEIGHTS = 10.0 / ROOTS**2
AT_ONCE = 1.0 - float(WEIGHTS.sum())


@dataclass(frozen=True)
class SlowTerm:
    """Two grains in one cell, in terms that do not depend on its size.

    Attributes
    ----------
    depletion_time : Quantity
        τ of the electrode whose curve bends: the rest voltage counts at a state of charge that runs ahead of the
        mean by up to τ/15 of the current by capacity [s].
    polarisation_time : Quantity
        τ of the electrode whose potential runs straight [s].
    polarisation_slope : Quantity
        Change of that potential over a full charge [V]; its drop grows to τ/15 · slope · current / capacity.
    """

    depletion_time: Quantity
    polarisation_time: Quantity
    polarisation_slope: Quantity

    @property
    def seconds(self) -> tuple[float, float]:
        """Both τ [s]."""
        return float(self.depletion_time.to("s").magnitude), float(self.polarisation_time.to("s").magnitude)

    @property
    def slope_volt(self) -> float:
        """Slope of the straight electrode [V]."""
        return float(self.polarisation_slope.to("V").magnitude)

    def resistance(self, capacity: Quantity) -> Quantity:
        """Return what the straight electrode adds in the end to a cell's resistance [mΩ]: τ · slope / (15 · Q)."""
        return (self.polarisation_time * self.polarisation_slope / (15 * capacity)).to("milliohm")


def settled(seconds: float, constant: float) -> float:
    """Return g: how much of the drop stands after a time, 0 to 1 [1]; all of it where the constant is zero [s].

    References
    ----------
    The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere).
    """
    if constant <= 0:
        return 1.0
    return 1.0 - float((WEIGHTS * np.exp(-(ROOTS**2) * seconds / constant)).sum())


def slow_term_of_relaxation(
    drops: Quantity, delays: Quantity, slopes: Quantity, *, current: Quantity, pulse: Quantity, capacity: Quantity,
    mean_slope: Quantity,
) -> SlowTerm:  # fmt: skip
    """Identify the slow term from the seconds after discharge pulses at several states of charge.

    For times short against τ the drop that is left at a delay t after a pulse of length T is, beyond the charge
    taken,

        ΔV = (I/Q) · 2/(3√π) · (√(T + t) − √t) · (√τ₁ · dU/ds + √τ₂ · σ).

    A straight line through ΔV over the slope dU/ds of the curve gives √τ₁ and the product √τ₂σ; that the straight
    electrode is as steep as the whole cell is on average, σ, parts the two. That last step is an assumption.

    Parameters
    ----------
    drops : Quantity, shape (samples,)
        Rest voltage before the pulse less the voltage at the delay, less what the charge taken accounts for [voltage].
    delays : Quantity, shape (samples,)
        Time since the pulse ended [time]; take 2 s and more, before that the contacts of the electrodes settle too.
    slopes : Quantity, shape (samples,)
        Slope of the rest voltage over a full charge where the pulse was [voltage].
    current, pulse, capacity : Quantity
        Of the pulses, their length, and of the cell [current], [time], [charge].
    mean_slope : Quantity
        Mean slope of the rest voltage between the pulses [voltage].

    Returns
    -------
    SlowTerm
        [s], [s], [V]

    Raises
    ------
    ImpossibleValue
        Fewer than two slopes differ, or the line falls: the samples do not follow diffusion.

    References
    ----------
    The Mathematics of Diffusion, 6.3.4 (``SOURCES``: sphere), for short times; least squares for the line.
    """
    delay, long = np.asarray(delays.to("s").magnitude), float(pulse.to("s").magnitude)
    rate = float((current / capacity).to("1/s").magnitude)
    reach = rate * 2 / (3 * sqrt(pi)) * (np.sqrt(delay + long) - np.sqrt(delay))
    over, ratio = np.asarray(slopes.to("V").magnitude), np.asarray(drops.to("V").magnitude) / reach
    spread = over - over.mean()
    if not (spread**2).sum() > 0:
        raise ImpossibleValue("Pulses where the rest voltage has different slopes are needed.")
    root = float((spread * ratio).sum() / (spread**2).sum())
    product = float(ratio.mean() - root * over.mean())
    sigma = float(mean_slope.to("V").magnitude)
    if not (root >= 0 and product >= 0 and sigma > 0):
        raise ImpossibleValue("The voltage after the pulses does not recover as diffusion does.")
    times = ureg.Quantity(root**2, "s"), ureg.Quantity((product / sigma) ** 2, "s")
    return SlowTerm(*times, ureg.Quantity(sigma, "V"))
