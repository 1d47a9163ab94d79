"""Limits of a cell by its chemistry, each value with its source.

All of them are defaults: the data sheet of the cell goes before them, and a shop may set stricter ones.
What no source gives stays ``None``; it is never filled in from a neighbouring chemistry.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import TypeAlias

from packs.errors import MissingFact
from packs.sources import SOURCES, Source
from packs.terms import LITHIUM_ION, NICKEL, Chemistry
from packs.units import Quantity, ureg


@dataclass(frozen=True)
class ChemistryLimits:
    """Limits per cell; ``None`` means nothing is known, or that the limit does not apply to the chemistry.

    Attributes
    ----------
    nominal_voltage : Quantity or None
        [V]
    charge_limit : Quantity or None
        Where a constant-voltage charge is held [V].
    end_of_discharge : Quantity or None
        [V]
    precharge_below : Quantity or None
        Below it a cell is brought up slowly, at most at ``precharge_rate`` [V].
    precharge_rate : Quantity or None
        Largest current by capacity while it is brought up [1/h].
    reject_below : Quantity or None
        Below it a cell is not recharged [V]; a line of practice with margin, not a threshold of physics.
    storage_low, storage_high : Quantity or None
        Rest voltage for storage [V].
    charge_temperature_low, charge_temperature_high : Quantity or None
        Cell temperature at which the full limits of charging hold [°C]; outside, less or none.
    applies : frozenset of str
        Names of the limits above that make sense for the chemistry.
    sources : Mapping[str, Source]
        Source of every limit that is given, by its name.
    """

    chemistry: Chemistry
    nominal_voltage: Quantity | None
    charge_limit: Quantity | None
    end_of_discharge: Quantity | None
    precharge_below: Quantity | None
    precharge_rate: Quantity | None
    reject_below: Quantity | None
    storage_low: Quantity | None
    storage_high: Quantity | None
    charge_temperature_low: Quantity | None
    charge_temperature_high: Quantity | None
    applies: frozenset[str]
    sources: Mapping[str, Source]

    def require(self, name: str) -> Quantity:
        """Return one limit by name [V] or [°C], or raise ``MissingFact`` saying why there is none."""
        value: Quantity | None = getattr(self, name)
        if value is None:
            raise MissingFact(f"For {self.chemistry.label}, {self.about(name)}; see the cell's data sheet.")
        return value

    @property
    def charging_window(self) -> tuple[Quantity, Quantity] | None:
        """Lowest and highest temperature at which a pack is charged [°C]; None where one is not known.

        The chemistry's window, and never above `HIGHEST_FOR_CHARGING`: of two published limits the stricter.

        References
        ----------
        US Fire Administration, lithium-ion battery safety; the chemistry's window as in ``sources``.
        """
        low, high = self.charge_temperature_low, self.charge_temperature_high
        return None if low is None or high is None else (low, min(high, HIGHEST_FOR_CHARGING))

    def about(self, name: str) -> str:
        """Say where a limit comes from, or that it is not known, or that it does not apply to the chemistry."""
        words = name.replace("_", " ")
        if name in self.sources:
            return f"{words}: {self.sources[name]}"
        return f"{words} {'is not known' if name in self.applies else 'does not apply'}"


def limits(chemistry: Chemistry) -> ChemistryLimits:
    """Return the default limits of a chemistry [V], [°C].

    Raises
    ------
    MissingFact
        The chemistry is not known.

    References
    ----------
    Source and evidence of each value stand in ``ChemistryLimits.sources``: A Guide to the Safe Use of Secondary Lithium
    Ion Batteries in Notebook-type Personal Computers (JEITA/BAJ), IEC 61951-2 and others.

    Examples
    --------
    >>> str(limits(Chemistry.NMC).charge_limit), str(limits(Chemistry.NMC).sources["precharge_below"])
    ('4.2 volt', 'product specification of an 18650 cell of 2.5 Ah, 8-1 (published)')
    """
    if chemistry not in _LIMITS:
        raise MissingFact("The chemistry is not known; without it a cell has no limits.")
    return _LIMITS[chemistry]


HIGHEST_FOR_CHARGING = ureg.Quantity(40, "degC")
"""No charging above it, whatever the chemistry (US Fire Administration, NFPA)."""

LIMIT_NAMES = frozenset(field.name for field in fields(ChemistryLimits)) - {"chemistry", "applies", "sources"}
# Nickel cells are charged by current until voltage falls or temperature rises, and stored at any charge.
_NICKEL_NAMES = frozenset({"nominal_voltage", "end_of_discharge", "charge_temperature_low", "charge_temperature_high"})

_Given: TypeAlias = dict[str, tuple[float, str]]

_HIGH_CLASS: _Given = {
    "charge_limit": (4.20, "cell_specification"),
    "end_of_discharge": (3.0, "cell_specification"),
    "precharge_below": (3.0, "cell_specification"),
    "precharge_rate": (0.1, "cell_specification"),
    "reject_below": (2.0, "cell_specification"),
    "charge_temperature_low": (10.0, "jeita"),
    "charge_temperature_high": (45.0, "jeita"),
}
_NICKEL: _Given = {
    "nominal_voltage": (1.2, "nominal"),
    "charge_temperature_low": (0.0, "nickel_charge"),
    "charge_temperature_high": (45.0, "nickel_charge"),
}
_LAYERED_STORAGE: _Given = {"storage_low": (3.58, "storage_charge"), "storage_high": (3.74, "storage_charge")}
_GIVEN: Mapping[Chemistry, _Given] = {
    Chemistry.LCO: _HIGH_CLASS
    | {"nominal_voltage": (3.7, "nominal"), "storage_low": (3.748, "lco_curve"), "storage_high": (3.803, "lco_curve")},
    Chemistry.NMC: _HIGH_CLASS | _LAYERED_STORAGE | {"nominal_voltage": (3.6, "nominal")},
    Chemistry.NCA: _HIGH_CLASS | _LAYERED_STORAGE | {"nominal_voltage": (3.6, "nominal")},
    Chemistry.LMO: {name: (value, "lmo_class") for name, (value, _) in _HIGH_CLASS.items()}
    | {"nominal_voltage": (3.7, "nominal")},
    Chemistry.LFP: {
        "nominal_voltage": (3.2, "nominal"),
        "charge_limit": (3.65, "lfp_guide"),
        "end_of_discharge": (2.5, "lfp_guide"),
        "precharge_below": (2.0, "lfp_specification"),
        "precharge_rate": (0.1, "lfp_specification"),
        "reject_below": (2.0, "lfp_reject"),
        "storage_low": (3.28, "storage_charge"),
        "storage_high": (3.30, "storage_charge"),
        "charge_temperature_low": (15.0, "lfp_specification"),
        "charge_temperature_high": (45.0, "lfp_specification"),
    },
    Chemistry.LTO: {
        "nominal_voltage": (2.3, "lto_sheet"),
        "charge_limit": (2.7, "lto_limits"),
        "end_of_discharge": (1.5, "lto_limits"),
    },
    Chemistry.NIMH: _NICKEL | {"end_of_discharge": (1.0, "nimh_capacity_test")},
    Chemistry.NICD: _NICKEL | {"end_of_discharge": (1.0, "nicd_capacity_test")},
}


def _quantity(name: str, given: _Given) -> Quantity | None:
    unit = "degC" if "temperature" in name else "1/hour" if name.endswith("rate") else "V"
    return ureg.Quantity(given[name][0], unit) if name in given else None


def _built(chemistry: Chemistry, given: _Given) -> ChemistryLimits:
    return ChemistryLimits(
        chemistry=chemistry,
        applies=_NICKEL_NAMES if chemistry in NICKEL else LIMIT_NAMES,
        sources=MappingProxyType({name: SOURCES[key] for name, (_, key) in given.items()}),
        **{name: _quantity(name, given) for name in LIMIT_NAMES},
    )


_LIMITS: Mapping[Chemistry, ChemistryLimits] = MappingProxyType(
    {chemistry: _built(chemistry, _GIVEN[chemistry]) for chemistry in (*LITHIUM_ION, *NICKEL)}
)
