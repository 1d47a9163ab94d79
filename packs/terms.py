"""The words of the trade, as closed lists."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Self


class Term(StrEnum):
    """A word of the trade: its value is what is stored, its label what pages and paper say."""

    label: str

    def __new__(cls, value: str, label: str = "") -> Self:
        member = str.__new__(cls, value)
        member._value_ = value
        member.label = label
        return member


class Chemistry(Term):
    """Cell chemistry. Li-ion families by positive electrode, then the nickel families."""

    LCO = "lco", "lithium cobalt oxide (LCO)"
    NMC = "nmc", "lithium nickel manganese cobalt oxide (NMC)"
    NCA = "nca", "lithium nickel cobalt aluminium oxide (NCA)"
    LMO = "lmo", "lithium manganese oxide (LMO)"
    LFP = "lfp", "lithium iron phosphate (LFP)"
    LTO = "lto", "lithium titanate (LTO)"
    NIMH = "nimh", "nickel-metal hydride (NiMH)"
    NICD = "nicd", "nickel-cadmium (NiCd)"
    UNKNOWN = "unknown", "not known yet"


LITHIUM_ION = frozenset({Chemistry.LCO, Chemistry.NMC, Chemistry.NCA, Chemistry.LMO, Chemistry.LFP, Chemistry.LTO})
NICKEL = frozenset({Chemistry.NIMH, Chemistry.NICD})


class CellFormat(Term):
    """Outer form of a cell."""

    ROUND = "round", "round"
    PRISMATIC = "prismatic", "prismatic"
    POUCH = "pouch", "pouch"


class Terminals(Term):
    """Where a cell's terminals sit."""

    OPPOSITE_ENDS = "opposite_ends", "on opposite ends"
    SAME_FACE = "same_face", "both on one face"
    TABS = "tabs", "tabs"


class Packing(Term):
    """How round cells stand beside each other."""

    ROWS = "rows", "in rows"
    NESTED = "nested", "nested, every second column half a pitch lower"


class Feed(Term):
    """Where on a terminal strip the lead is attached, along the line of cells at the outer edge of the pack."""

    FIRST_END = "first_end", "at the first cell of the outer line"
    MIDDLE = "middle", "in the middle of the outer line"
    LAST_END = "last_end", "at the last cell of the outer line"


class CellEnd(Term):
    """One terminal of a cell."""

    POSITIVE = "positive", "positive"
    NEGATIVE = "negative", "negative"


class Face(Term):
    """The two sides of a pack on which strips lie."""

    TOP = "top", "top face"
    BOTTOM = "bottom", "bottom face"


class JointMethod(Term):
    """How a conductor is joined to a cell terminal."""

    SPOT_WELD = "spot_weld", "spot-welded strip"
    BOLTED = "bolted", "bolted bar"
    SOLDERED_TAB = "soldered_tab", "soldered at the tab"

    @property
    def conductor(self) -> str:
        """What the bench calls the piece of metal that joins cells this way."""
        return "bar" if self is JointMethod.BOLTED else "strip"


class StripMaterial(Term):
    """Material of a strip or bar; commercial nickel and nickel of 99.9 % and more are not the same metal."""

    NICKEL_200 = "nickel_200", "commercial nickel (99.6 %, nickel 200)"
    NICKEL_999 = "nickel_999", "nickel 99.9 % and more"
    PLATED_STEEL = "plated_steel", "nickel-plated steel"
    COPPER = "copper", "copper"
    ALUMINIUM = "aluminium", "aluminium"


class Compression(Term):
    """How a flat cell wants to be held, as its data sheet says; while that is not known it is not rebuilt."""

    NONE = "none", "none asked for"
    PLATE = "plate", "between plates at a set distance"
    FORCE = "force", "under a set force"
    GAP = "gap", "with a gap left for swelling"
    UNKNOWN = "unknown", "not known"


class DeviceClass(Term):
    """What the device is used for; decides which cells it may get."""

    MEDICAL = "medical", "medical device"
    LIGHT_VEHICLE = "light_vehicle", "light electric vehicle"
    TOOL = "tool", "tool"
    POWER_BANK = "power_bank", "power bank"
    OTHER = "other", "other device"


