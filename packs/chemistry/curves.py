"""Open-circuit curves that were published, at room temperature; which chemistry each of them stands for."""

from collections.abc import Mapping
from math import exp
from types import MappingProxyType

from packs.chemistry.ocv import OcvCurve
from packs.errors import MissingFact
from packs.sources import SOURCES
from packs.terms import NICKEL, Chemistry

_TENTHS = tuple(tenth / 10 for tenth in range(11))


def _curve(name: str, states: tuple[float, ...], volts: tuple[float, ...], source: str) -> OcvCurve:
    return OcvCurve(name, states, volts, SOURCES[source])


_HIGH_NICKEL = (
    _curve(
        "high-nickel 21700 cell, C/32",
        (0, 0.0151, 0.0452, 0.0955, 0.1508, 0.2915, 0.4573, 0.8342, 0.9497, 1),
        (2.5061, 2.8981, 3.1461, 3.3231, 3.4218, 3.5737, 3.7017, 4.0637, 4.1009, 4.1932),
        "piecewise_curves",
    ),
    _curve(
        "another high-nickel 21700 cell, C/20",
        (0, 0.0050, 0.0352, 0.0854, 0.1357, 0.2915, 0.4523, 0.8392, 0.9548, 1),
        (2.5000, 2.8080, 3.1179, 3.3182, 3.4193, 3.5826, 3.6941, 4.0664, 4.1121, 4.2000),
        "piecewise_curves",
    ),
    _curve(
        "high-power 18650 cell, C/20",
        _TENTHS,
        (2.483, 3.151, 3.390, 3.520, 3.643, 3.740, 3.822, 3.907, 4.032, 4.082, 4.200),
        "measured_curve_18650",
    ),
    _curve(
        "NMC 811 with silicon and graphite, model",
        _TENTHS,
        (2.500, 3.296, 3.485, 3.581, 3.667, 3.751, 3.841, 3.948, 4.042, 4.097, 4.200),
        "nmc811_model",
    ),
)


def _lco(charge: float) -> float:
    return -1.031 * exp(-35 * charge) + 3.685 + 0.2156 * charge - 0.1178 * charge**2 + 0.3201 * charge**3


_LCO_STATES = tuple(step / 100 for step in range(101))
_LCO = _curve("LCO polymer cell", _LCO_STATES, tuple(_lco(state) for state in _LCO_STATES), "lco_formula")
_LFP = _curve(
    "LFP 18650 cell, C/32",
    (0, 0.0033, 0.0117, 0.0267, 0.0534, 0.0885, 0.2972, 0.9833, 0.9950, 1),
    (2.0102, 2.4177, 2.7405, 2.9299, 3.0872, 3.1942, 3.2772, 3.3511, 3.4180, 3.5981),
    "piecewise_curves",
)
_CURVES: Mapping[Chemistry, tuple[OcvCurve, ...]] = MappingProxyType(
    {Chemistry.NMC: _HIGH_NICKEL, Chemistry.NCA: _HIGH_NICKEL, Chemistry.LCO: (_LCO,), Chemistry.LFP: (_LFP,)}
)


def curves_of(chemistry: Chemistry) -> tuple[OcvCurve, ...]:
    """Return the published open-circuit curves of a chemistry [V] over 0 to 1, the best resolved first.

    Raises
    ------
    MissingFact
        None is known, or the chemistry has none that says anything: rest voltage of a nickel cell follows its last
        charge and its temperature more than its state of charge.

    References
    ----------
    J. Electrochem. Soc. 167 (2020) 080534; IEEE Trans. Energy Convers. 21 (2006) 504; ``SOURCES``: piecewise_curves,
    measured_curve_18650; each curve names its own.

    Examples
    --------
    >>> f"{curves_of(Chemistry.LCO)[0].voltage(0.5):.4f}"
    '3.8034 volt'
    """
    if chemistry in NICKEL:
        raise MissingFact(f"For {chemistry.label}, state of charge from a rest voltage does not apply.")
    if chemistry not in _CURVES:
        raise MissingFact(f"For {chemistry.label}, an open-circuit curve is not known.")
    return _CURVES[chemistry]
