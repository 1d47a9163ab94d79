"""What a reading's method and conditions say in words, as figures: temperature, rate, how long a hold lasted, where it was read."""

import re

from packs.units import Quantity, ureg

NUMBER = r"([-\u2212]?\d+(?:[.,]\d+)?)"
TEMPERATURE = re.compile(NUMBER + r"\s*°\s*C")
RATE = re.compile(NUMBER + r"\s*(?:C|It)\b(?!\s*/)")
RATE_PART = re.compile(r"\b(?:C|It)\s*/\s*" + NUMBER)
RATE_OF_A_FILE = re.compile(NUMBER + r" of rated capacity per hour")
CURRENT = re.compile(NUMBER + r"\s*(mA|A)\b(?!h)")
VOLTAGE = re.compile(NUMBER + r"\s*V\b")
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


def current(words: str) -> Quantity | None:
    """Return the current that is named, such as "at 500 mA" or "1 A"; None where none is."""
    found = CURRENT.search(words)
    return None if found is None else ureg.Quantity(_number(found[1]), "mA" if found[2] == "mA" else "A")


def cut_off(words: str) -> Quantity | None:
    """Return the voltage down to which a discharge went, such as "down to 3.0 V"; None where none or several are named."""
    found = VOLTAGE.findall(words)
    return ureg.Quantity(_number(found[0]), "volt") if len(found) == 1 else None


def held(words: str) -> Quantity | None:
    """Return how long a fall of the rest voltage was watched: "over 14 d" or as a tester file gives it."""
    if found := HELD_IN_A_FILE.search(words):
        return ureg.Quantity((_number(found[2]) - _number(found[1])) / 24, "day")
    found = HELD.search(words)
    return ureg.Quantity(_number(found[1]), "day") if found else None


def at_the_cell(words: str) -> bool:
    """Whether a voltage was read at the cell itself, behind a board that it may carry: "at the cell itself, 23 °C"."""
    return "at the cell" in " ".join(words.casefold().split())


def drifts(words: str) -> bool:
    """Whether the reading wandered while the probes stood still: "drifts", "drifting", "drifted"."""
    return re.search(r"\bdrift(s|ing|ed)?\b", words.casefold()) is not None and "no drift" not in words.casefold()


def _number(text: str) -> float:
    return float(text.replace("\u2212", "-").replace(",", "."))
