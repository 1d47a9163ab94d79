"""Rows on waste: codes, how long it may stand, and records."""

from datetime import date
from decimal import Decimal

from packs.sources import SOURCES
from packs.terms import LITHIUM_ION, Chemistry, Condition

from .place import ADR, Jurisdiction
from .profile import Row, Topic

ASK_AUTHORITY = "Ask the waste authority which code it accepts."
NEW_CODES_ADOPTED, LAST_OLD_DAY, NEW_CODES_APPLY = date(2025, 6, 9), date(2026, 12, 8), date(2026, 12, 9)
_BEFORE_ADOPTED = date(2025, 6, 8)
_ADOPTED = "New codes are adopted and apply from 9 December 2026."

_EU, _US = frozenset({Jurisdiction.EU}), frozenset({Jurisdiction.US})
_UK, _OTHER = frozenset({Jurisdiction.UK}), frozenset({Jurisdiction.OTHER})
_NOT_US = frozenset(Jurisdiction) - _US
_NONE: frozenset[Chemistry] = frozenset()
_NIMH, _NICD = frozenset({Chemistry.NIMH}), frozenset({Chemistry.NICD})

_OLD = "Other batteries, or the code of national practice."

CODES = (
    Row(
        rule="code.other",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 05",
        text=f"{_OLD} {ASK_AUTHORITY}",
        valid_to=_BEFORE_ADOPTED,
        chemistries=LITHIUM_ION | _NIMH,
        source=SOURCES["list_of_waste"],
    ),
    Row(
        rule="code.other",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 05",
        text=f"{_OLD} {_ADOPTED} {ASK_AUTHORITY}",
        valid_from=NEW_CODES_ADOPTED,
        valid_to=LAST_OLD_DAY,
        chemistries=LITHIUM_ION | _NIMH,
        source=SOURCES["list_of_waste"],
    ),
    Row(
        rule="code.lithium",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 07*",
        text=f"Lithium-based batteries, hazardous. {ASK_AUTHORITY}",
        valid_from=NEW_CODES_APPLY,
        chemistries=LITHIUM_ION,
        source=SOURCES["new_waste_codes"],
    ),
    Row(
        rule="code.nickel",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 08*",
        text=f"Nickel-based batteries without cadmium, hazardous. {ASK_AUTHORITY}",
        valid_from=NEW_CODES_APPLY,
        chemistries=_NIMH,
        source=SOURCES["new_waste_codes"],
    ),
    Row(
        rule="code.cadmium",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 02*",
        text=f"Nickel-cadmium batteries. {ASK_AUTHORITY}",
        valid_to=LAST_OLD_DAY,
        chemistries=_NICD,
        source=SOURCES["eu_old_cadmium"],
    ),
    Row(
        rule="code.cadmium",
        topic=Topic.CODE,
        places=_EU,
        code="16 06 02*",
        text=f"Nickel-cadmium batteries. {ASK_AUTHORITY}",
        valid_from=NEW_CODES_APPLY,
        chemistries=_NICD,
        source=SOURCES["eu_new_cadmium"],
    ),
    Row(
        rule="code.us",
        topic=Topic.CODE,
        places=_US,
        text="Batteries with every cell casing intact may be universal waste (40 CFR part 273); a breached casing is not. "
        "Ask your state, which may be stricter.",
        source=SOURCES["us_breached"],
    ),
    Row(
        rule="code.uk",
        topic=Topic.CODE,
        places=_UK,
        text="Classify under technical guidance WM3 and ask the environment agency of your nation.",
        source=SOURCES["uk_wm3"],
    ),
    Row(
        rule="code.elsewhere",
        topic=Topic.CODE,
        places=_OTHER,
        text="Ask the local waste authority for the code.",
        source=SOURCES["local"],
    ),
    Row(
        rule="code.us_hazardous",
        topic=Topic.CODE,
        places=_US,
        code="D001, D003",
        text="What is not universal waste is likely hazardous for ignitability and reactivity; the shop determines it.",
        chemistries=_NONE,
        source=SOURCES["us_ignitable"],
    ),
    Row(
        rule="code.municipal",
        topic=Topic.CODE,
        places=_EU,
        code="20 01 33*, 20 01 34",
        text="Separately collected municipal batteries. A trade shop normally uses 16 06.",
        valid_to=LAST_OLD_DAY,
        chemistries=_NONE,
        source=SOURCES["list_of_waste"],
    ),
    Row(
        rule="code.municipal",
        topic=Topic.CODE,
        places=_EU,
        code="20 01 43*",
        text="Separately collected municipal lithium batteries; 20 01 42* and 20 01 44 for the others. A trade shop "
        "normally uses 16 06.",
        valid_from=NEW_CODES_APPLY,
        chemistries=_NONE,
        source=SOURCES["eu_municipal_codes"],
    ),
)

