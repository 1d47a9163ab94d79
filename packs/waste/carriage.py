"""Rows on carriage: numbers and names, sizes, packing."""

from datetime import date
from decimal import Decimal

from packs.sources import SOURCES
from packs.terms import LITHIUM_ION, Chemistry, Condition

from .place import ADR, UN_RULES, Jurisdiction
from .profile import Row, Topic

ASK_CARRIER = "Ask the carrier."
_US = frozenset({Jurisdiction.US})
_NONE: frozenset[Chemistry] = frozenset()
_NIMH = frozenset({Chemistry.NIMH})
_INTACT, _DAMAGED = frozenset({Condition.INTACT}), frozenset({Condition.DAMAGED})
_REACTIVE = frozenset({Condition.REACTIVE})
_SODIUM = date(2025, 1, 1)
_SODIUM_NAME = "SODIUM ION BATTERIES with organic electrolyte"

NAMES = (
    Row(
        rule="name.lithium_ion",
        topic=Topic.NAME,
        code="UN3480",
        name="LITHIUM ION BATTERIES",
        text=f"Class 9; the name says batteries for single cells too. {ASK_CARRIER}",
        chemistries=LITHIUM_ION,
        source=SOURCES["transport_guide"],
    ),
    Row(
        rule="name.lithium_ion_in_equipment",
        topic=Topic.NAME,
        code="UN3481",
        name="LITHIUM ION BATTERIES CONTAINED IN EQUIPMENT",
        text=f"Class 9; beside their equipment the name ends in PACKED WITH EQUIPMENT. {ASK_CARRIER}",
        chemistries=LITHIUM_ION,
        source=SOURCES["transport_guide"],
    ),
    Row(
        rule="name.nimh",
        topic=Topic.NAME,
        code="UN3496",
        name="BATTERIES, NICKEL-METAL HYDRIDE",
        text=f"UN3496 counts at sea only; by road, protect against short circuit and heat. {ASK_CARRIER}",
        chemistries=_NIMH,
        source=SOURCES["sodium_sea_air"],
    ),
    Row(
        rule="name.nicd",
        topic=Topic.NAME,
        text=f"No number is confirmed for sealed nickel-cadmium cells. {ASK_CARRIER}",
        chemistries=frozenset({Chemistry.NICD}),
        source=SOURCES["memory"],
    ),
    Row(
        rule="name.unknown",
        topic=Topic.NAME,
        text="No number can be named while the chemistry is not known.",
        chemistries=frozenset({Chemistry.UNKNOWN}),
        source=SOURCES["practice"],
    ),
    Row(
        rule="name.nicd_vented",
        topic=Topic.NAME,
        code="UN2795",
        name="BATTERIES, WET, FILLED WITH ALKALI",
        text="Flooded nickel-cadmium, class 8.",
        chemistries=_NONE,
        source=SOURCES["transport_guide"],
    ),
    Row(
        rule="name.lithium_metal",
        topic=Topic.NAME,
        code="UN3090",
        name="LITHIUM METAL BATTERIES",
        text="Class 9; UN3091 with or in equipment. Not for rechargeable lithium-ion cells.",
        chemistries=_NONE,
        source=SOURCES["transport_guide"],
    ),
    Row(
        rule="name.sodium_ion",
        topic=Topic.NAME,
        places=UN_RULES,
        code="UN3551",
        name=_SODIUM_NAME,
        text="Class 9; UN3552 with or in equipment.",
        valid_from=_SODIUM,
        chemistries=_NONE,
        source=SOURCES["adr_sodium"],
    ),
    Row(
        rule="name.sodium_ion",
        topic=Topic.NAME,
        places=_US,
        text="Sodium-ion is not yet settled in the United States: ask PHMSA and the carrier.",
        chemistries=_NONE,
        source=SOURCES["us_sodium"],
    ),
)

SIZES = (
    Row(
        rule="size.cell",
        topic=Topic.SIZE,
        limit=Decimal(20),
        unit="Wh",
        text="A cell, or a battery of one cell, is small up to this rated energy.",
        source=SOURCES["us_small"],
    ),
    Row(
        rule="size.battery",
        topic=Topic.SIZE,
        limit=Decimal(100),
        unit="Wh",
        text="A battery of two or more connected cells is small up to this; packs that are connected count as one.",
        source=SOURCES["us_small"],
    ),
    Row(
        rule="size.one_cell",
        topic=Topic.SIZE,
        text="A battery is two or more connected cells with what they need for use; one of a single cell counts as a cell.",
        source=SOURCES["un_one_cell"],
    ),
    Row(
        rule="size.one_battery",
        topic=Topic.SIZE,
        text="Packs that are electrically connected count as one battery: their rated energies add up.",
        source=SOURCES["phmsa_one_battery"],
    ),
    Row(
        rule="size.rated",
        topic=Topic.SIZE,
        text="Rated energy is rated capacity times nominal voltage.",
        source=SOURCES["us_wh"],
    ),
    Row(
        rule="size.declared",
        topic=Topic.SIZE,
        text="What the maker declares counts. No shop declares less than rated capacity times nominal voltage.",
        source=SOURCES["phmsa_declared"],
    ),
    Row(
        rule="size.cell_by_land",
        topic=Topic.SIZE,
        places=_US,
        limit=Decimal(60),
        unit="Wh",
        text="By highway and rail only, a cell above the small size is excepted up to this, with a further mark.",
        source=SOURCES["us_middle"],
    ),
    Row(
        rule="size.battery_by_land",
        topic=Topic.SIZE,
        places=_US,
        limit=Decimal(300),
        unit="Wh",
        text="By highway and rail only, a battery above the small size is excepted up to this, with a further mark.",
        source=SOURCES["us_middle"],
    ),
)

