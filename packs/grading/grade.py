"""A grade with its reasons: each criterion says what it allows, and the worst of them is the cell's."""

from dataclasses import dataclass

from packs.errors import MissingFact
from packs.grading.criteria import Band, Criteria
from packs.grading.drop import LEAST_HELD, loss_in_a_month
from packs.grading.facts import CellFacts
from packs.grading.like import DIGITS, unlike_capacity, unlike_resistance
from packs.grading.low import low_voltage
from packs.terms import Criterion, Grade
from packs.units import Kind, Quantity, show, ureg

ORDER = tuple(Grade)
STANDING = ureg.Quantity(0.0, "mV/day")
RISES = "relaxation or a change of temperature hides self-discharge"


@dataclass(frozen=True)
class Reason:
    """What one criterion allows, in words; ``provisional`` where it could not be asked yet or not for long enough."""

    criterion: Criterion
    allows: Grade
    words: str
    provisional: bool = False


@dataclass(frozen=True)
class Grading:
    """The grade of a cell by one version of the criteria; ``new_missing`` where what a new cell reads is not stated."""

    grade: Grade
    provisional: bool
    reasons: tuple[Reason, ...]
    version: int
    new_missing: bool = False

    @property
    def decisive(self) -> tuple[Reason, ...]:
        """The reasons that make the grade what it is."""
        return tuple(reason for reason in self.reasons if reason.allows is self.grade)


def grade(facts: CellFacts, criteria: Criteria, *, locale: str = "en") -> Grading:
    """Grade a cell; what is not known never counts as good, and only self-discharge may still be outstanding.

    Parameters
    ----------
    facts : CellFacts
        With voltages [V], capacities [mAh], resistances [mΩ] and falls [mV/day].
    criteria : Criteria
        The version that counts.
    locale : str
        For the numbers in the reasons.

    References
    ----------
    UL 1974 for what is asked of a used cell, as in public summaries; the numbers are the shop's: common practice, no
    source.
    """
    allowed, words = low_voltage(facts, locale=locale)
    voltage = Reason(Criterion.VOLTAGE, allowed, words)
    reasons = [voltage]
    if ORDER.index(allowed) < ORDER.index(Grade.QUARANTINED):
        reasons += [_health(facts, criteria, locale), _resistance(facts, criteria, locale)]
        reasons += [_loss(facts, criteria, locale), _beyond_lot(facts, criteria, locale)]
    worst = max((reason.allows for reason in reasons), key=ORDER.index)
    provisional = worst.usable and any(reason.provisional for reason in reasons)
    return Grading(worst, provisional, tuple(reasons), criteria.version, facts.new_resistance is None)


def health(facts: CellFacts) -> Quantity | None:
    """Return the health of a cell, against the same day's check cell where there is one [%]; None where not measured.

    References
    ----------
    IEC 61960-3 for capacity by rated capacity; the check cell: common practice, no source.
    """
    if facts.capacity is None:
        return None
    share = facts.capacity.value / facts.rated
    if facts.check_cell is not None:
        share = share * facts.check_cell.health / facts.check_cell.health_that_day
    return ureg.Quantity(round(float(share.m_as("percent")), DIGITS), "percent")


def _health(facts: CellFacts, criteria: Criteria, locale: str) -> Reason:
    found = health(facts)
    if found is None or facts.capacity is None:
        return Reason(Criterion.HEALTH, Grade.UNTESTED, "the capacity is not on record")
    beside = facts.check_cell is not None
    if unlike := unlike_capacity(facts.capacity, criteria, beside_check_cell=beside, locale=locale):
        return Reason(Criterion.HEALTH, *unlike)
    said = f"{_percent(found, locale)} of the rated capacity" + (", against that day's check cell" if beside else "")
    return _at_least(Criterion.HEALTH, found, criteria, said, locale)