STANDING = (
    Row(
        rule="standing.leave_by",
        topic=Topic.STANDING,
        places=_US,
        limit=Decimal(1),
        unit="year",
        text="Universal waste leaves within this time from its earliest date, at most.",
        source=SOURCES["us_one_year"],
    ),
    Row(
        rule="standing.leap_day",
        topic=Topic.STANDING,
        places=_US,
        text="A year from 29 February ends on 28 February, the earlier day.",
        source=SOURCES["leap_day"],
    ),
    Row(
        rule="standing.site",
        topic=Topic.STANDING,
        places=_US,
        limit=Decimal(5000),
        unit="kg",
        text="All universal waste of the site together stays below this; who reaches it is a large quantity handler until "
        "31 December.",
        source=SOURCES["us_handler"],
    ),
    Row(
        rule="standing.label",
        topic=Topic.STANDING,
        places=_US,
        code="Universal Waste-Battery(ies)",
        text="On the battery or its container; “Waste Battery(ies)” or “Used Battery(ies)” serve too.",
        source=SOURCES["us_label"],
    ),
    Row(
        rule="standing.container",
        topic=Topic.STANDING,
        places=_US,
        text="What leaks or is damaged stands in a closed, sound container that suits it and does not leak.",
        conditions=frozenset({Condition.DAMAGED}),
        source=SOURCES["us_container"],
    ),
    Row(
        rule="standing.activities",
        topic=Topic.STANDING,
        places=_US,
        text="While every casing stays closed: sorting, discharging, taking packs apart into cells.",
        source=SOURCES["us_activities"],
    ),
    Row(
        rule="standing.storage",
        topic=Topic.STANDING,
        places=_EU,
        text="Weatherproof, on ground that does not soak through, away from heat, water and crushing, nothing that "
        "conducts or burns beside it, right way up, ventilated. Written for treatment sites; good practice for a shop.",
        source=SOURCES["eu_storage"],
    ),
    Row(
        rule="standing.temperature",
        topic=Topic.STANDING,
        text="Cool, dry and ventilated, between 4 and 27 °C (40 and 80 °F); what the maker of the cells asks comes first.",
        source=SOURCES["storage_temperature"],
    ),
    Row(
        rule="standing.time",
        topic=Topic.LOCAL,
        places=_NOT_US,
        text="How long waste may stand here, and how much of it, is for the local permit to say.",
        source=SOURCES["local"],
    ),
)

RECORDS = (
    Row(
        rule="records.keep",
        topic=Topic.RECORDS,
        places=_UK,
        limit=Decimal(3),
        unit="year",
        text="Keep the register with the consignment note at the premises; one copy stays, two go with the carrier, and the "
        "receiver sends one back. England; the other nations differ.",
        source=SOURCES["uk_register"],
    ),
    Row(
        rule="records.keep",
        topic=Topic.RECORDS,
        places=_US,
        limit=Decimal(3),
        unit="year",
        text="Keep it as a large quantity handler must; a small one need not keep any.",
        source=SOURCES["us_records"],
    ),
    Row(
        rule="records.keep",
        topic=Topic.RECORDS,
        places=_EU | _OTHER,
        text="How long the note is kept is for national rules to say; until you know, throw none away.",
        source=SOURCES["local"],
    ),
    Row(
        rule="records.shipping_paper",
        topic=Topic.RECORDS,
        places=_US,
        limit=Decimal(2),
        unit="year",
        text="Keep the shipping paper; three years for hazardous waste.",
        source=SOURCES["us_shipping_paper"],
    ),
    Row(
        rule="records.entries",
        topic=Topic.RECORDS,
        places=ADR,
        text="The transport document names, in this order: UN number, name, class, number and kind of packages, quantity, "
        "sender, receiver.",
        source=SOURCES["adr_papers"],
    ),
    Row(
        rule="records.entries_further",
        topic=Topic.RECORDS,
        places=ADR,
        text="WASTE stands before the name, the tunnel code is E, and damaged ones travel “in accordance with special "
        "provision 376”.",
        source=SOURCES["adr_papers_further"],
    ),
    Row(
        rule="records.training",
        topic=Topic.RECORDS,
        places=_US,
        text="Who offers dangerous goods is trained within 90 days, then every three years.",
        source=SOURCES["us_training"],
    ),
)
