"""Where values come from: the one list of sources, named by key or by title where a value or a formula stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

COMMON_PRACTICE = "common practice, no source"


class Evidence(StrEnum):
    """How well a value is attested."""

    PUBLISHED = "published"
    SECONDARY = "quoted elsewhere"
    MEMORY = "from memory, not verified"
    COMPUTED = "computed"
    PRACTICE = COMMON_PRACTICE


@dataclass(frozen=True)
class Source:
    """A source of a value; ``str()`` cites it on one line with its evidence."""

    title: str
    edition: str
    clause: str
    evidence: Evidence

    def __str__(self) -> str:
        parts = [part for part in (self.title, self.edition, self.clause) if part]
        return f"{', '.join(parts)} ({self.evidence})" if parts else str(self.evidence)


SOURCES: Mapping[str, Source] = MappingProxyType(
    {
        "practice": Source("", "", "", Evidence.PRACTICE),
        "nominal": Source("nominal voltage usual for the chemistry", "", "", Evidence.MEMORY),
        "cell_specification": Source("product specification of an 18650 cell of 2.5 Ah", "", "8-1", Evidence.PUBLISHED),
        "jeita": Source(
            "A Guide to the Safe Use of Secondary Lithium Ion Batteries in Notebook-type Personal Computers (JEITA/BAJ)",
            "2007-04-20",
            "",
            Evidence.SECONDARY,
        ),
        "lmo_class": Source("taken as the 4.2 V class of LCO, NMC and NCA", "", "", Evidence.MEMORY),
        "lfp_guide": Source("a cell maker's guide to lithium iron phosphate cells", "", "", Evidence.SECONDARY),
        "lfp_specification": Source(
            "product specification of a small lithium iron phosphate cell", "", "", Evidence.PUBLISHED
        ),
        "lfp_reject": Source(
            "the precharge threshold taken as the line, for want of another", "", "", Evidence.PRACTICE
        ),
        "lto_sheet": Source("cell data sheet, lithium titanate", "", "", Evidence.PUBLISHED),
        "lto_limits": Source("limits usual for lithium titanate, lower end of 2.7 to 2.8 V", "", "", Evidence.MEMORY),
        "storage_charge": Source("30 to 50 % state of charge", "", "", Evidence.PRACTICE),
        "lco_curve": Source(
            "30 to 50 % state of charge by the curve in IEEE Trans. Energy Convers. 21 (2006) 504",
            "",
            "",
            Evidence.COMPUTED,
        ),
        "nimh_capacity_test": Source("IEC 61951-2", "", "capacity test to 1.0 V per cell", Evidence.SECONDARY),
        "nicd_capacity_test": Source("IEC 61951-1", "", "capacity test to 1.0 V per cell", Evidence.MEMORY),
        # Laws and definitions: first principles, named in the references of the functions that use them.
        "ohm": Source("Ohm's law", "", "", Evidence.COMPUTED),
        "joule": Source("Joule's law", "", "", Evidence.COMPUTED),
        "kirchhoff": Source("Kirchhoff's laws", "", "", Evidence.COMPUTED),
        "heat_conduction": Source("Fourier's law of heat conduction", "", "", Evidence.COMPUTED),
        "heat_transfer": Source("Newton's law of cooling", "", "", Evidence.COMPUTED),
        # Conductors.
        "astm_b258": Source("ASTM B258", "", "definition of the gauge", Evidence.SECONDARY),
        "nbs_100": Source("NBS Handbook 100, Copper Wire Tables", "1966", "", Evidence.SECONDARY),
        "iec_60028": Source("IEC 60028", "1925", "resistivity of annealed copper", Evidence.SECONDARY),
        "iec_60228": Source("IEC 60228", "", "nominal sections", Evidence.MEMORY),
        "iec_60287": Source("IEC 60287-1-1", "", "table of conductor constants", Evidence.SECONDARY),
        "iec_60949": Source("IEC 60949", "1988", "adiabatic short-circuit current", Evidence.SECONDARY),
        "iec_60949_steel": Source("IEC 60949", "1988", "reciprocal of the coefficient of steel", Evidence.MEMORY),
        "onderdonk": Source("Onderdonk's equation", "as quoted with its history by Brooks", "", Evidence.SECONDARY),
        "preece": Source("Preece's fusing currents", "table of constants by Ness Engineering", "", Evidence.PUBLISHED),
        "incropera": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table A.1", Evidence.PUBLISHED
        ),
        "incropera_nickel": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table A.1", Evidence.MEMORY
        ),
        "incropera_convection": Source(
            "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer", "", "table 1.1", Evidence.MEMORY
        ),
        "nickel_sheet": Source("data sheet of nickel of 99.98 %", "", "", Evidence.PUBLISHED),
        "smc_061": Source("Special Metals SMC-061, Nickel 200 and 201", "", "table 3", Evidence.PUBLISHED),
        "smc_061_rise": Source(
            "Special Metals SMC-061, Nickel 200 and 201", "", "table 3, from 20 to 93 °C", Evidence.COMPUTED
        ),
        "smc_061_memory": Source("Special Metals SMC-061, Nickel 200 and 201", "", "", Evidence.MEMORY),
        "sae_1010": Source(
            "data sheets of steel SAE 1010; the plating is too thin to count", "", "", Evidence.PUBLISHED
        ),
        "sae_1010_memory": Source("steel SAE 1010", "", "", Evidence.MEMORY),
        "brand_2015": Source("Brand et al., J. Energy Storage 1 (2015) 7-14", "", "", Evidence.MEMORY),
        "copper_melting": Source("melting point of copper in Onderdonk's equation", "", "", Evidence.SECONDARY),
    }
)
