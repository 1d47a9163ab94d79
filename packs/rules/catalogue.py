"""Every rule of the workshop, by id, in working order."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from packs.rules import bench, charging, closing, design, leaving, nickel, opening, origin, planning, proof
from packs.rules.model import Rule
from packs.sources import COMMON_PRACTICE
from packs.terms import Port
from packs.units import Quantity, ureg

RULE_SET_VERSION = "2026-12-01"


class OutletLimit(NamedTuple):
    """Voltage that an outlet must keep at its connector, with its source."""

    low: Quantity
    high: Quantity
    source: str


def _by_id(*parts: tuple[Rule, ...]) -> Mapping[str, Rule]:
    rules = [rule for part in parts for rule in part]
    by_id = {rule.id: rule for rule in rules}
    if len(by_id) < len(rules):
        raise ValueError("two rules share one id")
    return MappingProxyType(by_id)


RULES: Mapping[str, Rule] = _by_id(
    planning.RULES,
    origin.RULES,
    design.RULES,
    opening.RULES,
    bench.RULES,
    closing.RULES,
    charging.RULES,
    proof.RULES,
    leaving.RULES,
    nickel.RULES,
)


def _outlet(low: float, high: float, source: str) -> OutletLimit:
    return OutletLimit(ureg.Quantity(low, "V"), ureg.Quantity(high, "V"), source)


# Limits for final.outlet by kind of port. Values as quoted by others; clause numbers from memory.
OUTLET_LIMITS: Mapping[str, OutletLimit] = MappingProxyType(
    {
        "usb_high_power": _outlet(4.75, 5.25, "USB 2.0, section 7.2.2, Table 7-7, high-power port"),
        "usb_low_power": _outlet(4.40, 5.25, "USB 2.0, section 7.2.2, Table 7-7, low-power port"),
        "usb_type_c": _outlet(4.75, 5.50, "USB Power Delivery (IEC 62680-1-2), vSafe5V"),
    }
)


_OTHER_OUTLETS = 0.05
"""How far an outlet that no standard describes may be from its stated voltage."""


_PORTS: Mapping[Port, str] = MappingProxyType({Port.USB_A: "usb_high_power", Port.USB_C: "usb_type_c"})


def outlet_limit(stated: Quantity, port: Port | None = None) -> OutletLimit:
    """Return the window of an outlet of a stated voltage [V]: that of its port at 5 V, or 5 % around any other.

    Where no port is stated 5 V count as those of a type A port, which is the closer window.

    References
    ----------
    The 5 V port as ``OUTLET_LIMITS``; 5 % for others: common practice, no source.

    Examples
    --------
    >>> from packs.units import ureg
    >>> [round(limit.m_as("V"), 2) for limit in outlet_limit(ureg.Quantity(12, "V"))[:2]]
    [11.4, 12.6]
    """
    window = OUTLET_LIMITS[_PORTS[port or Port.USB_A]]
    if window.low <= stated <= window.high:
        return window
    return OutletLimit(stated * (1 - _OTHER_OUTLETS), stated * (1 + _OTHER_OUTLETS), COMMON_PRACTICE)
