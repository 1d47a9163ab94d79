"""Rows on rebuilt packs that go on the market, and on what is left to local codes."""

from datetime import date
from decimal import Decimal

from packs.sources import SOURCES

from .disposal import LAST_OLD_DAY
from .place import Jurisdiction
from .profile import Row, Topic

_EU, _US = frozenset({Jurisdiction.EU}), frozenset({Jurisdiction.US})
_UK = frozenset({Jurisdiction.UK})

REBUILT = (
    Row(
        rule="rebuilt.new_type",
        topic=Topic.REBUILT,
        limit=Decimal(20),
        unit="%",
        text="More change than this in nominal energy, or more increase in nominal voltage, is a new type for the transport "
        "tests. Below it a competent person judges.",
        source=SOURCES["un_38_3"],
    ),
    Row(
        rule="rebuilt.bin",
        topic=Topic.REBUILT,
        places=_EU,
        text="Crossed-out bin on every battery placed on the market: 3 % of its largest side, 1.5 % of the surface of a "
        "cylinder, at most 5 cm by 5 cm; below 0.47 cm a side it stands on the packaging, 1 cm by 1 cm.",
        valid_from=date(2025, 8, 18),
        source=SOURCES["eu_bin"],
    ),
    Row(
        rule="rebuilt.capacity",
        topic=Topic.REBUILT,
        places=_EU,
        limit=Decimal(90),
        unit="%",
        text="“Remanufactured” may be said from this share of the original rated capacity on, with every cell evaluated and "
        "the purpose the same.",
        source=SOURCES["eu_remanufactured"],
    ),
    Row(
        rule="rebuilt.spread",
        topic=Topic.REBUILT,
        places=_EU,
        limit=Decimal(3),
        unit="%",
        text="“Remanufactured” may be said up to this spread of state of health between the cells.",
        source=SOURCES["eu_remanufactured"],
    ),
    Row(
        rule="rebuilt.label",
        topic=Topic.REBUILT,
        places=_EU,
        text="Label with general information, or 18 months after its implementing act if that is later.",
        valid_from=date(2026, 8, 18),
        source=SOURCES["eu_label"],
    ),
    Row(
        rule="rebuilt.removable",
        topic=Topic.REBUILT,
        places=_EU,
        text="Makers build devices whose batteries can be removed, light vehicles down to the cell; larger batteries carry a "
        "passport.",
        valid_from=date(2027, 2, 18),
        source=SOURCES["eu_removable"],
    ),
)

LOCAL = (
    Row(
        rule="local.waste_at_all",
        topic=Topic.LOCAL,
        text="Whether a thing is waste at all, and from when.",
        source=SOURCES["local"],
    ),
    Row(
        rule="local.state",
        topic=Topic.LOCAL,
        places=_US,
        text="State rules on universal waste, on nickel cells and on damaged ones; a state may be stricter.",
        source=SOURCES["local"],
    ),
    Row(
        rule="local.interim",
        topic=Topic.LOCAL,
        places=_EU,
        text="National codes before the new ones apply: in Germany lithium-ion is treated as hazardous, such as 16 06 05* or "
        "16 02 15*.",
        valid_to=LAST_OLD_DAY,
        source=SOURCES["eu_bavaria"],
    ),
    Row(
        rule="local.sixteen_or_twenty",
        topic=Topic.LOCAL,
        places=_EU,
        text="Whether 16 06 or 20 01 counts, who may carry waste, and whether taking packs apart needs a permit.",
        source=SOURCES["local"],
    ),
    Row(
        rule="local.nations",
        topic=Topic.LOCAL,
        places=_UK,
        text="Commonly 16 06 05. Forms of Scotland, Wales and Northern Ireland differ; the European change of codes is not "
        "taken over in Great Britain by itself.",
        source=SOURCES["uk_not_eu"],
    ),
    Row(
        rule="local.carrier",
        topic=Topic.LOCAL,
        text="Whether the carrier and the receiver take damaged cells, and whether they ask for larger marks.",
        source=SOURCES["local"],
    ),
    Row(
        rule="local.fire_code",
        topic=Topic.LOCAL,
        text="Quantity, distance, kind of container and days of observation: fire code, insurer and fire service.",
        source=SOURCES["local"],
    ),
    Row(
        rule="local.fire_code_example",
        topic=Topic.LOCAL,
        places=_US,
        text="One state's fire code allows 0.42 m³ (15 ft³) indoors without a permit, in groups of half of that, 3 ft apart.",
        source=SOURCES["us_fire_code"],
    ),
    Row(
        rule="local.contaminated",
        topic=Topic.LOCAL,
        text="Which code contaminated absorbent and gloves have: they are no batteries and are characterised by themselves.",
        source=SOURCES["us_other_waste"],
    ),
    Row(
        rule="local.borders",
        topic=Topic.LOCAL,
        text="Shipment across a border.",
        source=SOURCES["local"],
    ),
)
