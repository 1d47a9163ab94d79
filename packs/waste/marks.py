"""Rows on carriage: marks on the package, and what is forbidden."""

from datetime import date
from decimal import Decimal

from packs.sources import SOURCES
from packs.terms import LITHIUM_ION, Condition

from .place import UN_RULES, Jurisdiction
from .profile import Row, Topic

_US = frozenset({Jurisdiction.US})
_INTACT, _DAMAGED = frozenset({Condition.INTACT}), frozenset({Condition.DAMAGED})
_REACTIVE = frozenset({Condition.REACTIVE})

MARKS = (
    Row(
        rule="mark.intact",
        topic=Topic.MARK,
        places=UN_RULES,
        code="LITHIUM BATTERIES FOR DISPOSAL",
        text="Words on the package of intact ones (or FOR RECYCLING).",
        chemistries=LITHIUM_ION,
        conditions=_INTACT,
        source=SOURCES["adr_p909_mark"],
    ),
    Row(
        rule="mark.damaged",
        topic=Topic.MARK,
        places=UN_RULES,
        code="DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES",
        text="Words on the package of damaged ones.",
        chemistries=LITHIUM_ION,
        conditions=_DAMAGED,
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="mark.damaged",
        topic=Topic.MARK,
        places=_US,
        code="Damaged/defective lithium ion battery",
        text="Words on the package of damaged ones.",
        chemistries=LITHIUM_ION,
        conditions=_DAMAGED,
        source=SOURCES["us_damaged"],
    ),
    Row(
        rule="mark.letters",
        topic=Topic.MARK,
        places=UN_RULES,
        limit=Decimal(12),
        unit="mm",
        text="Height of the letters of these words, at least.",
        chemistries=LITHIUM_ION,
        conditions=_INTACT | _DAMAGED,
        source=SOURCES["un_letters"],
    ),
    Row(
        rule="mark.letters",
        topic=Topic.MARK,
        places=_US,
        limit=Decimal(12),
        unit="mm",
        text="Height of the letters of these words, at least.",
        chemistries=LITHIUM_ION,
        conditions=_DAMAGED,
        source=SOURCES["us_damaged_letters"],
    ),
    Row(
        rule="mark.by_land",
        topic=Topic.MARK,
        places=_US,
        code="LITHIUM BATTERIES-FORBIDDEN FOR TRANSPORT ABOARD AIRCRAFT AND VESSEL",
        text="Words on the package of large ones that go by highway or rail under the exception for them.",
        chemistries=LITHIUM_ION,
        conditions=_INTACT,
        source=SOURCES["us_middle"],
    ),
    Row(
        rule="mark.un_number",
        topic=Topic.MARK,
        places=UN_RULES,
        limit=Decimal(12),
        unit="mm",
        text="Height of the UN number (6 mm up to 30 litres or 30 kg, a suitable size up to 5), at least.",
        conditions=_INTACT | _DAMAGED,
        chemistries=LITHIUM_ION,
        source=SOURCES["adr_number_height"],
    ),
    Row(
        rule="mark.battery",
        topic=Topic.MARK,
        places=UN_RULES,
        text="Where the battery mark is asked for: 100 mm by 100 mm, hatched red; no telephone number is needed on it, and "
        "marks that have one may be used up.",
        valid_from=date(2023, 1, 1),
        valid_to=date(2026, 12, 31),
        chemistries=LITHIUM_ION,
        conditions=_INTACT,
        source=SOURCES["adr_battery_mark"],
    ),
    Row(
        rule="mark.battery",
        topic=Topic.MARK,
        places=UN_RULES,
        text="Where the battery mark is asked for: 100 mm by 100 mm, hatched red, without a telephone number.",
        valid_from=date(2027, 1, 1),
        chemistries=LITHIUM_ION,
        conditions=_INTACT,
        source=SOURCES["adr_battery_mark"],
    ),
    Row(
        rule="mark.label",
        topic=Topic.MARK,
        text="Where class 9 is labelled: label 9A, 100 mm by 100 mm at least.",
        chemistries=LITHIUM_ION,
        conditions=_INTACT | _DAMAGED,
        source=SOURCES["adr_label"],
    ),
)

FORBIDDEN = (
    Row(
        rule="forbidden.air",
        topic=Topic.FORBIDDEN,
        text="Not by air: waste batteries need the approval of the State of origin and of the operator, and damaged or "
        "defective ones are forbidden.",
        source=SOURCES["air_waste"],
    ),
    Row(
        rule="forbidden.mixing",
        topic=Topic.FORBIDDEN,
        text="Damaged and intact ones never share a package.",
        conditions=_INTACT | _DAMAGED,
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="forbidden.easier_rules",
        topic=Topic.FORBIDDEN,
        text="The easier rules for intact waste batteries do not cover damaged ones.",
        conditions=_DAMAGED,
        source=SOURCES["phmsa_24_0050"],
    ),
    Row(
        rule="forbidden.ordinary_carrier",
        topic=Topic.FORBIDDEN,
        text="Not with an ordinary carrier, and into no container.",
        conditions=_REACTIVE,
        source=SOURCES["adr_376"],
    ),
    Row(
        rule="forbidden.shredding",
        topic=Topic.FORBIDDEN,
        places=_US,
        text="No shredding, and never breach a casing.",
        conditions=_INTACT | _DAMAGED,
        source=SOURCES["us_shred"],
    ),
)
