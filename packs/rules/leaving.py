"""Rules of the hand-over: papers, everything accounted for, and how the pack travels."""

from packs.rules.model import Bound, Rule
from packs.rules.never import BOOK, CARRIAGE, PAPER
from packs.sources import COMMON_PRACTICE
from packs.terms import LITHIUM_ION, Severity, Stage
from packs.units import Kind, ureg

RULES: tuple[Rule, ...] = (
    Rule(
        id="handover.accounted",
        quantity="place of everything that came in with the job",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source=COMMON_PRACTICE,
        holds_words="Every cell and item of the job stands in exactly one place.",
        fails_words="At least one cell or item of the job is not accounted for.",
        no_exception=BOOK,
    ),
    Rule(
        id="handover.report",
        quantity="test report for the customer",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source=COMMON_PRACTICE,
        holds_words="The test report is issued.",
        fails_words="The test report is not issued yet.",
        no_exception=PAPER,
    ),
    Rule(
        id="handover.health_report",
        quantity="health report for the customer",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source=COMMON_PRACTICE,
        holds_words="The health report is issued.",
        fails_words="The health report is not issued yet.",
        no_exception=PAPER,
    ),
    Rule(
        id="handover.disposal_note",
        quantity="disposal note for what goes out as waste",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source=COMMON_PRACTICE,
        holds_words="The disposal note is issued.",
        fails_words="The disposal note is not issued yet.",
        no_exception=PAPER,
    ),
    Rule(
        id="handover.air_charge",
        quantity="charge of a lithium-ion pack that travels by air",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source="industry guide to ADR, IMDG Code and IATA rules: packing instruction 965",
        limit=ureg.Quantity(0.30, "dimensionless"),
        chemistries=LITHIUM_ION,
        consequence="Discharge it, measure it at rest, or let it travel another way; the carrier says what else is asked.",
        no_exception=CARRIAGE,
    ),
    Rule(
        id="handover.removed_gone",
        quantity="number of cells and items that still wait to go their way",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.HAND_OVER,
        source="OSHA Safety and Health Information Bulletin 06-20-2019, damaged items leave the work area",
        limit=0,
        no_exception=BOOK,
    ),
)
