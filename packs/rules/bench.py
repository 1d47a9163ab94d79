"""Rules of the bench: dismantle, place, measure before joining, join."""

from packs.joints import MOST_TRIES
from packs.rules.model import OVERCHARGE, Bound, Rule
from packs.rules.never import BOOK, FIRE, UNMEASURED
from packs.sources import COMMON_PRACTICE
from packs.terms import FLAT_AT_REST, LITHIUM_ION, Chemistry, JointMethod, Severity, Stage
from packs.units import Kind, ureg

_LIFETIME_RECORD = "IEC 63338:2024, clause 4 (records of every cell)"

_DISMANTLE = (
    Rule(
        id="dismantle.all_recorded",
        quantity="number of cells recorded as taken out",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.DISMANTLE,
        source=_LIFETIME_RECORD,
        limit_words="the number of cells in the old pack",
    ),
    Rule(
        id="dismantle.within_the_hour",
        quantity="longest time until the next cell was in the book, from the moment the pack was ready to be cut",
        kind=Kind.TIME,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.DISMANTLE,
        source=f"{COMMON_PRACTICE}: every cell is in the book within the hour",
        limit=ureg.Quantity(60, "minute"),
        own_practice=True,
        consequence="What lies on the bench without a code is mixed up, and nobody knows how long it was there.",
    ),
)

_PLACE = (
    Rule(
        id="cell.recovery_voltage",
        quantity="rest voltage of the cell",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=f"{COMMON_PRACTICE}: cell specifications allow no discharge below a recovery voltage",
        limit_words="the voltage below which a cell of this chemistry is rejected",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # a cell that was too low may have grown copper, and shorts when it is charged
    ),
    Rule(
        id="cell.overcharged",
        quantity="highest rest voltage of the cell",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=OVERCHARGE,
        limit_words="the charge limit of the cell and the tolerance of its charger",
        reads="the cell rests at {}",
        consequence="It was overcharged: it counts as damaged or defective, and is neither charged nor used again.",
        chemistries=LITHIUM_ION,
        no_exception=FIRE,  # charged above its limit a cell plates lithium, and may run away later
    ),
    Rule(
        id="cell.undamaged",
        quantity="condition of the cells",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=f"ADR, special provision 376, 2025; {COMMON_PRACTICE}: a cell that was too low is not sound because it was charged up",
        holds_words="No cell is damaged, and none was ever rejected.",
        fails_words="A cell is damaged or was rejected, and stays so whatever it shows by now: replace it. Where a reading was "
        "typed wrong, correct that reading.",
        no_exception=FIRE,  # what was too low may have grown copper, and shorts when it is charged
    ),
    Rule(
        id="cell.holds_charge",
        quantity="charge that the cell gave in its capacity test",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=f"{COMMON_PRACTICE}: a cell that gave nothing is dead",
        holds_words="The cell gave charge in its capacity test.",
        fails_words="The cell gave nothing in its capacity test: it is dead and goes into no pack.",
        no_exception=FIRE,  # its group would be driven into reversal
    ),
    Rule(
        id="cell.keeps_charge",
        quantity="self-discharge of the cell",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=f"{COMMON_PRACTICE}: a cell that loses charge at rest may be on its way to a short inside",
        holds_words="No reading at rest tells that the cell loses its charge.",
        fails_words="The cell loses its charge at rest, beyond what the criteria of the shop allow for any grade.",
        no_exception=FIRE,
    ),
    Rule(
        id="place.right_cell",
        quantity="cell at this position",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=_LIFETIME_RECORD,
        holds_words="The cell is the one that belongs at this position.",
        fails_words="Another cell belongs at this position.",
        no_exception=BOOK,  # another cell's readings would stand for it
    ),
    Rule(
        id="place.all_placed",
        quantity="number of cells placed",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.PLACE,
        source=_LIFETIME_RECORD,
        limit_words="the number of cell positions of the pack",
        no_exception=BOOK,  # every later check counts on the cells of the plan
    ),
)

TOLD_BY_VOLTAGE = frozenset(Chemistry) - FLAT_AT_REST
"""Chemistries whose rest voltage tells their charge well enough to level by it."""

