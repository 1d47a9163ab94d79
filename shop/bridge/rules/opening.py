"""Rules before the old pack is cut."""

from collections.abc import Mapping
from decimal import Decimal

from packs import chemistry
from packs.errors import MissingFact
from packs.rules import RULES, Finding
from packs.terms import LITHIUM_ION, Chemistry, Measure, Stage, Unpowered
from packs.units import Quantity, of, ureg
from shop.bridge import figures
from shop.bridge.cautions import HIGH_VOLTAGE_MV
from shop.models import CellModel, PackAsFound

from .asking import asking
from .limits import own_limit

CHARGE_LOW = "dismantle.charge_low"
BOARD_SAVED, UNPOWERED = "dismantle.board_saved", "dismantle.unpowered_accepted"
QUALIFIED, SECOND = "dismantle.qualified_person", "dismantle.second_person"
TICKED_ABOVE_60_V = ("dismantle.insulated_tools", "dismantle.groups_covered")
KNOWN_UNPOWERED = frozenset({Unpowered.UNAFFECTED, Unpowered.NEEDS_WAKING})
NO_CHARGE = ureg.Quantity(0.0, "dimensionless")


def before_opening(found: PackAsFound, confirmed: Mapping[str, bool]) -> list[Finding]:
    """Whether the old pack may be cut: nearly empty, its board cared for, and above 60 V DC by whom and how."""
    ask = asking(found)
    findings = [
        ask(CHARGE_LOW, charge_at_most(found.cell_model, mv), where=where)
        for where, mv in _rest_voltages(found).items()
    ]
    for rule in opening_questions(found):
        findings.append(ask(rule, confirmed.get(rule)))
    if has_board(found) and found.unpowered in KNOWN_UNPOWERED:
        findings.append(ask(UNPOWERED, True))
    return findings


def opening_questions(found: PackAsFound) -> tuple[str, ...]:
    """Return the rules that somebody has to answer before this pack is cut; none for a small pack without a board."""
    board = () if not has_board(found) else (BOARD_SAVED,)
    unpowered = (UNPOWERED,) if board and found.unpowered not in KNOWN_UNPOWERED else ()
    return (*board, *unpowered, *((QUALIFIED, SECOND, *TICKED_ABOVE_60_V) if above_60_v(found) else ()))


def opening_words(found: PackAsFound, rule: str) -> str:
    """Return the words with which a rule is confirmed for this pack."""
    if rule == UNPOWERED and found.unpowered == Unpowered.LOCKS:
        return "The board locks for good without supply: it stays supplied, or another board goes in."
    return RULES[rule].holds_words


def above_60_v(found: PackAsFound) -> bool:
    """Whether a full pack has more than 60 V DC: 15 groups of 4.2 V have 63 V."""
    return found.series * found.cell_model.charge_limit_mv > HIGH_VOLTAGE_MV


def has_board(found: PackAsFound) -> bool:
    """Whether a board was found in the pack."""
    return bool(found.board.strip() or found.protects)


def charge_at_most(model: CellModel, rest_mv: Decimal | None) -> Quantity | None:
    """Return the most charge that a rest voltage of one cell allows; None where nothing tells.

    Nothing is left at or below the end of discharge; above it the curve of the chemistry says, at its upper end.
    """
    if rest_mv is None or not rest_mv.is_finite() or model.chemistry not in LITHIUM_ION:
        return None
    if rest_mv <= model.end_of_discharge_mv:
        return NO_CHARGE
    try:
        charge = chemistry.state_of_charge(
            Chemistry(model.chemistry), of(Measure.VOLTAGE, rest_mv), chemistry.LEAST_REST
        )
    except MissingFact:
        return None
    return ureg.Quantity(charge.high, "dimensionless")


def rest_at_most(model: CellModel) -> Quantity | None:
    """Return the rest voltage of one cell at or below which a pack may be cut, by its charge; None where nothing tells.

    Rounded down to 10 mV, so that whoever stops there is below.
    """
    if model.chemistry not in LITHIUM_ION:
        return None
    lowest = model.end_of_discharge_mv
    try:
        most = chemistry.highest_rest(Chemistry(model.chemistry), own_limit(CHARGE_LOW).m_as("dimensionless"))
    except MissingFact:
        return of(Measure.VOLTAGE, lowest)
    return of(Measure.VOLTAGE, max(lowest, int(most.m_as("mV") + 1e-6) // 10 * 10))


def _rest_voltages(found: PackAsFound) -> dict[str, Decimal | None]:
    """Return what one cell of each group rests at; where no group was read, what the pack comes to on average."""
    before = figures.of_points(found.job, Stage.EXAMINE, Measure.REST_VOLTAGE)
    known = before | figures.of_points(found.job, Stage.DISMANTLE, Measure.REST_VOLTAGE)
    groups = {f"group {number}": known.get(f"group {number}") for number in range(1, found.series + 1)}
    if any(value is not None for value in groups.values()):
        return groups
    return {"pack": known["pack"] / found.series if "pack" in known else None}
