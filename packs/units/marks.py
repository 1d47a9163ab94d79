"""In which locale numbers are written just now, and sentences whose numbers have to follow it.

A rule, a refusal and a form make their sentences far from where the shop's number format is known; it is stated once,
around the whole request.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from babel import Locale

_LOCALE: ContextVar[str] = ContextVar("locale", default="en")
_UNITS = (
    "V|mV|µV|A|mA|Ah|mAh|Ω|mΩ|µΩ|mOhm|uOhm|W|Wh|kWh|mm²?|cm|m|µm|g|kg|°C|K|h|min|s|ms|%|N·m|C|MB|mV/day|mV/month|EUR"
)
_NUMBER = r"(?<![\w.,])\d+\.\d+(?![\w.]*\d)"
_WITH_UNIT = re.compile(rf"“[^”]*”|{_NUMBER}(?=[ \u00a0\u2009\u202f]?(?:{_UNITS})(?![\w²]))|(?<=such as ){_NUMBER}")
_ANY = re.compile(rf"“[^”]*”|{_NUMBER}")


@contextmanager
def writing(locale: str) -> Iterator[None]:
    """Write numbers in a locale for as long as this lasts, wherever none is named, such as a voltage [V].

    References
    ----------
    Common practice, no source; marks by Unicode CLDR.
    """
    token = _LOCALE.set(locale)
    try:
        yield
    finally:
        _LOCALE.reset(token)


def locale_of_now() -> str:
    """Return the locale in which numbers are written just now, such as a voltage [V].

    References
    ----------
    Common practice, no source; marks by Unicode CLDR.
    """
    return _LOCALE.get()


def decimal_mark() -> str:
    """Return the decimal mark of just now, such as "," for ``de``, of a voltage [V] as of any number.

    References
    ----------
    Common practice, no source; marks by Unicode CLDR.
    """
    return str(Locale.parse(_LOCALE.get().replace("-", "_")).number_symbols["latn"]["decimal"])


def in_marks(sentence: str, *, every: bool = False) -> str:
    """Return a sentence of ours with the decimal mark of just now in its numbers that have a unit, such as [V].

    What stands in quotation marks was typed and stays. ``every`` takes numbers without a unit, too: not for sentences
    that may name a clause of a standard or a cell position.

    References
    ----------
    Common practice, no source; marks by Unicode CLDR.

    Examples
    --------
    >>> with writing("de"):
    ...     in_marks("“3.7 V” is above 3.62 V, the limit at position 3.2.")
    '“3.7 V” is above 3,62 V, the limit at position 3.2.'
    """
    mark = decimal_mark()
    if mark == ".":
        return sentence
    kept = _ANY if every else _WITH_UNIT
    return kept.sub(lambda found: found[0] if found[0].startswith("“") else found[0].replace(".", mark), sentence)