_MEASURE = (
    Rule(
        id="measure.all_measured",
        quantity="number of cells measured before joining",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: an unmeasured cell may drive any current into its group",
        limit_words="the number of cell positions of the pack",
        no_exception=UNMEASURED,  # an unmeasured cell may drive any current into its group
    ),
    Rule(
        id="measure.joining_current",
        quantity="largest current on joining the cells of the group",
        kind=Kind.CURRENT,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"Kirchhoff's laws; {COMMON_PRACTICE} that the charge current of the data sheet limits it",
        limit_words="the largest charge current on the cell's data sheet",
        no_exception=FIRE,  # what flows on joining heats the cell that takes it
    ),
    Rule(
        id="measure.rest_spread",
        quantity="spread of the rest voltages in the group",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,  # a lead may answer for cells whose resistance lets no current flow
        stage=Stage.MEASURE,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(50, "mV"),
        own_practice=True,
        consequence="Level them first; the page says which, to what, and how.",
        chemistries=TOLD_BY_VOLTAGE,
    ),
    # Half of the charge of LFP lies within 50 mV: its voltage tells what is far off, and no more.
    Rule(
        id="measure.rest_spread_flat",
        quantity="spread of the rest voltages in the group",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: on the flat part of its curve equal voltage is not equal charge",
        limit=ureg.Quantity(10, "mV"),
        own_practice=True,
        consequence="Bring them to equal charge, each full by itself and then the same out of each; the page says which.",
        chemistries=FLAT_AT_REST,
    ),
    Rule(
        id="measure.equal_charge",
        quantity="equal charge of the cells, where their voltage does not show it",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: on the flat part of its curve a cell may hold any charge at one voltage",
        holds_words="All cells hold the same charge: the voltages alone show it, or each was filled by itself and then gave the "
        "same.",
        fails_words="Nobody confirmed that all cells hold the same charge, or their voltages show that they do not. Fill each by "
        "itself, take the same out of each, let them rest, measure.",
        chemistries=FLAT_AT_REST,
    ),
    Rule(
        id="measure.groups_apart",
        quantity="spread of the rest voltages of the groups before they are in series",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: groups at equal charge before the series joints",
        limit=ureg.Quantity(50, "mV"),
        own_practice=True,
        consequence="Bring the groups to equal charge first: a board takes weeks to do it.",
        chemistries=TOLD_BY_VOLTAGE,
    ),
    Rule(
        id="measure.groups_apart_flat",
        quantity="spread of the rest voltages of the groups before they are in series",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: groups at equal charge before the series joints; equal voltage alone does not show it",
        limit=ureg.Quantity(10, "mV"),
        own_practice=True,
        consequence="Bring the groups to equal charge first, each cell full by itself and then the same out of each.",
        chemistries=FLAT_AT_REST,
    ),
    Rule(
        id="measure.charge_for_welding",
        quantity="rest voltage of a cell that is to be welded",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: nobody welds on a cell that is nearly full",
        limit_words="the upper storage voltage of the chemistry, else its nominal voltage",
        # Retired cells of an open data set rest at up to 3.95 V half full: a voltage tells only a nearly full one.
        share=ureg.Quantity(107, "percent"),
        reads="the cell rests at {}",
        consequence="Discharge it first, over a resistor or a load made for it, attended.",
        chemistries=LITHIUM_ION,
        joint_methods=frozenset({JointMethod.SPOT_WELD}),
        own_practice=True,
    ),
)

_STANDING = (
    Rule(
        id="measure.group_level",
        quantity="rest voltage of the new group",
        kind=Kind.VOLTAGE,
        bound=Bound.WITHIN,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=COMMON_PRACTICE,
        limit_words="the middle of the rest voltages of the groups that stay, each of which is measured again now",
        consequence="Bring the cells of the group into these bounds, charged or discharged one by one and watched, "
        "or bring the groups that stay to them; then measure all again.",
    ),
    Rule(
        id="measure.standing_spread",
        quantity="spread of the rest voltages of the groups that stay",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.WARN,
        stage=Stage.MEASURE,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(50, "mV"),
        consequence="They are out of level already: level them, and watch which one falls back.",
        own_practice=True,
    ),
)

_JOIN = (
    Rule(
        id="join.measured_lately",
        quantity="time since the first cell was measured before joining",
        kind=Kind.TIME,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: what rested overnight is measured again",
        limit=ureg.Quantity(12, "hour"),
        own_practice=True,
        consequence="Measure every cell again before anything is joined.",
        no_exception=UNMEASURED,
    ),
    Rule(
        id="join.peel_sample",
        quantity="peel sample with this strip, these settings and these electrodes",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source="NASA JSC PRC-0009, Revision E (2019), destructive peel test",
        joint_methods=frozenset({JointMethod.SPOT_WELD}),
        holds_words="Today's last peel sample tore in the strip and left its nugget on the can.",
        fails_words="Today's last peel sample did not tear in the strip: change the setting or dress the electrodes.",
    ),
    Rule(
        id="join.pulse_window",
        quantity="pulse between what did not hold and what burnt through today",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source="NASA JSC PRC-0009, Revision E (2019), work by qualified weld schedules",
        joint_methods=frozenset({JointMethod.SPOT_WELD}),
        holds_words="By the newest sample of each pulse none of today did not hold at this pulse or above it; none burnt through at it or below.",
        fails_words="A sample of today did not hold at this pulse or above it, or burnt through at it or below. What did not hold "
        "may be sampled again at the same pulse once the electrodes are dressed; what burnt through stays for the day.",
        no_exception=FIRE,  # a pulse that burns through opens the can
    ),
    Rule(
        id="join.polarity_second_look",
        quantity="second look at the polarity of every group",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=COMMON_PRACTICE,
        holds_words="A second look found insulators and polarity of every group as drawn.",
        no_exception=FIRE,  # a cell the wrong way round is a short circuit
    ),
    Rule(
        id="join.second_look_pause",
        quantity="pause before the same person looks a second time",
        kind=Kind.TIME,
        bound=Bound.AT_LEAST,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: who looks again at once sees what they expect",
        limit=ureg.Quantity(10, "minute"),
        own_practice=True,
    ),
    Rule(
        id="join.second_look_photographs",
        quantity="photographs where the same person looks a second time",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: what one person saw alone, another can look at later",
        holds_words="Polarity and insulators were photographed before anything was joined.",
        fails_words="No photograph of the cells in their places is kept, and nobody else looked: photograph polarity and "
        "insulators of every group, or let another person look. Where the shop has no camera a lead accepts that in writing.",
    ),
    Rule(
        id="join.joints",
        quantity="number of joints made",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: two terminals to each cell",
        limit_words="the number of joints of the drawing",
        no_exception=FIRE,  # the other cells of the group carry the current of one that is not joined
    ),
)

