"""What a reading's method and conditions say in words, as figures: temperature, rate, how long a hold lasted."""

import re

from packs.units import Quantity, ureg

NUMBER = r"([-\u2212]?\d+(?:[.,]\d+)?)"
TEMPERATURE = re.compile(NUMBER + r"\s*°\s*C")
RATE = re.compile(NUMBER + r"\s*(?:C|It)\b(?!\s*/)")
RATE_PART = re.compile(r"\b(?:C|It)\s*/\s*" + NUMBER)
RATE_OF_A_FILE = re.compile(NUMBER + r" of rated capacity per hour")
HELD = re.compile(NUMBER + r"\s*(?:d|days?)\b")
HELD_IN_A_FILE = re.compile(NUMBER + " to " + NUMBER + " h of a rest")


def temperature(words: str) -> Quantity | None:
    """Return the temperature that is named, such as "at 50 % charge, 23 °C"; None where none or several are."""
    found = TEMPERATURE.findall(words)
    return ureg.Quantity(_number(found[0]), "degC") if len(found) == 1 else None


def rate(words: str) -> Quantity | None:
    """Return the current by rated capacity that is named: "0.2 C", "C/5" or as a tester file gives it."""
    if found := RATE_OF_A_FILE.search(words):
        return ureg.Quantity(_number(found[1]), "1/hour")
    if found := RATE_PART.search(words):
        part = _number(found[1])
        return ureg.Quantity(1 / part, "1/hour") if part else None
    found = RATE.search(words)
    return ureg.Quantity(_number(found[1]), "1/hour") if found else None


def held(words: str) -> Quantity | None:
    """Return how long a fall of the rest voltage was watched: "over 14 d" or as a tester file gives it."""
    if found := HELD_IN_A_FILE.search(words):
        return ureg.Quantity((_number(found[2]) - _number(found[1])) / 24, "day")
    found = HELD.search(words)
    return ureg.Quantity(_number(found[1]), "day") if found else None


def _number(text: str) -> float:
    return float(text.replace("\u2212", "-").replace(",", "."))
