"""Removed cells on their way out: number and name for transport, condition, packing, waste code.

Nothing here is legal advice, and every text defers to those who decide: the local authority, the carrier and the
receiving facility.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from packs.errors import MissingFact
from packs.sources import SOURCES, Source
from packs.terms import LITHIUM_ION, Chemistry, Condition


class Jurisdiction(StrEnum):
    """Where the shop stands, as far as waste codes differ."""

    EU = "eu"
    US = "us"
    UK = "uk"
    OTHER = "other"


@dataclass(frozen=True)
class Statement:
    """A sentence for paper and what it rests on."""

    text: str
    source: Source

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class UnEntry:
    """Number and proper shipping name; ``number`` is None where none can be named, and ``words`` say why."""

    number: str | None
    name: str
    words: str
    source: Source


@dataclass(frozen=True)
class WasteCode:
    """Waste code on a date; ``code`` is None where this program names none, and ``words`` defer."""

    code: str | None
    words: str
    source: Source


_GUIDE = SOURCES["transport_guide"]
_SEA_ONLY = SOURCES["sodium_sea_air"]
_SP_376 = SOURCES["adr_376"]
_P908 = SOURCES["adr_p908"]
_P909 = SOURCES["adr_p909"]
_P909_MARK = SOURCES["adr_p909_mark"]
_P911 = SOURCES["adr_p911"]
_US_DAMAGED = SOURCES["us_damaged"]
_PHMSA_24_0050 = SOURCES["phmsa_24_0050"]
_TERMINALS = SOURCES["terminals_advice"]
_SHOP = SOURCES["practice"]
_UNSURE = SOURCES["memory"]

DEFERS = Statement(
    "This is no legal advice: the local authority, the carrier and the receiving facility decide.", _SHOP
)
FORBIDDEN_BY_AIR = Statement(
    "Not by air: waste batteries need the approval of the State of origin and of the operator, and damaged or "
    "defective ones are forbidden.",
    _GUIDE,
)

_ASK_CARRIER = "Ask the carrier."


def un_number(chemistry: Chemistry, in_equipment: bool = False) -> UnEntry:
    """Number and name under which cells or batteries of a chemistry travel, alone or in their equipment.

    References
    ----------
    Industry guide to ADR, IMDG Code and IATA rules; ``UnEntry.source`` names that of each.
    """
    if chemistry in LITHIUM_ION:
        return _lithium_ion(in_equipment)
    if chemistry is Chemistry.NIMH:
        words = f"UN3496 counts at sea only; by road, protect against short circuit and heat. {_ASK_CARRIER}"
        return UnEntry("UN3496", "BATTERIES, NICKEL-METAL HYDRIDE", words, _SEA_ONLY)
    if chemistry is Chemistry.NICD:
        return UnEntry(None, "", f"No number is confirmed for sealed nickel-cadmium cells. {_ASK_CARRIER}", _UNSURE)
    return UnEntry(None, "", "No number can be named while the chemistry is not known.", _SHOP)


def _lithium_ion(in_equipment: bool) -> UnEntry:
    number, name = ("UN3480", "LITHIUM ION BATTERIES")
    if in_equipment:
        number, name = "UN3481", "LITHIUM ION BATTERIES CONTAINED IN EQUIPMENT"
    return UnEntry(number, name, f"Class 9; the name says batteries for single cells too. {_ASK_CARRIER}", _GUIDE)


_CONDITIONS: Mapping[Condition, Statement] = MappingProxyType(
    {
        Condition.INTACT: Statement(
            "Intact: casing closed and in shape, no leak, no heat, no gas, and nothing in its history or its voltage "
            "that speaks against it.",
            _SP_376,
        ),
        Condition.DAMAGED: Statement(
            "Damaged or defective: leaked, vented, swollen, dented, abnormal in voltage or insulation, or not to be "
            "diagnosed before carriage.",
            _SP_376,
        ),
        Condition.REACTIVE: Statement(
            "Liable to react: heat, gas, smoke or flame is to be expected under normal carriage. Not for an ordinary "
            "carrier; call the fire service or the competent authority.",
            _SP_376,
        ),
    }
)


def condition_words(condition: Condition) -> Statement:
    """What a condition means, in the words of the note.

    References
    ----------
    ADR, special provision 376; ``Statement.source`` names the source of each.
    """
    return _CONDITIONS[condition]


_COVERED = Statement("Insulate every terminal, or bag each cell by itself.", _TERMINALS)
_FOR_DISPOSAL = Statement(
    "Mark the package LITHIUM BATTERIES FOR DISPOSAL or LITHIUM BATTERIES FOR RECYCLING where the carriage rules ask "
    "for it.",
    _P909_MARK,
)
_DAMAGED_MARK = Statement("Mark the package DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES.", _SP_376)

_PACKING: Mapping[Condition, tuple[Statement, ...]] = MappingProxyType(
    {
        Condition.INTACT: (
            _COVERED,
            Statement("Strong outer packaging; line metal so that it does not conduct; nothing may shift.", _P909),
            Statement(
                "Without UN-approved packaging: only cells up to 20 Wh and batteries up to 100 Wh, at most 30 kg gross in "
                "a package.",
                _P909,
            ),
        ),
        Condition.DAMAGED: (
            _COVERED,
            Statement("Each item alone in an inner packaging, never together with intact ones.", _P908),
            Statement("Non-combustible, non-conductive heat insulation around each inner packaging.", _P908),
            Statement("For leaked electrolyte: the inert absorbent named in the cell's safety data sheet.", _P908),
            Statement(
                "Under US rules: one item to a package, in a non-metallic inner packaging and a UN-approved outer one of "
                "packing group I.",
                _US_DAMAGED,
            ),
            Statement("The easier rules for intact waste batteries do not cover damaged ones.", _PHMSA_24_0050),
        ),
        Condition.REACTIVE: (
            Statement("Do not pack and do not move it: keep people away and call the fire service.", _SHOP),
            Statement("It may travel only under the terms of the competent authority.", _P911),
        ),
    }
)
_MARKS = {Condition.INTACT: (_FOR_DISPOSAL,), Condition.DAMAGED: (_DAMAGED_MARK,), Condition.REACTIVE: ()}


def packing_cautions(condition: Condition, chemistry: Chemistry = Chemistry.UNKNOWN) -> tuple[Statement, ...]:
    """Cautions for packing removed cells of a condition; the last ones are about air and who decides.

    References
    ----------
    ADR, special provision 376; ADR, packing instruction P908; ``Statement.source`` names that of each.
    """
    marks = _MARKS[condition] if chemistry in LITHIUM_ION else ()
    return (*_PACKING[condition], *marks, FORBIDDEN_BY_AIR, DEFERS)


NEW_CODES_ADOPTED = date(2025, 6, 9)
NEW_CODES_APPLY = date(2026, 12, 9)

_LIST_OF_WASTE = SOURCES["list_of_waste"]
_NEW_CODES = SOURCES["new_waste_codes"]
_EPA = SOURCES["us_universal_waste"]
_WM3 = SOURCES["uk_wm3"]

_ASK_AUTHORITY = "Ask the waste authority which code it accepts."
_OLD, _NEW_LITHIUM, _NEW_NICKEL, _CADMIUM = "16 06 05", "16 06 07*", "16 06 08*", "16 06 02*"


def waste_code_text(place: Jurisdiction, on: date | None, chemistry: Chemistry) -> WasteCode:
    """Waste code for removed cells at a place on a date.

    Raises
    ------
    MissingFact
        No date, or no chemistry where the code depends on it; neither is ever assumed.

    References
    ----------
    European List of Waste, Decision 2000/532/EC; ``WasteCode.source`` names that of each place.
    """
    if on is None:
        raise MissingFact("the date of the note is missing, and the waste code depends on it")
    return _european(on, chemistry) if place is Jurisdiction.EU else _DEFERRED[place]


_DEFERRED: Mapping[Jurisdiction, WasteCode] = MappingProxyType(
    {
        Jurisdiction.US: WasteCode(
            None,
            "Batteries with every cell casing intact may be universal waste (40 CFR part 273); a breached casing is "
            "not. Ask your state, which may be stricter.",
            _EPA,
        ),
        Jurisdiction.UK: WasteCode(
            None, "Classify under technical guidance WM3 and ask the environment agency of your nation.", _WM3
        ),
        Jurisdiction.OTHER: WasteCode(None, "Ask the local waste authority for the code.", _SHOP),
    }
)


def _european(on: date, chemistry: Chemistry) -> WasteCode:
    if chemistry is Chemistry.UNKNOWN:
        raise MissingFact("the chemistry is not known, and the waste code depends on it")
    if chemistry is Chemistry.NICD:
        return WasteCode(_CADMIUM, f"Nickel-cadmium batteries. {_ASK_AUTHORITY}", _LIST_OF_WASTE)
    if on >= NEW_CODES_APPLY:
        return _new_code(chemistry)
    notice = (
        f" New codes are adopted and apply from {NEW_CODES_APPLY.day} {NEW_CODES_APPLY:%B %Y}."
        if on >= NEW_CODES_ADOPTED
        else ""
    )
    words = f"Other batteries, or the code of national practice.{notice} {_ASK_AUTHORITY}"
    return WasteCode(_OLD, words, _LIST_OF_WASTE)


def _new_code(chemistry: Chemistry) -> WasteCode:
    if chemistry in LITHIUM_ION:
        return WasteCode(_NEW_LITHIUM, f"Lithium-based batteries, hazardous. {_ASK_AUTHORITY}", _NEW_CODES)
    return WasteCode(_NEW_NICKEL, f"Nickel-based batteries without cadmium, hazardous. {_ASK_AUTHORITY}", _NEW_CODES)
