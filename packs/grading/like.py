"""Only like is compared with like: method, rate, temperature and age; nothing is corrected silently."""

from packs.grading.criteria import Criteria
from packs.grading.facts import Measured
from packs.terms import Grade
from packs.units import Kind, Quantity, show

DIGITS = 9
"""Places a number is rounded to before it is compared, so that what lies at a limit is at it however it was stored."""

Unlike = tuple[Grade, str]


def unlike_capacity(
    test: Measured, criteria: Criteria, *, beside_check_cell: bool, locale: str = "en"
) -> Unlike | None:
    """Say why a capacity cannot be graded as it was measured; None where it can.

    Parameters
    ----------
    test : Measured
        [capacity]
    criteria : Criteria
        With the rate [1/h], temperature [°C] and age [d] it asks for.
    beside_check_cell : bool
        A check cell of the same day stands in for the temperature, not for the rate.
    locale : str
        For the numbers in the words.

    References
    ----------
    IEC 61960-3, 7.3.1 for the rate, as recalled. Width of the band of temperature: common practice, no source.
    """
    warm = None if beside_check_cell else _too_warm(test, criteria, locale)
    return _together(_other_rate(test, criteria, locale), _not_calibrated(test), _too_old(test, criteria, locale), warm)


def unlike_resistance(test: Measured, new: Measured, criteria: Criteria, *, locale: str = "en") -> Unlike | None:
    """Say why a resistance cannot be held against that of a new cell; None where it can.

    Parameters
    ----------
    test, new : Measured
        [resistance]
    criteria : Criteria
        With the temperature [°C] and age [d] it asks for.
    locale : str
        For the numbers in the words.

    References
    ----------
    Common practice, no source: a DC resistance is never judged against a 1 kHz one, nor a pulse against another.
    """
    if test.method.strip().casefold() != new.method.strip().casefold():
        return (
            Grade.RETEST,
            f"measured by {test.method or 'a method that is not on record'}, a new cell by {new.method}",
        )
    said = _not_calibrated(test), _too_old(test, criteria, locale), _too_warm(test, criteria, locale)
    if unlike := _together(*said):
        return unlike
    other = _too_warm(new, criteria, locale)
    return (other[0], f"the new cell's value: {other[1]}") if other else None


def _together(*found: Unlike | None) -> Unlike | None:
    """Say all that is in the way at once, so that one more test puts all of it right; the worst grade counts."""
    said = [one for one in found if one is not None]
    if not said:
        return None
    return max((allows for allows, _ in said), key=tuple(Grade).index), "; ".join(words for _, words in said)


def _other_rate(test: Measured, criteria: Criteria, locale: str) -> Unlike | None:
    asked = show(criteria.rate, Kind.C_RATE, locale=locale)
    if test.rate is None:
        return Grade.UNTESTED, f"at which current the capacity was measured is not on record; {asked} is asked for"
    if not _same(test.rate, criteria.rate, "1/hour"):
        return Grade.RETEST, f"measured at {show(test.rate, Kind.C_RATE, locale=locale)}, compared at {asked}"
    return None


def _not_calibrated(test: Measured) -> Unlike | None:
    if test.calibrated:
        return None
    return Grade.RETEST, f"its meter did not count on that day: {test.why_not or 'calibration or check cell overdue'}"


def _too_old(test: Measured, criteria: Criteria, locale: str) -> Unlike | None:
    most = show(criteria.oldest, Kind.TIME, locale=locale)
    if test.age is None:
        return Grade.UNTESTED, "when it was measured is not on record"
    if not round(float(test.age.m_as("day")), DIGITS) <= criteria.oldest.m_as("day"):
        return Grade.RETEST, f"measured {show(test.age, Kind.TIME, locale=locale)} ago, at most {most}"
    return None


def _too_warm(test: Measured, criteria: Criteria, locale: str) -> Unlike | None:
    around = show(criteria.temperature, Kind.TEMPERATURE, locale=locale)
    band = show(criteria.temperature_band, Kind.TEMPERATURE_RISE, locale=locale)
    if test.temperature is None:
        return Grade.UNTESTED, f"the temperature of the test is not on record; {around} is asked for"
    apart = abs(float(test.temperature.m_as("degC")) - float(criteria.temperature.m_as("degC")))
    if not round(apart, DIGITS) <= criteria.temperature_band.m_as("delta_degC"):
        return Grade.RETEST, f"measured at {show(test.temperature, locale=locale)}, compared at {around} ± {band}"
    return None


def _same(one: Quantity, other: Quantity, unit: str) -> bool:
    return bool(round(float(one.m_as(unit)), DIGITS) == round(float(other.m_as(unit)), DIGITS))
