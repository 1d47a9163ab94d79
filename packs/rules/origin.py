"""Rules on where cells come from: signed histories, and what reclaimed cells may serve."""

from packs.rules.model import Bound, Rule
from packs.rules.never import LAW, USER
from packs.sources import COMMON_PRACTICE
from packs.terms import DeviceClass, Severity, Stage

_NO_LIFETIME_RECORD = "IEC 63338:2024, clause 4 (no reuse without lifetime records)"
_MEDICAL = frozenset({DeviceClass.MEDICAL})

_ORDERED = (
    Rule(
        id="target.facility_order",
        quantity="written order of the facility that uses the medical device",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: whoever answers for a medical device orders work on it; local rules go first",
        device_classes=_MEDICAL,
        holds_words="The facility that uses the medical device ordered the work in writing.",
        fails_words="No written order of the facility that uses this medical device stands with the job.",
        no_exception=USER,  # the facility answers for the device, and a lead cannot answer in its stead
    ),
    Rule(
        id="target.original_type",
        quantity="cell model of a medical device beside the one that was in it",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.TARGET,
        source=f"{COMMON_PRACTICE}: a medical device keeps the type of cell it was approved with; local rules go first",
        device_classes=_MEDICAL,
        holds_words="The cells are of the type that was in the medical device.",
        fails_words="The cells are of another type than was in the medical device.",
        no_exception=USER,
    ),
)

_RECLAIMED = (
    Rule(
        id="cell.history_signed",
        quantity="signed history of the lots of reclaimed cells",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source=_NO_LIFETIME_RECORD,
        holds_words="A lead signed the history of every lot of reclaimed cells.",
        fails_words="No lead signed the history of these reclaimed cells.",
        no_exception=USER,  # the signature is the lead's written word already
    ),
    Rule(
        id="cell.class_allowed",
        quantity="device class that the lots of reclaimed cells may serve",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source=f"{COMMON_PRACTICE}; {_NO_LIFETIME_RECORD}",
        device_classes=frozenset(DeviceClass) - _MEDICAL,  # a medical device gets none, whoever signs
        holds_words="Every lot of reclaimed cells may serve this class of device.",
        fails_words="What the lead signed for these reclaimed cells leaves this class of device out.",
        no_exception=USER,  # a lead who thinks otherwise signs the lot anew
    ),
    Rule(
        id="target.reclaimed_in_mobility",
        quantity="reclaimed cells for powered mobility, by the rules of the place",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MATCH,
        source="New York City Administrative Code, Title 20, on cells of used batteries in powered mobility (from memory); "
        "the settings of the shop say what holds in its place",
        device_classes=frozenset({DeviceClass.LIGHT_VEHICLE}),
        holds_words="No reclaimed cell is meant for this vehicle, or the rules of the place allow them.",
        fails_words="The rules of the place forbid reclaimed cells in powered mobility.",
        no_exception=LAW,
    ),
)

_PREPARED = (
    Rule(
        id="cell.prepared",
        quantity="reclaimed cells made ready to be joined",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: a new joint holds on a clean flat face, and a torn wrap is a short circuit",
        holds_words="Every reclaimed cell was prepared since it left its pack: tabs, stubs, wrapper and insulator.",
        fails_words="Of these reclaimed cells nobody wrote down tabs, stubs, wrapper and insulator since they left a pack, "
        "stubs were left on them, or a round one has no insulator ring.",
    ),
)

RULES: tuple[Rule, ...] = (*_ORDERED, *_RECLAIMED, *_PREPARED)
