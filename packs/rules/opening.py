"""Rules before the old pack is cut: charge, board, and what a pack above 60 V DC asks for."""

from packs.rules.model import Bound, Rule
from packs.rules.never import SHOCK
from packs.sources import COMMON_PRACTICE
from packs.terms import LITHIUM_ION, Severity, Stage
from packs.units import Kind, ureg

_ELECTRICAL = f"{COMMON_PRACTICE}: 60 V DC is a usual line for work on live parts; local rules set it"


def _before_cutting(
    name: str, quantity: str, holds: str, source: str = COMMON_PRACTICE, fails: str = "", no_exception: str = ""
) -> Rule:
    return Rule(
        id=f"dismantle.{name}",
        quantity=quantity,
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.DISMANTLE,
        source=source,
        holds_words=holds,
        fails_words=fails,
        no_exception=no_exception,
    )


RULES: tuple[Rule, ...] = (
    Rule(
        id="dismantle.charge_low",
        quantity="charge that may be left before the pack is opened",
        kind=Kind.FRACTION,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.DISMANTLE,
        source=f"{COMMON_PRACTICE}: little charge leaves little to burn; the same 30 % as for carriage by air",
        limit=ureg.Quantity(0.30, "dimensionless"),
        consequence="Discharge it first, over a resistor or a load made for it, attended; never by short circuit.",
        chemistries=LITHIUM_ION,
        own_practice=True,  # and a lead may answer for a pack whose board lets nothing out
    ),
    _before_cutting(
        "board_saved",
        "settings and memory of the board",
        "What the board keeps is read out and saved, or it keeps nothing.",
    ),
    _before_cutting(
        "unpowered_accepted",
        "what the board does once it is without supply",
        "What the board does without supply is known, or whoever ordered the work accepts that it is not.",
        f"{COMMON_PRACTICE}: a board that loses its supply may lock for good",
    ),
    _before_cutting(
        "qualified_person",
        "qualified person for a pack above 60 V DC",
        "A person qualified for this voltage does the work, by name.",
        _ELECTRICAL,
        "Nobody qualified for this voltage is named: a pack above 60 V DC is not opened.",
        no_exception=SHOCK,
    ),
    _before_cutting(
        "second_person",
        "second person beside a pack above 60 V DC",
        "A second person is present, by name.",
        _ELECTRICAL,
        "Nobody else is named: no one works alone on a pack above 60 V DC.",
        no_exception=SHOCK,
    ),
    _before_cutting(
        "insulated_tools",
        "tools for a pack above 60 V DC",
        "All tools are insulated for the voltage of the pack.",
        _ELECTRICAL,
        no_exception=SHOCK,
    ),
    _before_cutting(
        "groups_covered",
        "covers over the groups that are not worked on",
        "Every group that is not worked on is covered.",
        _ELECTRICAL,
        no_exception=SHOCK,
    ),
)
