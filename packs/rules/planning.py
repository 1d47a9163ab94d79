"""Rules from the door to the matched cells: take in, examine, state the target pack, match."""

from packs.rules.model import OVERCHARGE, TOLERANCE, Bound, Rule
from packs.rules.never import FIRE, UNMEASURED, USER
from packs.sources import COMMON_PRACTICE
from packs.terms import LITHIUM_ION, CellFormat, DeviceClass, Severity, Stage
from packs.units import Kind, ureg

_NO_LIFETIME_RECORD = "IEC 63338:2024, clause 4 (no reuse without lifetime records)"
_CANNOT_DIAGNOSE = "ADR, special provision 376, 2025 (what cannot be diagnosed counts as damaged)"

_DOOR = (
    Rule(
        id="takein.no_red_sign",
        quantity="signs of danger at the door",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TAKE_IN,
        source="OSHA Safety and Health Information Bulletin 06-20-2019, signs of damage",
        holds_words="None of the signs that keep a battery outside was seen.",
        fails_words="At least one sign of danger was seen: the device stays outside.",
        no_exception=FIRE,  # a pack that shows one may already be on its way to fire
    ),
    Rule(
        id="takein.amber_cleared",
        quantity="written findings of the lead on the amber signs",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.EXAMINE,
        source=f"{_CANNOT_DIAGNOSE}; {_NO_LIFETIME_RECORD}",
        holds_words="The lead has written down what the amber signs came to.",
        fails_words="An amber sign stands open: the lead has not written down what it came to.",
        no_exception=FIRE,  # the lead's findings are the written word already; nothing stands above them
    ),
)

_EXAMINE = (
    Rule(
        id="examine.group_overcharged",
        quantity="highest rest voltage of a group of the old pack",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=OVERCHARGE,
        limit_words="the charge limit of the cell and the tolerance of its charger",
        reads="the group rests at {}",
        consequence="It was overcharged: do not charge it, and treat its cells as damaged or defective.",
        chemistries=LITHIUM_ION,
    ),
    Rule(
        id="examine.group_spread",
        quantity="spread of the rest voltages of the groups of the old pack",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(100, "mV"),
        own_practice=True,
        consequence="One group lies far off: a cell in it discharges itself, or a joint does not hold. Look for the fault "
        "before its cells are used again.",
    ),
    Rule(
        id="examine.rest_agreement",
        quantity="difference between the rest voltage of the pack and the sum of its groups",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=f"Kirchhoff's voltage law; tolerance: {COMMON_PRACTICE}",
        limit_words="the combined error of the meters",
        floor=TOLERANCE,
        reads="rest voltage of the pack differs from the sum of its groups by {}",
        consequence="Measure again before anything is cut: a group was missed, or current flows somewhere.",
    ),
    Rule(
        id="examine.nameplate",
        quantity="rated voltage on the nameplate",
        kind=Kind.VOLTAGE,
        bound=Bound.WITHIN,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=f"{COMMON_PRACTICE}: a nameplate names the nominal voltage, at times the charged one, and rounds it",
        limit_words="groups in series times the nominal voltage, a tenth less, up to times the charge limit of the cell",
        consequence="Count the groups again and look at chemistry and nameplate. If both are right, such as where the "
        "device converts the voltage, write that down with what you saw.",
    ),
    Rule(
        id="examine.counted",
        quantity="cells counted in all groups",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=COMMON_PRACTICE,
        limit_words="groups in series times the cells of the fullest group",
        consequence="Groups differ: count again. If they truly do, write down why, since the smallest limits the pack.",
    ),
    Rule(
        id="examine.insulation",
        quantity="insulation between the groups of the old pack and metal that can be touched",
        kind=Kind.RESISTANCE,
        bound=Bound.AT_LEAST,
        severity=Severity.WARN,
        stage=Stage.EXAMINE,
        source=f"IEC 60364-6, table of least insulation at 500 V (from memory), taken over: {COMMON_PRACTICE}; local rules go first",
        limit=ureg.Quantity(1.0, "megaohm"),
        reads="insulation of the pack to its metal is {}",
        consequence="Treat what can be touched as live until somebody trained for it has found the path.",
        own_practice=True,
    ),
)