class DangerSign(Term):
    """What is asked before a pack crosses the door."""

    HOT = "hot", "hot to the touch"
    SMOKE = "smoke", "smoke or vapour"
    HISSING = "hissing", "hissing or crackling"
    SWELLING = "swelling", "swollen or bulging"
    LEAK = "leak", "leaking"
    SMELL = "smell", "sweet or solvent smell"
    DROPPED = "dropped", "dropped, crushed or dented"
    WATER = "water", "has been in water"
    NO_SIGN_OF_LIFE = "no_sign_of_life", "no sign of life"
    UNKNOWN_HISTORY = "unknown_history", "history not known"


RED_SIGNS = frozenset(
    {DangerSign.HOT, DangerSign.SMOKE, DangerSign.HISSING, DangerSign.SWELLING, DangerSign.LEAK, DangerSign.SMELL}
)
AMBER_SIGNS = frozenset(DangerSign) - RED_SIGNS


class DangerLevel(Term):
    """What the danger signs add up to: clear comes in, amber goes to a separate bench, red stays outside."""

    CLEAR = "clear", "no danger sign"
    AMBER = "amber", "amber: separate bench"
    RED = "red", "red: stays outside"


class Owner(Term):
    """Whose a lot or the removed cells are."""

    SHOP = "shop", "the shop"
    CUSTOMER = "customer", "the customer"


class LotOrigin(Term):
    """How cells came in."""

    BOUGHT = "bought", "bought"
    DONOR = "donor", "taken from a donor pack"


class Condition(Term):
    """State of a cell or item for handling, transport and waste."""

    INTACT = "intact", "intact"
    DAMAGED = "damaged", "damaged or defective"
    REACTIVE = "reactive", "liable to react"


class Place(Term):
    """Where a cell or item stands. Every one that came in stands in exactly one of these."""

    COUNTER = "counter", "counter"
    OUTSIDE = "outside", "outside, apart"
    BENCH = "bench", "bench"
    STOCK = "stock", "stock"
    QUARANTINE = "quarantine", "quarantine"
    PACK = "pack", "in a pack"
    CONTAINER = "container", "in a waste container"
    CUSTOMER = "customer", "with the customer"
    CONSIGNED = "consigned", "handed to a carrier"


class Contents(Term):
    """What a waste container is for."""

    CELLS = "cells", "cells and packs"
    BOARDS = "boards", "boards and other parts"
    CONTAMINATED = "contaminated", "contaminated absorbent and gloves"


class Mode(Term):
    """How a consignment travels."""

    ROAD = "road", "by road"
    RAIL = "rail", "by rail"
    SEA = "sea", "by sea"
    AIR = "air", "by air"


class Measure(Term):
    """What a reading measures, with the unit it is stored in."""

    CAPACITY = "capacity_mah", "capacity"
    ENERGY = "energy_mwh", "energy"
    VOLTAGE = "voltage_mv", "voltage"
    REST_VOLTAGE = "rest_voltage_mv", "rest voltage"
    CURRENT = "current_ma", "current"
    DC_RESISTANCE = "dc_resistance_uohm", "DC resistance"
    AC_RESISTANCE = "ac_resistance_uohm", "1 kHz resistance"
    CONTACT_RESISTANCE = "contact_resistance_uohm", "contact resistance"
    SELF_DISCHARGE = "self_discharge_uv_per_day", "self-discharge"
    TEMPERATURE = "temperature_mdegc", "temperature"
    MASS = "mass_mg", "mass"
    TORQUE = "torque_mnm", "torque"
    COUNT = "count", "count"


