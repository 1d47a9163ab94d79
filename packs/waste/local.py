"""Rows on rebuilt packs that go on the market, and on what is left to local codes."""

from datetime import date
from decimal import Decimal

from packs.sources import SOURCES

from .disposal import LAST_OLD_DAY
from .place import Jurisdiction
from .profile import Row, Topic

_EU, _US = frozenset({Jurisdiction.EU}), frozenset({Jurisdiction.US})
_UK = frozenset({Jurisdiction.UK})

_BIN = date(2025, 8, 18)

NEW_TYPE_PERCENT = Decimal(20)
"""Change of nominal energy, or increase of nominal voltage, above which a rebuilt pack is a new type [%]."""


def _of_the_bin(rule: str, limit: str, unit: str, text: str) -> Row:
    """Return a row on the crossed-out bin, in its unit such as [cm]."""
    return Row(
        rule=rule,
        topic=Topic.REBUILT,
        places=_EU,
        limit=Decimal(limit),
        unit=unit,
        text=text,
        valid_from=_BIN,
        source=SOURCES["eu_bin"],
    )


REBUILT = (
    Row(
        rule="rebuilt.new_type",
        topic=Topic.REBUILT,
        limit=NEW_TYPE_PERCENT,
        unit="%",
        text="More change than this in nominal energy, or more increase in nominal voltage, is a new type for the transport "
        "tests. Below it a competent person judges.",
        source=SOURCES["un_38_3"],
    ),
    Row(
        rule="rebuilt.bin",
        topic=Topic.REBUILT,
        places=_EU,
        text="Crossed-out bin on every battery placed on the market.",
        valid_from=_BIN,
        source=SOURCES["eu_bin"],
    ),
    _of_the_bin("rebuilt.bin_share", "3", "%", "The bin takes this share of the largest side, at least."),
    _of_the_bin(
        "rebuilt.bin_share_cylinder", "1.5", "%", "On a cylinder it takes this share of the surface, at least."
    ),
    _of_the_bin("rebuilt.bin_longest", "5", "cm", "Its side need not be longer than this."),
    _of_the_bin("rebuilt.bin_on_battery", "0.47", "cm", "Where its side would be shorter, it stands on the packaging."),
    _of_the_bin("rebuilt.bin_on_packaging", "1", "cm", "Its side on the packaging."),
    Row(
        rule="rebuilt.chemical_sign",
        topic=Topic.REBUILT,
        places=_EU,
        text="Above 0.002 % of cadmium or 0.004 % of lead the chemical sign, Cd or Pb, stands with the bin.",
        source=SOURCES["eu_chemical_sign"],
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
        text="A label with general information, such as maker, category, date, mass, capacity and chemistry. It is due from "
        "18 August 2026, or 18 months after its implementing act where that is later.",
        valid_from=date(2026, 8, 18),
        source=SOURCES["eu_label"],
    ),
    Row(
        rule="rebuilt.market",
        topic=Topic.REBUILT,
        places=_EU,
        text="Who places a battery prepared for re-use, repurposed or remanufactured on the market follows quality control "
        "and safety instructions, and every rule on products, environment, health and carriage.",
        source=SOURCES["eu_market"],
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

ANYWHERE = (
    Row(
        rule="rebuilt.energy",
        topic=Topic.REBUILT,
        text="The rated energy in Wh stands on the outer case of a lithium-ion battery.",
        source=SOURCES["adr_188"],
    ),
    Row(
        rule="rebuilt.marks_of_others",
        topic=Topic.REBUILT,
        text="Marks of approval on the old pack were given to what it was: none is used again without its owner's word.",
        source=SOURCES["old_marks"],
    ),
    Row(
        rule="rebuilt.says_so",
        topic=Topic.REBUILT,
        text="It says that it was rebuilt, and by whom.",
        source=SOURCES["practice"],
    ),
    Row(
        rule="rebuilt.part_says_so",
        topic=Topic.REBUILT,
        text="A pack of which only groups were replaced says which ones, when and by whom; its own label stays on it, since "
        "the rest of it is as old as before. Whether such a repair places it on the market anew, the authority says.",
        source=SOURCES["practice"],
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
        text="National codes before the new ones apply: in Germany lithium-ion is treated as hazardous, such as 16 06 05*, "
        "16 02 15* out of equipment or 16 01 21* out of vehicles.",
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
        rule="local.insurer",
        topic=Topic.LOCAL,
        places=_EU,
        text="Insurers ask for distance, such as 2.5 m to what burns where there is no sprinkler, and for damaged ones apart.",
        source=SOURCES["insurer"],
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
