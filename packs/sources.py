"""Where values come from: the one list of sources behind the facts of chemistry."""

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
    }
)