class Stage(Term):
    """The stages of jobs, in working order. Those from DISMANTLE to FINAL_TEST are the steps of the job card."""

    TAKE_IN = "take_in", "Take in"
    EXAMINE = "examine", "Examine"
    TEST_PACK = "test_pack", "Test the pack"
    TARGET = "target", "State the target pack"
    MATCH = "match", "Match cells"
    DISMANTLE = "dismantle", "Dismantle"
    PLACE = "place", "Place the cells"
    MEASURE = "measure", "Measure before joining"
    JOIN = "join", "Join"
    LADDER = "ladder", "Check the taps"
    HOUSING = "housing", "Close the housing"
    FIRST_CHARGE = "first_charge", "First charge"
    FINAL_TEST = "final_test", "Final test"
    REMOVED = "removed", "Removed items"
    INTO_STOCK = "into_stock", "Into stock"
    HAND_OVER = "hand_over", "Hand over"


STEPS = (
    Stage.DISMANTLE,
    Stage.PLACE,
    Stage.MEASURE,
    Stage.JOIN,
    Stage.LADDER,
    Stage.HOUSING,
    Stage.FIRST_CHARGE,
    Stage.FINAL_TEST,
)


class JobKind(Term):
    """What a job is for; decides which stages it goes through."""

    REBUILD = "rebuild", "rebuild"
    TEST_ONLY = "test_only", "test only"
    FOR_STOCK = "for_stock", "build for stock"
    WARRANTY = "warranty", "warranty return"
    TAKE_BACK = "take_back", "take-back"


DISPOSAL = (Stage.TAKE_IN, Stage.REMOVED, Stage.HAND_OVER)
"""The way of a pack that is not opened here, of every kind of job."""

_REBUILD = (Stage.TAKE_IN, Stage.EXAMINE, Stage.TARGET, Stage.MATCH, *STEPS, Stage.REMOVED, Stage.HAND_OVER)

ROUTES: Mapping[JobKind, tuple[Stage, ...]] = MappingProxyType(
    {
        JobKind.REBUILD: _REBUILD,
        JobKind.TEST_ONLY: (Stage.TAKE_IN, Stage.EXAMINE, Stage.TEST_PACK, Stage.HAND_OVER),
        JobKind.FOR_STOCK: (Stage.TARGET, Stage.MATCH, *STEPS[1:], Stage.INTO_STOCK),
        JobKind.WARRANTY: _REBUILD,
        JobKind.TAKE_BACK: DISPOSAL,
    }
)
"""The stages of each kind of job, in their order."""


def route(kind: JobKind, *, red: bool = False, given_up: bool = False) -> tuple[Stage, ...]:
    """Return the stages of a job. A danger sign leaves disposal; a build that was given up ends with what was removed.

    References
    ----------
    Common practice, no source.
    """
    if red:
        return DISPOSAL
    if given_up:
        begun = [stage for stage in ROUTES[kind] if stage in (Stage.TAKE_IN, Stage.EXAMINE, Stage.DISMANTLE)]
        return (*begun, Stage.REMOVED, Stage.HAND_OVER)
    return ROUTES[kind]


UNOPENED = MappingProxyType({Stage.REMOVED: "Pack for disposal", Stage.HAND_OVER: "Close the job"})
"""What the stages of a pack that is not opened are called: nothing is removed from it, nothing is handed back."""


def stage_label(stage: Stage, stages: tuple[Stage, ...]) -> str:
    """Return what a stage is called on the way that a job goes.

    References
    ----------
    Common practice, no source.
    """
    return UNOPENED.get(stage, stage.label) if stages == DISPOSAL else stage.label


class Circumstance(Term):
    """What a pack does while a fault is looked for and it is read."""

    REST = "rest", "at rest, no load"
    LOAD = "load", "under the stated load, drawn at the board's input"
    OUTLET_LOAD = "outlet_load", "under the stated load, drawn at the outlet"
    WOKEN = "woken", "under the stated load, after a moment on the charger"
    CHARGED = "charged", "under the stated load, after a supervised charge above the board's wake voltage"
    NEXT_DAY = "next_day", "at rest, a day after the first readings"


class BoardSwitch(Term):
    """Which conductor a board opens, as far as it is known."""

    LOW_SIDE = "low_side", "in the negative conductor"
    HIGH_SIDE = "high_side", "in the positive conductor"
    UNKNOWN = "unknown", "not known"


class GroupsReadAs(Term):
    """Where the probes were held when the groups were read at the examination."""

    PLUG = "plug", "on the plug of the groups, joints between"
    TERMINALS = "terminals", "on each group's own terminals"
    UNUSED = "unused", "not known: leave them out"