_TARGET = (
    Rule(
        id="target.chemistry_known",
        quantity="chemistry of the cells",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: every limit of a cell follows from its chemistry",
        holds_words="The chemistry of the cells is known.",
        fails_words="The chemistry of the cells is not known, and every limit depends on it.",
        no_exception=FIRE,  # without it no limit of voltage, current or temperature is known
    ),
    Rule(
        id="target.compression_known",
        quantity="compression that the cells want",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: the cell's data sheet says how a flat cell is held",
        formats=frozenset({CellFormat.PRISMATIC, CellFormat.POUCH}),
        holds_words="How the cells are to be held is known from their data sheet.",
        fails_words="How these flat cells want to be held is not known: do not rebuild the pack.",
        no_exception=FIRE,  # a flat cell that swells unheld shorts inside
    ),
    Rule(
        id="target.cell_current",
        quantity="current through one cell at the device's largest current",
        kind=Kind.CURRENT,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: the cell's data sheet sets the largest discharge current",
        limit_words="the largest continuous discharge current on the cell's data sheet",
        no_exception=FIRE,  # a cell beyond its current heats in its own pack
    ),
    Rule(
        id="target.charger_voltage",
        quantity="no-load voltage of the charger",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source="IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)",
        limit_words="groups in series times the charge limit of one cell",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="target.charger_fills",
        quantity="no-load voltage of the charger",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_LEAST,
        severity=Severity.NOTE,
        stage=Stage.TARGET,
        source=COMMON_PRACTICE,
        limit_words="groups in series times the charge limit of one cell",
        share=ureg.Quantity(99, "percent"),  # within a charger's own tolerance
        own_practice=True,
        consequence="With this charger the pack will not be full.",
        chemistries=LITHIUM_ION,
    ),
    Rule(
        id="target.step_down",
        quantity="lowest voltage of the stack",
        kind=Kind.VOLTAGE,
        bound=Bound.ABOVE,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: a step-down converter cannot give more than its input less its dropout",
        limit_words="outlet voltage plus the converter's dropout",
    ),
)

_MATCH = (
    Rule(
        id="target.old_beside_new",
        quantity="new groups beside old ones in one pack",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source=COMMON_PRACTICE,
        holds_words="Every group of the pack is built anew.",
        fails_words="New groups are built beside old ones that keep their age: a lead accepts it in writing first.",
    ),
    Rule(
        id="target.reclaimed_in_medical",
        quantity="origin of the cells for a medical device",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source=f"{COMMON_PRACTICE}; {_NO_LIFETIME_RECORD}",
        device_classes=frozenset({DeviceClass.MEDICAL}),
        holds_words="No reclaimed cell is meant for this medical device.",
        fails_words="Reclaimed cells do not go into a medical device.",
        no_exception=USER,  # somebody's life may hang on the device
    ),
    Rule(
        id="cell.tested",
        quantity="capacity, DC resistance and rest voltage on record",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source="UL 1974, 2nd edition (2023), tests of cells as given in public summaries",
        holds_words="Capacity, DC resistance and rest voltage are on record.",
        fails_words="Capacity, DC resistance or rest voltage is not on record.",
        no_exception=UNMEASURED,  # placing and joining ask for the same figures again
    ),
    Rule(
        id="cell.health",
        quantity="measured capacity as a share of the rated capacity",
        kind=Kind.FRACTION,
        bound=Bound.AT_LEAST,
        severity=Severity.WARN,
        stage=Stage.MATCH,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(0.60, "dimensionless"),
        own_practice=True,
    ),
)

RULES: tuple[Rule, ...] = (*_DOOR, *_EXAMINE, *_TARGET, *_MATCH)