_MADE_AGAIN = (
    Rule(
        id="join.attempts",
        quantity="tries at one joint",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: each try heats the cell, and there are only so many new spots on a can",
        holds_words=f"No joint took more than {MOST_TRIES} tries.",
        fails_words=f"A joint took more than {MOST_TRIES} tries: its cell had too much heat at that end. Replace the cell.",
    ),
    Rule(
        id="join.cooled",
        quantity="pause before a joint was made again",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: heat of several tries adds up in the can",
        holds_words="Each joint that was made again cooled to the touch first, and went to a new spot.",
    ),
)

_BOLTED = frozenset({JointMethod.BOLTED})

_BOLTS = (
    Rule(
        id="join.clean_faces",
        quantity="faces of terminals and bars",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=COMMON_PRACTICE,
        joint_methods=_BOLTED,
        holds_words="Every terminal and bar face was cleaned bright just before it was bolted.",
    ),
    Rule(
        id="join.torque",
        quantity="torque of the bolts",
        kind=Kind.TORQUE,
        bound=Bound.WITHIN,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: within a tenth of the torque on the cell's data sheet",
        limit_words="the torque on the cell's data sheet",
        joint_methods=_BOLTED,
        no_exception=FIRE,  # a loose bolt heats under load
    ),
    Rule(
        id="join.contact_resistance",
        quantity="contact resistance of the bolted joints",
        kind=Kind.RESISTANCE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: well below the resistance of one large cell",
        limit=ureg.Quantity(200, "microohm"),
        joint_methods=_BOLTED,
        own_practice=True,
        no_exception=FIRE,  # a bad contact heats under load
    ),
)

_BREACHED = (
    Rule(
        id="join.breached_isolated",
        quantity="block with a can that was pierced",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source="ADR, special provision 376, 2025 (what leaked or vented is damaged)",
        holds_words="Work stopped; the block lies apart, on what does not burn, its ends covered.",
        no_exception=FIRE,  # what leaks beside other cells may set them off
    ),
)

_PARKED = (
    Rule(
        id="park.ends_insulated",
        quantity="ends of a pack that is parked half-built",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: what is left lying is live",
        holds_words="Every free end, strip and lead is insulated, one by one.",
        no_exception=FIRE,  # a strip that falls on a live end is a short circuit nobody sees
    ),
    Rule(
        id="park.supply_off",
        quantity="supply of a pack whose first charge pauses",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=f"{COMMON_PRACTICE}: nothing charges while nobody is beside it",
        holds_words="The supply is disconnected from the pack.",
        no_exception=FIRE,  # nobody would be there to stop it
    ),
    Rule(
        id="park.groups_measured",
        quantity="number of groups measured when a joined pack is parked or taken up again",
        kind=Kind.COUNT,
        bound=Bound.EQUALS,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=f"{COMMON_PRACTICE}: only a reading before and one after tell what happened between",
        limit_words="the groups in series of the pack",
        no_exception=UNMEASURED,
    ),
    Rule(
        id="park.group_falls_behind",
        quantity="how much further than the others a group fell while the pack was parked",
        kind=Kind.VOLTAGE,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.JOIN,
        source=COMMON_PRACTICE,
        limit=ureg.Quantity(20, "mV"),
        own_practice=True,
        consequence="Look for what discharges it before anything is joined or charged on.",
    ),
)

RULES: tuple[Rule, ...] = (
    *_DISMANTLE,
    *_PLACE,
    *_MEASURE,
    *_STANDING,
    *_JOIN,
    *_MADE_AGAIN,
    *_BOLTS,
    *_BREACHED,
    *_PARKED,
)