class Opening(Term):
    """How the case of a pack is shut."""

    SCREWS = "screws", "screws"
    CLIPS = "clips", "clips"
    GLUE = "glue", "glued seam"
    WELD = "weld", "welded seam"
    POTTED = "potted", "potted: it cannot be opened without harming cells"
    UNKNOWN = "unknown", "not known yet"


class Protects(Term):
    """What a board does for its cells, and what else it does."""

    OVERCHARGE = "overcharge", "stops the charge of a full cell"
    OVERDISCHARGE = "overdischarge", "stops the discharge of an empty cell"
    CURRENT = "current", "stops too large a current"
    TEMPERATURE = "temperature", "stops when too warm or too cold"
    BALANCES = "balances", "balances the groups"
    TALKS = "talks", "talks to the device or the charger"
    MEMORY = "memory", "keeps a memory"


class Unpowered(Term):
    """What a board does once it has been without supply."""

    UNAFFECTED = "unaffected", "goes on as before"
    NEEDS_WAKING = "needs_waking", "needs waking"
    LOCKS = "locks", "locks for good"
    UNKNOWN = "unknown", "not known"


class Risk(Term):
    """What alone speaks against a rebuild, whatever it costs."""

    UNKNOWN_HISTORY = "unknown_history", "nobody knows what happened to the pack, and nothing found tells it"
    NO_PROTECTION = "no_protection", "no suitable protection for the cells can be had"
    LOCKS_FOR_GOOD = "locks_for_good", "the board locks for good once it loses its supply"
    POTTED = "potted", "potted: it cannot be opened without harming cells"
    RECALLED = "recalled", "recalled"


class Verdict(Term):
    """What is recommended to the customer."""

    REBUILD = "rebuild", "rebuild it"
    REPLACE = "replace", "buy a new one"
    RECYCLE = "recycle", "recycle it"


class QuoteState(Term):
    """Where a quote stands."""

    WAITING = "waiting", "waits for the customer"
    APPROVED = "approved", "approved"
    DECLINED = "declined", "declined"
    REPLACED = "replaced", "replaced by a newer one"


class Heard(Term):
    """How the customer answered."""

    SIGNED = "signed", "signed on paper"
    SPOKEN = "spoken", "said so at the counter"
    TELEPHONE = "telephone", "by telephone"
    WRITTEN = "written", "in writing"


class RemovedWay(Term):
    """What becomes of the cells that come out of a pack, as agreed with their owner."""

    RETURNED = "returned", "handed back to the customer"
    TAKEN_OVER = "taken_over", "taken over by the workshop, which may use them again after testing"
    WASTE = "waste", "taken over by the workshop as waste"

    @property
    def owner(self) -> Owner:
        """Whose the removed cells are then."""
        return Owner.CUSTOMER if self is RemovedWay.RETURNED else Owner.SHOP


class Severity(Term):
    """What a rule that does not hold does to the work."""

    STOP = "stop", "stop"
    WARN = "warn", "warning"
    NOTE = "note", "note"


class Outcome(Term):
    """Result of asking whether a rule holds. Unknown never counts as pass."""

    PASS = "pass", "holds"
    FAIL = "fail", "does not hold"
    UNKNOWN = "unknown", "not known"
    NOT_APPLICABLE = "not_applicable", "does not apply"


class Role(Term):
    """What a person may do in the workshop; one person may hold several."""

    COUNTER = "counter", "counter"
    TECHNICIAN = "technician", "technician"
    LEAD = "lead", "lead"
    OWNER = "owner", "owner"


class DocumentKind(Term):
    """Papers the shop issues."""

    JOB_CARD = "job_card", "job card"
    TEST_REPORT = "test_report", "test report"
    DISPOSAL_NOTE = "disposal_note", "disposal note"
    HAND_OVER = "hand_over", "hand-over receipt"
    HEALTH_REPORT = "health_report", "health report"
    CONTAINER_LABEL = "container_label", "container label"
    QUOTE = "quote", "quote"
