"""The words of the trade, as closed lists."""

from packs.terms.book import Area, Bulk, Condition, Contents, LotOrigin, Measure, Mode, Owner, Place
from packs.terms.cells import (
    FLAT_AT_REST,
    LITHIUM_ION,
    NICKEL,
    CellEnd,
    CellFormat,
    Chemistry,
    Compression,
    Face,
    Feed,
    JointMethod,
    Packing,
    StripMaterial,
    Terminals,
)
from packs.terms.charging import ChargerRead, Port, Travels
from packs.terms.details import ContactKind, Sealing
from packs.terms.faults import BoardSwitch, Circumstance, GroupsReadAs
from packs.terms.findings import Outcome, Severity
from packs.terms.grades import CellProtection, Criterion, Grade
from packs.terms.intake import AMBER_SIGNS, RED_SIGNS, DangerLevel, DangerSign, DeviceClass
from packs.terms.preparing import OldTabs, Stubs, Wrap
from packs.terms.quotes import Heard, Opening, Protects, QuoteState, RemovedWay, Risk, Unpowered, Verdict
from packs.terms.route import (
    DISPOSAL,
    OWNER_AGREED,
    PART_STAYS,
    ROUTES,
    STEPS,
    UNOPENED,
    JobKind,
    Stage,
    route,
    stage_label,
)
from packs.terms.shop import DocumentKind, InMobility, Role
from packs.terms.tasks import TaskKind, TaskState
from packs.terms.term import Term
from packs.terms.welding import Peeled, Specimen

__all__ = [
    "AMBER_SIGNS",
    "DISPOSAL",
    "FLAT_AT_REST",
    "LITHIUM_ION",
    "NICKEL",
    "OWNER_AGREED",
    "PART_STAYS",
    "RED_SIGNS",
    "ROUTES",
    "STEPS",
    "UNOPENED",
    "Area",
    "BoardSwitch",
    "Bulk",
    "CellEnd",
    "CellFormat",
    "CellProtection",
    "ChargerRead",
    "Chemistry",
    "Circumstance",
    "Compression",
    "Condition",
    "ContactKind",
    "Contents",
    "Criterion",
    "DangerLevel",
    "DangerSign",
    "DeviceClass",
    "DocumentKind",
    "Face",
    "Feed",
    "Grade",
    "GroupsReadAs",
    "Heard",
    "InMobility",
    "JobKind",
    "JointMethod",
    "LotOrigin",
    "Measure",
    "Mode",
    "OldTabs",
    "Opening",
    "Outcome",
    "Owner",
    "Packing",
    "Peeled",
    "Place",
    "Port",
    "Protects",
    "QuoteState",
    "RemovedWay",
    "Risk",
    "Role",
    "Sealing",
    "Severity",
    "Specimen",
    "Stage",
    "StripMaterial",
    "Stubs",
    "TaskKind",
    "TaskState",
    "Term",
    "Terminals",
    "Travels",
    "Unpowered",
    "Verdict",
    "Wrap",
    "route",
    "stage_label",
]