PACKING = (
    Row(
        rule="packing.terminals",
        topic=Topic.PACKING,
        text="Insulate every terminal, or bag each cell by itself.",
        conditions=_INTACT | _DAMAGED,
        source=SOURCES["terminals_advice"],
    ),
    Row(
        rule="packing.intact",
        topic=Topic.PACKING,
        places=_US,
        code="49 CFR 173.185(d)",
        text="By motor vehicle only, to a permitted site: strong outer packaging; line metal so that it does not conduct; "
        "nothing may shift.",
        conditions=_INTACT,
        source=SOURCES["us_disposal"],
    ),
    Row(
        rule="packing.intact",
        topic=Topic.PACKING,
        places=UN_RULES,
        code="P909(2)",
        text="Strong outer packaging; line metal so that it does not conduct; nothing may shift.",
        conditions=_INTACT,
        source=SOURCES["adr_p909"],
    ),
    Row(
        rule="packing.intact_large",
        topic=Topic.PACKING,
        places=UN_RULES,
        code="P909(1) or P903",
        text="Above 20 Wh a cell or 100 Wh a battery: UN-approved packaging of packing group II.",
        conditions=_INTACT,
        source=SOURCES["adr_large_waste"],
    ),
    Row(
        rule="packing.gross",
        topic=Topic.PACKING,
        places=UN_RULES,
        limit=Decimal(30),
        unit="kg",
        text="Without UN-approved packaging a package weighs at most this, gross.",
        conditions=_INTACT,
        source=SOURCES["adr_p909"],
    ),
    Row(
        rule="packing.gross",
        topic=Topic.PACKING,
        places=_US,
        limit=Decimal(30),
        unit="kg",
        text="Without UN-approved packaging a package weighs at most this, gross.",
        conditions=_INTACT,
        source=SOURCES["us_small_packages"],
    ),
    Row(
        rule="packing.damaged",
        topic=Topic.PACKING,
        places=_US,
        code="49 CFR 173.185(f)",
        text="Each item alone in a non-metallic inner packaging that fully encloses it, with absorbent cushioning that "
        "neither burns nor conducts; UN-approved outer packaging of packing group I.",
        conditions=_DAMAGED,
        source=SOURCES["us_damaged"],
    ),
    Row(
        rule="packing.damaged",
        topic=Topic.PACKING,
        places=UN_RULES,
        code="P908",
        text="Each item alone in an inner packaging, with heat insulation around it that neither burns nor conducts; "
        "inner or outer packaging leak-proof; UN-approved outer packaging of packing group II.",
        conditions=_DAMAGED,
        source=SOURCES["adr_p908"],
    ),
    Row(
        rule="packing.damaged_to_a_package",
        topic=Topic.PACKING,
        places=_US,
        limit=Decimal(1),
        unit="item",
        text="Of damaged ones at most this to a package.",
        conditions=_DAMAGED,
        source=SOURCES["us_damaged"],
    ),
    Row(
        rule="packing.damaged_heavy",
        topic=Topic.PACKING,
        places=UN_RULES,
        limit=Decimal(30),
        unit="kg",
        text="A damaged item heavier than this, net, has an outer packaging to itself.",
        conditions=_DAMAGED,
        source=SOURCES["adr_p908"],
    ),
    Row(
        rule="packing.leaking",
        topic=Topic.PACKING,
        text="For leaked electrolyte: the inert absorbent named in the cell's safety data sheet.",
        conditions=_DAMAGED,
        source=SOURCES["adr_p908"],
    ),
    Row(
        rule="packing.reactive",
        topic=Topic.PACKING,
        places=UN_RULES,
        code="P911 or LP906",
        text="It may travel only under the terms of the competent authority.",
        conditions=_REACTIVE,
        source=SOURCES["adr_p911"],
    ),
    Row(
        rule="packing.reactive",
        topic=Topic.PACKING,
        places=_US,
        text="It may travel only under the terms of the competent authority.",
        conditions=_REACTIVE,
        source=SOURCES["local"],
    ),
    Row(
        rule="packing.reactive_stays",
        topic=Topic.PACKING,
        text="Do not pack and do not move it: keep people away and call the fire service.",
        conditions=_REACTIVE,
        source=SOURCES["practice"],
    ),
    Row(
        rule="packing.transport_unit",
        topic=Topic.LOCAL,
        places=ADR,
        limit=Decimal(333),
        unit="kg",
        text="On the way to the first treatment easier rules may count for a collecting point with a quality system, up to "
        "this mass in a transport unit, for intact small ones. Whether a repair shop is such a point is not clear: ask the "
        "authority.",
        conditions=_INTACT,
        source=SOURCES["adr_636"],
    ),
    Row(
        rule="packing.collected_item",
        topic=Topic.LOCAL,
        places=ADR,
        limit=Decimal("0.5"),
        unit="kg",
        text="The easier rules for collecting points cover items up to this mass each, gross; sources differ, so both this "
        "and the small size are asked for.",
        conditions=_INTACT,
        source=SOURCES["adr_636"],
    ),
)
