"""Rules from the joined pack to the shut case: taps, board, housing."""

from packs.rules.model import TOLERANCE, Bound, Rule
from packs.rules.never import FIRE
from packs.sources import COMMON_PRACTICE
from packs.terms import LITHIUM_ION, CellFormat, Severity, Stage
from packs.units import Kind

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
    Rule(
        id="ladder.board_suits",
        quantity="board for this number of groups and this chemistry, tried before it is fitted",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.LADDER,
        source=f"{COMMON_PRACTICE}: what protects is tried before it is needed",
        chemistries=LITHIUM_ION,
        holds_words="The board is for these groups and this chemistry; its trips were tried on a bench ladder, not on the pack.",
        no_exception=FIRE,  # a board for other cells lets them be overcharged
    ),
    Rule(
        id="ladder.overcharge_trip",
        quantity="overcharge trip of the board as tried",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.LADDER,
        source="IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)",
        limit_words="the most that one cell may ever have",
        chemistries=LITHIUM_ION,
        consequence="Do not fit this board.",
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="ladder.undervoltage_trip",
        quantity="undervoltage trip of the board as tried",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.LADDER,
        source=f"{COMMON_PRACTICE}: the cell's data sheet sets its end of discharge",
        limit_words="the end of discharge on the cell's data sheet",
        chemistries=LITHIUM_ION,
        consequence="Do not fit this board.",
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
    _housing(
        "sensors",
        "temperature sensors",
        "Every temperature sensor sits on a cell again, or the pack has none.",
    ),
    _housing(
        "gasket",
        "gasket and screws",
        "The case shuts as it is meant to: its screws at their torque, its gasket whole where it has one.",
        no_exception="",  # a lead may answer for a case that no longer closes as its maker closed it
    ),
    Rule(
        id="housing.photographs",
        quantity="photographs of the open case",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HOUSING,
        source=f"{COMMON_PRACTICE}: once it is shut nobody sees how it was built",
        holds_words="The open case was photographed before it was shut.",
        fails_words="No photograph of this step is kept: photograph the open case, its insulation, wires and sensors. Where "
        "the shop has no camera a lead accepts that in writing.",
    ),
)

RULES: tuple[Rule, ...] = (*_LADDER, *_HOUSING)