def _resistance(facts: CellFacts, criteria: Criteria, locale: str) -> Reason:
    test, new = facts.resistance, facts.new_resistance
    if test is None:
        return Reason(Criterion.RESISTANCE, Grade.UNTESTED, "the DC resistance is not on record")
    if new is None:
        return Reason(
            Criterion.RESISTANCE, Grade.UNTESTED, "the DC resistance of a new cell of the model is not on record"
        )
    if unlike := unlike_resistance(test, new, criteria, locale=locale):
        return Reason(Criterion.RESISTANCE, *unlike)
    share = ureg.Quantity(float((test.value / new.value).m_as("percent")), "percent")
    said = f"{_percent(share, locale)} of a new cell's {show(new.value, Kind.RESISTANCE, locale=locale)}"
    return _at_most(Criterion.RESISTANCE, share, "most_resistance", criteria, said, locale)


def _loss(facts: CellFacts, criteria: Criteria, locale: str) -> Reason:
    if facts.fall is None or facts.rest_voltage is None:
        return Reason(Criterion.SELF_DISCHARGE, Grade.FIRST, "not measured yet", provisional=True)
    if facts.fall.value < STANDING:
        return Reason(Criterion.SELF_DISCHARGE, Grade.FIRST, f"the rest voltage rises: {RISES}", provisional=True)
    try:
        lost = loss_in_a_month(facts.chemistry, facts.rest_voltage.value, facts.fall.value)
    except MissingFact as missing:
        return Reason(Criterion.SELF_DISCHARGE, Grade.FIRST, f"not told by voltage: {missing}", provisional=True)
    said = f"{_percent(lost, locale)} of the rated capacity in 30 days"
    return _held_long_enough(
        _at_most(Criterion.SELF_DISCHARGE, lost, "most_loss", criteria, said, locale), facts, locale
    )


def _beyond_lot(facts: CellFacts, criteria: Criteria, locale: str) -> Reason:
    if facts.fall is None or facts.lot_fall is None:
        said = "no cells of the lot were held alike yet" if facts.fall else "not measured yet"
        return Reason(Criterion.BEYOND_LOT, Grade.FIRST, said, provisional=True)
    beyond = facts.fall.value - facts.lot_fall
    kept = Kind.SELF_DISCHARGE
    fall, middle = show(facts.fall.value, kept, locale=locale), show(facts.lot_fall, kept, locale=locale)
    said = f"falls by {fall}, the lot's median by {middle}"
    return _held_long_enough(
        _at_most(Criterion.BEYOND_LOT, beyond, "most_beyond_lot", criteria, said, locale), facts, locale
    )


def _held_long_enough(reason: Reason, facts: CellFacts, locale: str) -> Reason:
    if facts.held is not None and facts.held >= LEAST_HELD:
        return reason
    held = "how long it was held is not on record" if facts.held is None else (
        f"held for {show(facts.held, Kind.TIME, locale=locale)} of {show(LEAST_HELD, Kind.TIME, locale=locale)}"
    )  # fmt: skip
    return Reason(reason.criterion, reason.allows, f"{reason.words}; {held}", provisional=True)


def _at_least(criterion: Criterion, value: Quantity, criteria: Criteria, said: str, locale: str) -> Reason:
    found = [band for band in criteria.bands if _compared(value) >= _compared(band.least_health)]
    asked = found[0] if found else criteria.bands[-1]
    limit = f"{asked.grade.label} asks for at least {_percent(asked.least_health, locale)}"
    return Reason(criterion, found[0].grade if found else Grade.BELOW, f"{said}; {limit}")


def _at_most(criterion: Criterion, value: Quantity, name: str, criteria: Criteria, said: str, locale: str) -> Reason:
    found = [band for band in criteria.bands if _compared(value) <= _compared(getattr(band, name))]
    asked: Band = found[0] if found else criteria.bands[-1]
    bound = getattr(asked, name)
    shown = _percent(bound, locale) if bound.dimensionless else show(bound, Kind.SELF_DISCHARGE, locale=locale)
    limit = f"{asked.grade.label} allows at most {shown}" + (" more" if criterion is Criterion.BEYOND_LOT else "")
    return Reason(criterion, found[0].grade if found else Grade.BELOW, f"{said}; {limit}")


def _compared(value: Quantity) -> float:
    """A value in the unit its limit is compared in, free of the noise of binary division; NaN stays and holds nothing."""
    return round(float(value.m_as("percent" if value.dimensionless else "mV/day")), DIGITS)


def _percent(value: Quantity, locale: str) -> str:
    return str(show(value, Kind.FRACTION, locale=locale))
