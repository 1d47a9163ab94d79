"""Rules of nickel packs: what lithium-ion is held to does not apply to them, and the other way round."""

from packs.rules.model import Bound, Rule
from packs.rules.never import FIRE, UNMEASURED
from packs.sources import COMMON_PRACTICE
from packs.terms import NICKEL, Severity, Stage
from packs.units import Kind, ureg

_SLOW_CHARGE = "IEC 61951-2, charge at 0.1 It (clause from memory)"

RULES: tuple[Rule, ...] = (
    Rule(
        id="measure.not_reversed",
        quantity="rest voltage of the nickel cell",
        kind=Kind.VOLTAGE,
        bound=Bound.ABOVE,
        severity=Severity.STOP,
        stage=Stage.MEASURE,
        source=f"{COMMON_PRACTICE}: a cell driven into reversal by its neighbours is spoilt",
        limit_words="zero",
        consequence="A cell at or below zero was reversed, or lies the wrong way round.",
        chemistries=NICKEL,
        no_exception=FIRE,  # a cell the wrong way round is a short circuit
    ),
    Rule(
        id="housing.thermal_cutoff",
        quantity="thermal cut-off in the charging path",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.HOUSING,
        source=f"{COMMON_PRACTICE}: a nickel pack that is full turns its charge into heat",
        chemistries=NICKEL,
        holds_words="A thermal cut-off sits on a cell and opens the charging path.",
        no_exception=FIRE,  # nothing else ends a charge that goes on
    ),
    Rule(
        id="first_charge.ends_itself",
        quantity="how the charger of a nickel pack ends its charge",
        kind=None,
        bound=Bound.HOLDS,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=f"{COMMON_PRACTICE}: voltage says nothing of when a nickel cell is full",
        chemistries=NICKEL,
        holds_words="The charger ends by the fall of the voltage (−ΔV) or by a timer; it is none for lithium-ion.",
        no_exception=FIRE,  # overcharge
    ),
    Rule(
        id="first_charge.forming_current",
        quantity="current of the forming charge",
        kind=Kind.CURRENT,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=_SLOW_CHARGE,
        limit_words="a tenth of the rated capacity of a group an hour",
        chemistries=NICKEL,
    ),
    Rule(
        id="first_charge.forming_interval",
        quantity="longest time between two looks at a forming charge",
        kind=Kind.TIME,
        bound=Bound.AT_MOST,
        severity=Severity.STOP,
        stage=Stage.FIRST_CHARGE,
        source=f"{COMMON_PRACTICE}: a tenth of the capacity an hour warms a sound nickel cell slowly",
        limit=ureg.Quantity(4, "hour"),
        chemistries=NICKEL,
        own_practice=True,
        no_exception=UNMEASURED,
    ),
    Rule(
        id="first_charge.forming_time",
        quantity="time of the forming charge",
        kind=Kind.TIME,
        bound=Bound.AT_LEAST,
        severity=Severity.WARN,
        stage=Stage.FIRST_CHARGE,
        source=f"{COMMON_PRACTICE}: {_SLOW_CHARGE}",
        limit=ureg.Quantity(14, "hour"),
        chemistries=NICKEL,
        own_practice=True,
        consequence="A nickel pack that is charged short does not come to its capacity at first.",
    ),
)
