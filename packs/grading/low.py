"""What a rest voltage says before anything else is asked: charged, brought up slowly, never charged, or hidden."""

from packs.chemistry import limits, recovery
from packs.chemistry.recovery import Recovery
from packs.errors import MissingFact
from packs.grading.facts import CellFacts
from packs.terms import CellProtection, Grade
from packs.units import Quantity, show, ureg

NOTHING_READ = ureg.Quantity(0.1, "V")
"""Below it a meter reads nothing: no charged or empty cell rests there; common practice, no source."""


def low_voltage(facts: CellFacts, *, locale: str = "en") -> tuple[Grade, str]:
    """Say how a cell may be handled by its rest voltage, and why; grade 1 where nothing stands against it.

    Nothing at all, or a reading that drifts, never means "empty": a board that tripped or a device that opened hides a
    cell that may be full. Where it is not known what a cell carries, it is taken as open inside. What is read outside a
    board counts where the board lets it through, and never calls a cell too low.

    Parameters
    ----------
    facts : CellFacts
        Of the cell; its rest voltage, rested [voltage].
    locale : str
        For the numbers in the words.

    References
    ----------
    Product specification of an 18650 cell of 2.5 Ah, 8-1, and the others of ``recovery``. A reading of nothing on a cell
    with a board or an interrupt device: common practice, no source.

    Examples
    --------
    >>> from packs.grading.facts import Measured
    >>> from packs.terms import Chemistry
    >>> volts, amp_hours = (lambda number: ureg.Quantity(number, "V")), ureg.Quantity(2.6, "Ah")
    >>> str(low_voltage(CellFacts(Chemistry.NMC, amp_hours, volts(2.75), Measured(volts(1.9))))[0])
    'rejected'
    """
    if facts.rest_voltage is None:
        return Grade.UNTESTED, "the rest voltage is not on record"
    voltage = facts.rest_voltage.value
    if facts.drifts or voltage < NOTHING_READ:
        hidden = _hidden(facts, "the reading drifts" if facts.drifts else f"{show(voltage, locale=locale)} at rest")
        if hidden is not None:
            return hidden
    allowed, words = _by_chemistry(facts, voltage, locale)
    if not facts.at_the_cell and allowed is not Grade.FIRST:
        seen = show(voltage, locale=locale)
        return Grade.UNTESTED, f"{seen} outside its board tells too little: read the rest voltage at the cell itself"
    return allowed, words


def _hidden(facts: CellFacts, seen: str) -> tuple[Grade, str] | None:
    board = facts.protection in (CellProtection.BOARD, CellProtection.BOTH)
    if board and not facts.at_the_cell:
        return Grade.TRIPPED, f"{seen}, read outside the cell's board: that tripped; the cell behind it may be charged"
    if facts.protection in (CellProtection.INTERRUPT, CellProtection.BOTH):
        return Grade.OPEN_INSIDE, f"{seen}: its interrupt device opened; the cell may be charged"
    if facts.protection is CellProtection.UNKNOWN:
        return Grade.OPEN_INSIDE, f"{seen}, and what the cell carries inside is not known: it may be open and charged"
    if facts.drifts:
        return Grade.UNTESTED, f"{seen}: a contact is loose or the cell is not at rest; read it again"
    return None


def _by_chemistry(facts: CellFacts, voltage: Quantity, locale: str) -> tuple[Grade, str]:
    seen = f"{show(voltage, locale=locale)} at rest"
    try:
        may = recovery(facts.chemistry, voltage)
    except MissingFact:
        return _by_sheet(facts, voltage, seen, locale)
    known = limits(facts.chemistry)
    if may is Recovery.REJECT:
        least = show(known.require("reject_below"), locale=locale)
        return Grade.REJECTED, f"{seen}, below the {least} under which its chemistry is never charged again"
    if may is Recovery.PRECHARGE:
        least = show(known.require("precharge_below"), locale=locale)
        return (
            Grade.QUARANTINED,
            f"{seen}, below {least}: it is brought up slowly, alone and watched, before it is tested",
        )
    return Grade.FIRST, seen


def _by_sheet(facts: CellFacts, voltage: Quantity, seen: str, locale: str) -> tuple[Grade, str]:
    """Where no line of the chemistry is known, the data sheet's end of discharge is the only one there is."""
    if voltage < facts.end_of_discharge:
        least = show(facts.end_of_discharge, locale=locale)
        return (
            Grade.QUARANTINED,
            f"{seen}, below the end of discharge of {least}; whether it may be charged its sheet says",
        )
    return Grade.FIRST, seen
