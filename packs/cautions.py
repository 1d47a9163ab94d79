"""Cautions of each stage, in our own words; each defers to local codes, data sheets and trained people."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from packs.sources import Evidence
from packs.terms import JointMethod, Stage, Unpowered


@dataclass(frozen=True)
class Caution:
    """One caution, what it rests on and how well that is attested."""

    text: str
    rests_on: str
    evidence: Evidence

    def __str__(self) -> str:
        return self.text


_PRACTICE = "general electrical practice"

_DANGER_SIGNS = Caution(
    "Look, smell and feel for heat before anything else. Heat, smell, noise, swelling or a leak: stop, and keep the "
    "item outside, apart from people and from what burns.",
    "US Fire Administration, signs to stop use; ADR special provision 376",
    Evidence.PUBLISHED,
)
_FIRE = Caution(
    "Fire, smoke or hissing: do not fight it. Leave, warn the others, call the emergency number from at least 25 m "
    "away. It can catch fire again up to weeks later.",
    "Emergency Response Guidebook, guide 147; US Fire Administration",
    Evidence.PUBLISHED,
)
_UNKNOWN_IS_DAMAGED = Caution(
    "What cannot be diagnosed, or has no known history, is treated as damaged.",
    "ADR special provision 376",
    Evidence.SECONDARY,
)
_LIVE = Caution(
    "The terminals are live and cannot be switched off. Insulated tools, eye protection, no rings, watches or chains.",
    _PRACTICE,
    Evidence.MEMORY,
)
_CASING = Caution(
    "Never puncture, crush, bend or open a casing. Insulate each terminal the moment it is free.",
    "40 CFR 273.13(a)(2); RCRA Online 14634",
    Evidence.PUBLISHED,
)
_ORDER_OF_CUTTING = Caution(
    "Sense plug off first; or, where the maker says so, the board stays supplied by an isolated, current-limited supply "
    "whose voltages were checked beforehand. Strips are cut, never levered off a can. One cut at a time, and what it "
    "frees is insulated at once. Every cell is in the book within the hour. A maker's lock is not defeated.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_LEAK = Caution(
    "A leaking cell: air the room and leave it if there are fumes. Gloves and eye protection; take up the liquid with "
    "the absorbent its safety data sheet names. On skin or in an eye: rinse at once and call the emergency number or "
    "the poison centre, even if nothing is felt yet.",
    "ATSDR medical management guidelines; laboratory safety guidance on hydrogen fluoride",
    Evidence.PUBLISHED,
)
_PROBES = Caution(
    "Do not let probes bridge two terminals, and do not probe a leaking cell. An odd voltage is a sign of damage.",
    "ADR special provision 376",
    Evidence.SECONDARY,
)
_APART = Caution(
    "Hold cells by chemistry and condition. Damaged ones leave the work area at once, in a fire-resistant container "
    "apart from the rest; local fire codes set quantities and distances.",
    "OSHA Safety and Health Information Bulletin 06-20-2019; VdS 3103",
    Evidence.SECONDARY,
)
_LIKE_WITH_LIKE = Caution(
    "Connecting cells of different voltage in parallel drives a current between them as soon as they touch: measure "
    "first, and keep within the data sheet.",
    "Kirchhoff's laws; cell data sheet",
    Evidence.COMPUTED,
)
_SPATTER = Caution(
    "Transparent face shield or goggles while welding, for whoever stands by as well.",
    "WAC 296-307-50001",
    Evidence.PUBLISHED,
)
_PEEL = Caution(
    "Samples are welded on scrap or steel, never on a charged cell. A can that was pierced: stop, keep away while it "
    "heats or hisses, set the block apart. A burnt spot is left alone, the next weld goes beside it; solder only on tabs.",
    "NASA JSC PRC-0009, Revision E (2019); ADR special provision 376; the rest is common practice",
    Evidence.PRACTICE,
)
_BOLTS = Caution(
    "An insulated spanner, and nothing of metal worn. A spanner or bar that reaches a second terminal is a short circuit of "
    "thousands of amperes: cover every terminal that is not worked on, and lay one bar at a time.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_SOLDER = Caution(
    "Solder only on tabs, away from the can, quickly and with the tab cooled; draw off the fumes.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_GRINDING = Caution(
    "Cells that are prepared are discharged to their storage charge or below and held so that nothing bridges the ends; "
    "metal dust on a cell is a short circuit. Stubs are ground slowly, in short touches, without heat; a can that gets "
    "warm, is scratched deep or dented is damaged. Goggles, and no sparks near what burns.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_WRAP = Caution(
    "At the positive end the can around the button is the other pole: without insulator and wrap a strip laid there is a "
    "short circuit.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_BOARD_LAST = Caution(
    "The board is connected last, tap by tap from the negative end as its maker says. Its trips are tried on a bench "
    "ladder, never by overcharging or emptying the pack.",
    "data sheet of the board; common practice",
    Evidence.PRACTICE,
)
_PAUSE = Caution(
    "Nobody beside it means no charge: disconnect the supply, read the groups, and name who takes over. A very low pack "
    "is brought up slowly and only for a while; what does not come up is not charged on.",
    "cell data sheets; common practice",
    Evidence.PRACTICE,
)
_SENT = Caution(
    "A pack that is sent: carriers and local rules say how full it may be, how it is packed and marked, and what was "
    "tested; by air lithium-ion is carried nearly empty, if at all.",
    "industry guide to ADR, IMDG Code and IATA rules",
    Evidence.SECONDARY,
)
_FUMES = Caution("Draw off the fumes; nothing that burns near the electrodes.", _PRACTICE, Evidence.MEMORY)
_NEW_TYPE = Caution(
    "Another number of cells, another connection or other protective devices can make a new type that needs its own "
    "transport tests. A competent person judges that.",
    "UN Manual of Tests and Criteria, 38.3.2.2",
    Evidence.SECONDARY,
)
_CHARGE_PLACE = Caution(
    "Charge and discharge on a surface that does not burn, away from the way out, within the data sheet's limits; "
    "no charging below 0 °C or above 40 °C; where this step names closer limits, those count. Never discharge by short "
    "circuit.",
    "US Fire Administration",
    Evidence.PUBLISHED,
)
_ATTENDED = Caution(
    "Stay with it. Heat, smell, noise or swelling: switch off if that can be done from where you stand, and leave.",
    "US Fire Administration; fire services",
    Evidence.PUBLISHED,
)
_PROTECTION = Caution(
    "Fit the protective devices that belong to this pack and this charger; the data sheets say which.",
    "UN Manual of Tests and Criteria, 38.3.2.2; data sheets",
    Evidence.SECONDARY,
)
_WAKING = Caution(
    "This board was written down as one that needs waking once it has been without supply: wake it as its maker says, "
    "for many with the charger of the device, and only when every tap has been checked. Until then it may show 0 V.",
    "the pack as found; the maker of the board",
    Evidence.MEMORY,
)
_LOCKING = Caution(
    "This board was written down as one that locks for good once it loses its supply: before it is disconnected, make "
    "sure that another board is at hand, or that its supply is kept up as its maker says.",
    "the pack as found; the maker of the board",
    Evidence.MEMORY,
)
_LOAD_HOT = Caution(
    "A load gets hot: set it on a base that does not burn, clear of the pack and of what burns. Insulated leads, with a fuse, "
    "connected before the load is switched on; no more than the stated current.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_STOP_LOAD = Caution(
    "Switch it off at any smell, heat, noise or swelling, or when the voltage of a group falls fast or reaches its end of "
    "discharge. Never leave it alone.",
    "US Fire Administration, signs to stop use; the rest is common practice",
    Evidence.PRACTICE,
)
_AUTHORISED = Caution(
    "Removed cells go only to an authorised carrier or facility, damaged ones never among intact ones, and never by "
    "air. The local authority and the carrier say how.",
    "PHMSA interpretation 24-0050; IATA rules as summarised",
    Evidence.PUBLISHED,
)
_STORED = Caution(
    "Keep it at the storage voltage its data sheet names, ends covered, away from heat, from what burns and from "
    "damaged cells. Local fire codes set quantities and distances.",
    "cell data sheets; VdS 3103",
    Evidence.SECONDARY,
)
_OWNER_INFORMED = Caution(
    "Tell the customer what was done to the pack and by whom, how to charge and store it, and to stop using it at "
    "any sign of heat, smell, noise, swelling or leak.",
    "US Fire Administration, signs to stop use; the rest is common practice",
    Evidence.PUBLISHED,
)
_OWNER_TESTED = Caution(
    "Tell the customer what was measured, that nothing in the pack was changed, how to charge and store it, and to stop "
    "using it at any sign of heat, smell, noise, swelling or leak.",
    "US Fire Administration, signs to stop use; the rest is common practice",
    Evidence.PUBLISHED,
)
_OWNER_NOT_REBUILT = Caution(
    "Tell the customer that the pack was not rebuilt, why, and where its cells are. Nothing that is left of it is "
    "charged or used.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_OWNER_AS_IT_CAME = Caution(
    "Tell the customer that nothing was done to the pack, why, and what was found wrong with it. A pack that is in doubt is "
    "neither charged nor used, and goes to a collecting point.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_OWNER_DISPOSAL = Caution(
    "Tell the customer that the pack goes out for disposal and does not come back, and why. Nobody gives it out again.",
    "ADR special provision 376; the rest is common practice",
    Evidence.SECONDARY,
)
_STANDS_LIVE = Caution(
    "What stays of the old pack stays live, up to its whole voltage. Cover every group and strip that is not worked on "
    "before anything is cut or joined, one strip at a time; no tool and no strip ever reaches two groups.",
    _PRACTICE,
    Evidence.PRACTICE,
)
_QUALIFIED = Caution(
    "High voltage: only people qualified for it, with insulating gloves rated for the voltage. From which voltage "
    "that holds is set by local rules; 60 V DC is a usual line.",
    _PRACTICE,
    Evidence.MEMORY,
)

_NO_SUBSTITUTE = Caution(
    "This list replaces neither training nor the data sheet nor your local codes. Where they ask for more, do more.",
    "common practice, no source",
    Evidence.PRACTICE,
)

_BY_STAGE: Mapping[Stage, tuple[Caution, ...]] = MappingProxyType(
    {
        Stage.TAKE_IN: (_DANGER_SIGNS, _UNKNOWN_IS_DAMAGED, _FIRE),
        Stage.EXAMINE: (_DANGER_SIGNS, _PROBES, _LEAK),
        Stage.TEST_PACK: (_DANGER_SIGNS, _ATTENDED, _CHARGE_PLACE, _PROBES),
        Stage.TARGET: (_NEW_TYPE, _PROTECTION),
        Stage.MATCH: (_APART, _CHARGE_PLACE),
        Stage.DISMANTLE: (_LIVE, _ORDER_OF_CUTTING, _CASING, _LEAK),
        Stage.PLACE: (_LIVE, _CASING),
        Stage.MEASURE: (_PROBES, _LIKE_WITH_LIKE),
        Stage.JOIN: (_LIVE, _LIKE_WITH_LIKE),
        Stage.LADDER: (_LIVE, _PROBES, _BOARD_LAST),
        Stage.HOUSING: (_LIVE, _PROTECTION),
        Stage.FIRST_CHARGE: (_ATTENDED, _PAUSE, _CHARGE_PLACE, _FIRE),
        Stage.FINAL_TEST: (_ATTENDED, _CHARGE_PLACE),
        Stage.REMOVED: (_APART, _CASING, _LEAK),
        Stage.INTO_STOCK: (_STORED, _NEW_TYPE),
        Stage.HAND_OVER: (_AUTHORISED, _OWNER_INFORMED, _SENT),
    }
)
_WELDED = (_PEEL, _SPATTER, _FUMES)
_OF_METHOD: Mapping[JointMethod | None, tuple[Caution, ...]] = MappingProxyType(
    {JointMethod.BOLTED: (_BOLTS,), JointMethod.SOLDERED_TAB: (_SPATTER, _SOLDER)}
)
"""What joining asks for beyond live parts; welding where it is not said how."""
_TOUCHES_LIVE_PARTS = frozenset(Stage) - {
    Stage.TAKE_IN,
    Stage.TARGET,
    Stage.MATCH,
    Stage.REMOVED,
    Stage.INTO_STOCK,
    Stage.HAND_OVER,
}


_BESIDE_WHAT_STAYS = frozenset({Stage.DISMANTLE, Stage.PLACE, Stage.JOIN})


_OF_BOARD: Mapping[Unpowered, tuple[Caution, frozenset[Stage]]] = MappingProxyType(
    {
        Unpowered.NEEDS_WAKING: (
            _WAKING,
            frozenset({Stage.LADDER, Stage.HOUSING, Stage.FIRST_CHARGE, Stage.FINAL_TEST}),
        ),
        Unpowered.LOCKS: (_LOCKING, frozenset({Stage.DISMANTLE, Stage.JOIN, Stage.LADDER})),
    }
)
"""What is to be remembered of a board that does not go on as before, and at which steps."""


def cautions(
    stage: Stage,
    *,
    high_voltage: bool = False,
    route: Sequence[Stage] = (),
    unpowered: Unpowered = Unpowered.UNKNOWN,
    part_stays: bool = False,
    joint_method: JointMethod | None = None,
) -> tuple[Caution, ...]:
    """Cautions to show at a stage; a high-voltage pack adds its own, first, wherever live parts are within reach.

    The stages of the job, its ``route``, say what came of it and so what there is to tell at the hand-over; without
    them the pack is a rebuilt one. Where ``part_stays`` of the old pack, work beside it has one of its own. What its
    board does once it was without supply is remembered where it counts. Where the ``joint_method`` is known, joining has
    the cautions of that method alone. The last caution always defers to training,
    data sheets and local codes.

    References
    ----------
    Common practice, no source, deferring to training, data sheets and local codes; each caution names its own where
    it has one.
    """
    first: tuple[Caution, ...] = (_QUALIFIED,) if high_voltage and stage in _TOUCHES_LIVE_PARTS else ()
    of_board, steps = _OF_BOARD.get(unpowered, (None, frozenset()))
    if of_board is not None and stage in steps:
        first = (*first, of_board)
    own = _at_the_end(route) if stage is Stage.HAND_OVER and route else _BY_STAGE[stage]
    if stage is Stage.JOIN:
        own = (*own, *_OF_METHOD.get(joint_method, _WELDED))
    beside = (_STANDS_LIVE,) if part_stays and stage in _BESIDE_WHAT_STAYS else ()
    return (*first, *beside, *own, _NO_SUBSTITUTE)


def pierced(*, high_voltage: bool = False, part_stays: bool = False) -> tuple[Caution, ...]:
    """Cautions where a can of a half-built pack was pierced: keep away, what leaks, what stays live beside it.

    References
    ----------
    As ``cautions``: common practice, no source; each caution names its own where it has one.
    """
    first = (_QUALIFIED,) if high_voltage else ()
    beside = (_STANDS_LIVE,) if part_stays else ()
    return (_DANGER_SIGNS, _FIRE, *first, *beside, _LIVE, _LEAK, _NO_SUBSTITUTE)


def while_searching(*, charger: bool, high_voltage: bool = False) -> tuple[Caution, ...]:
    """Cautions where a load is drawn from a pack whose fault is looked for, after a moment on the ``charger`` or without.

    References
    ----------
    As ``cautions``: common practice, no source; each caution names its own where it has one.
    """
    first = (_QUALIFIED,) if high_voltage else ()
    charged = (_CHARGE_PLACE, _PAUSE) if charger else ()
    return (*first, _LOAD_HOT, _STOP_LOAD, *charged, _FIRE, _NO_SUBSTITUTE)


def preparing() -> tuple[Caution, ...]:
    """Cautions where cells that were in a pack are ground and wrapped anew.

    References
    ----------
    As ``cautions``: common practice, no source; each caution names its own where it has one.
    """
    return (_DANGER_SIGNS, _LIVE, _CASING, _GRINDING, _WRAP, _NO_SUBSTITUTE)


def _at_the_end(route: Sequence[Stage]) -> tuple[Caution, ...]:
    if Stage.FINAL_TEST in route:
        return _BY_STAGE[Stage.HAND_OVER]
    if Stage.TEST_PACK in route:
        return (_OWNER_TESTED,)
    if Stage.REMOVED not in route:  # the device goes back as it came
        return (_OWNER_AS_IT_CAME,)
    if Stage.TAKE_IN not in route:  # a build for stock that was given up: there is no customer
        return (_AUTHORISED,)
    return (_AUTHORISED, _OWNER_NOT_REBUILT if Stage.EXAMINE in route else _OWNER_DISPOSAL)
