"""Rules of the design: charger, board, currents of the parts, fuse."""

from packs.rules.model import Bound, Rule
from packs.rules.never import FIRE
from packs.sources import COMMON_PRACTICE
from packs.terms import LITHIUM_ION, Severity, Stage
from packs.units import Kind, ureg

_UPPER_LIMIT = "IEC 62133-2:2017, clause 7.1.2 and Annex A, upper limit charging voltage (clauses from memory)"
_SHEET = f"{COMMON_PRACTICE}: the data sheet of the part sets it"

RULES: tuple[Rule, ...] = (
    Rule(
        id="target.charger_highest",
        quantity="voltage of the charger with its whole tolerance",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_UPPER_LIMIT,
        limit_words="groups in series times the most that one cell may ever have",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="target.board_groups",
        quantity="number of groups in series that the board is made for",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: a board watches as many groups as it has taps",
        limit_words="the groups in series of the target pack",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # some groups would be watched by nothing
    ),
    Rule(
        id="target.board_chemistry",
        quantity="chemistry that the board is made for",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: the trips of a board belong to one chemistry",
        chemistries=LITHIUM_ION,
        holds_words="The board is made for the chemistry of the cells.",
        fails_words="The board is made for another chemistry.",
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="target.board_overcharge",
        quantity="overcharge trip of the board with its tolerance",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_UPPER_LIMIT,
        limit_words="the most that one cell may ever have",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="target.board_undervoltage",
        quantity="undervoltage trip of the board",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_SHEET,
        limit_words="the end of discharge on the cell's data sheet",
        chemistries=LITHIUM_ION,
    ),
    Rule(
        id="target.cell_peak",
        quantity="current through one cell at the device's peak",
        kind=Kind.CURRENT,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_SHEET,
        limit_words="the pulse current on the cell's data sheet for at least as long, else the continuous one",
        no_exception=FIRE,  # a cell beyond its current heats in its own pack
    ),
    Rule(
        id="target.part_current",
        quantity="share that a strip, bar or lead carries of what it stands, cooled the better way",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: 30 K above the air by the kinder of two models, ends kept cool or the surface alone",
        limit=ureg.Quantity(1.0, "dimensionless"),
        own_practice=True,
        no_exception=FIRE,  # a strip that heats lies on cells
    ),
    Rule(
        id="target.part_surface",
        quantity="share that a strip or bar carries of what it stands by its surface alone",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: 30 K above the air, covered on one side",
        limit=ureg.Quantity(1.0, "dimensionless"),
        own_practice=True,
        consequence="It holds only as far as the cells keep its ends cool: more metal, or measure its rise under load.",
    ),
    Rule(
        id="target.fuse_voltage",
        quantity="direct voltage that the fuse breaks",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_SHEET,
        limit_words="the voltage of the full pack",
        no_exception=FIRE,  # beyond it the arc goes on burning
    ),
    Rule(
        id="target.fuse_breaking",
        quantity="current that the fuse breaks at that voltage",
        kind=Kind.CURRENT,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_SHEET,
        limit_words="the prospective short-circuit current of the full pack, for which cells with a DC resistance are needed",
        no_exception=FIRE,  # beyond it the fuse bursts
    ),
    Rule(
        id="target.fuse_carries",
        quantity="current that the fuse carries without end",
        kind=Kind.CURRENT,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=_SHEET,
        limit_words="the continuous current of the pack",
    ),
    # A lead may answer for a fuse whose sheet prints no curve; of one that is too slow there is nothing to answer for.
    Rule(
        id="target.fuse_clears",
        quantity="longest time in which the fuse clears, of the time that the nearest strip or lead stands the fault",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source="IEC 60949, adiabatic short-circuit current; curve of the fuse's data sheet",
        limit=ureg.Quantity(1.0, "dimensionless"),
        consequence="The strip or lead burns first: a faster fuse, or more metal.",
    ),
    Rule(
        id="target.board_first",
        quantity="time of the board's overcurrent trip, of the shortest in which the fuse melts at that current",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: the board switches off, the fuse is for when it does not",
        limit=ureg.Quantity(1.0, "dimensionless"),
        consequence="The fuse goes before the board trips.",
    ),
)
