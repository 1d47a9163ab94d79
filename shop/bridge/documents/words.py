"""Sentences that were stored with their numbers, as a paper prints them."""

import re
from datetime import date

from django.utils.formats import date_format

from packs.units import NumberFormat

_MARK = re.compile(r"(?<=\d)\.(?=\d)")


def day(on: date) -> str:
    """Return a day as papers print it, such as "5 November 2026"."""
    return date_format(on, "j F Y")


def written_for(locale: str, sentence: str, where: str = "") -> str:
    """Return a stored sentence with the decimal mark of the locale, and what it is about in front."""
    mark = NumberFormat.of_locale(locale).decimal or "."
    said = _MARK.sub(mark, sentence)
    return f"{where}: {said}" if where else said
