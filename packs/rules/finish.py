"""Rules from the joined pack to the door: taps, housing, first charge, final test, hand-over."""

from packs.rules.model import TOLERANCE, Bound, Rule
from packs.rules.never import BOOK, FIRE, PAPER, UNMEASURED, USER
from packs.sources import COMMON_PRACTICE
from packs.terms import CellFormat, Severity, Stage
from packs.units import Kind, ureg

_LADDER = (
    Rule(
        id="ladder.rest_agreement",
        quantity="difference between the rest voltage of the pack and the sum of its groups",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.LADDER,
        source=f"Kirchhoff's voltage law; tolerance: {COMMON_PRACTICE}",
        limit_words="the combined error of the meters",
        floor=TOLERANCE,
        reads="rest voltage of the pack differs from the sum of its groups by {}",
        no_exception=FIRE,  # a board on the wrong taps burns
    ),
    Rule(
        id="ladder.tap",
        quantity="difference between the tap voltage and the sum of the groups below it",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.LADDER,
        source=f"Kirchhoff's voltage law; tolerance: {COMMON_PRACTICE}",
        limit_words="the combined error of the meters",
        floor=TOLERANCE,
        reads="voltage at the tap differs from the sum of the groups below it by {}",
        no_exception=FIRE,  # a board on the wrong taps burns
    ),
)


def _housing(
    name: str,
    quantity: str,
    holds: str,
    source: str = COMMON_PRACTICE,
    formats: frozenset[CellFormat] = frozenset(),
    no_exception: str = FIRE,
) -> Rule:
    return Rule(
        id=f"housing.{name}",
        quantity=quantity,
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HOUSING,
        source=source,
        formats=formats,
        holds_words=holds,
        no_exception=no_exception,
    )


# Nobody accepts a chafed, pinched, bare or unvented pack in writing: shut in its case it is out of sight.
_HOUSING = (
    _housing(
        "compression",
        "compression of flat cells",
        "The flat cells are held as their data sheet says: plates, force or gap.",
        formats=frozenset({CellFormat.PRISMATIC, CellFormat.POUCH}),
    ),
    _housing("fixed", "hold of the cells in the housing", "The cells cannot move."),
    _housing(
        "wires",
        "run of the wires",
        "No wire is pinched or lies on a sharp edge.",
    ),
    _housing(
        "insulation",
        "insulation over strips and terminals",
        "Every strip and terminal is covered.",
        "NASA JSC PRC-0009, Revision E (2019): tabs are potted, taped, wrapped or contained",
    ),
    _housing(
        "vent_path",
        "way out for gas above the vents of the cells",
        "The vents of the cells are free.",
    ),
    _housing(
        "strain_relief",
        "strain relief of the leads",
        "A pull on the leads does not reach the joints.",
        no_exception="",  # a lead may answer for a device whose leads are never pulled
    ),
)

_FIRST_CHARGE = (
    Rule(
        id="first_charge.supervised",
        quantity="someone beside the pack for the whole first charge",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=COMMON_PRACTICE,
        holds_words="Someone stays with the pack for the whole first charge.",
        no_exception=FIRE,  # nobody would be there to stop it
    ),
    Rule(
        id="first_charge.temperature",
        quantity="temperature of the pack on charge",
        kind=Kind.TEMPERATURE,
        bound=Bound.WITHIN,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source="US Fire Administration, lithium-ion battery safety; IEC 62133-2:2017, Annex A (clause from memory)",
        limit_words="the charging temperatures of this chemistry",
        no_exception=FIRE,  # outside it lithium plates, or the cell runs away
    ),
    Rule(
        id="first_charge.group_voltage",
        quantity="highest group voltage on charge",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source="IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)",
        limit_words="the charge limit of one cell",
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="first_charge.pack_voltage",
        quantity="voltage of the pack on charge",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source="IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)",
        limit_words="groups in series times the charge limit of one cell",
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="first_charge.current",
        quantity="charging current of the pack",
        kind=Kind.CURRENT,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=f"{COMMON_PRACTICE}: the cell's data sheet sets the largest charge current",
        limit_words="the largest charge current on the cell's data sheet times the cells of a group",
        no_exception=FIRE,  # beyond the data sheet the cell heats
    ),
    Rule(
        id="first_charge.charger_voltage",
        quantity="voltage of the charger at the pack",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source="IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)",
        limit_words="groups in series times the charge limit of one cell",
        no_exception=FIRE,  # overcharge
    ),
)

_FINAL_TEST = (
    Rule(
        id="final.capacity",
        quantity="measured capacity of the pack",
        kind=Kind.CAPACITY,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.FINAL_TEST,
        source=f"measured after IEC 61960-3:2017, clause 7.3.1; limit: {COMMON_PRACTICE}",
        limit_words="the capacity of the weakest group",
        share=ureg.Quantity(95, "percent"),  # the rest is left to another tester, temperature and rate
        own_practice=True,
        from_every_cell=True,
    ),
    Rule(
        id="final.capacity_on_record",
        quantity="measured capacity of the pack on record",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.FINAL_TEST,
        source="measured after IEC 61960-3:2017, clause 7.3.1",
        holds_words="The capacity of the pack is on record; with groups in it of a capacity that nobody measured, it "
        "is held against nothing.",
        fails_words="The capacity of the pack is not measured: without it nobody knows what it gives.",
        no_exception=UNMEASURED,
    ),
    Rule(
        id="final.outlet",
        quantity="voltage at the outlet",
        kind=Kind.VOLTAGE,
        bound=Bound.WITHIN,
        severity=Severity.STOP,
        stage=Stage.FINAL_TEST,
        source="USB 2.0, section 7.2.2, Table 7-7 for a high-power port (from memory), or the device's own",
        limit_words="the voltage range of this kind of outlet",
        no_exception=USER,  # what is plugged in gets this voltage
    ),
    Rule(
        id="final.group_spread",
        quantity="spread of the group voltages at rest",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.FINAL_TEST,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(50, "mV"),
        own_practice=True,
    ),
    Rule(
        id="final.rest_agreement",
        quantity="difference between the rest voltage of the pack and the sum of its groups",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FINAL_TEST,
        source=f"Kirchhoff's voltage law; tolerance: {COMMON_PRACTICE}",
        limit_words="the combined error of the meters",
        floor=TOLERANCE,
        reads="rest voltage of the pack differs from the sum of its groups by {}",
        no_exception=UNMEASURED,  # a group nobody can account for
    ),
)

_TEST_PACK = (
    Rule(
        id="pack_test.group_spread",
        quantity="spread of the group voltages at rest",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.TEST_PACK,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(50, "mV"),
        own_practice=True,
    ),
    Rule(
        id="pack_test.rest_agreement",
        quantity="difference between the rest voltage of the pack and the sum of its groups",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.TEST_PACK,
        source=f"Kirchhoff's voltage law; tolerance: {COMMON_PRACTICE}",
        limit_words="the combined error of the meters",
        floor=TOLERANCE,
        reads="rest voltage of the pack differs from the sum of its groups by {}",
    ),
)

_HAND_OVER = (
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

RULES: tuple[Rule, ...] = (*_LADDER, *_HOUSING, *_FIRST_CHARGE, *_FINAL_TEST, *_TEST_PACK, *_HAND_OVER)
