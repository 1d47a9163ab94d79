"""How capacities were measured, as far as the words beside them tell: only what was measured alike compares."""

import re
from collections import Counter
from collections.abc import Sequence

from packs.terms import Measure
from packs.units import Kind, show, ureg
from shop.models import Reading

NOT_STATED = "nothing stated"
FASTEST = 20.0
"""A number before a C beyond this is no rate of a cell on this bench; common practice, no source."""
_RATE = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?) ?C(?!\w)")
_END = re.compile(r"\bto (\d+(?:[.,]\d+)?) ?V(?!\w)")

Ways = tuple[tuple[str, int], ...]


def way(words: str) -> str:
    """Return rate and end of a discharge as its words tell them, rounded to what makes a difference."""
    rate, end = _number(_RATE, words), _number(_END, words)
    said = []
    if rate is not None and 0 < rate <= FASTEST:
        said.append(f"at {show(ureg.Quantity(float(f'{rate:.1g}'), '1/hour'), Kind.C_RATE, digits=1)}")
    if end is not None:
        said.append(f"down to {show(ureg.Quantity(end, 'V'), digits=1)}")
    return " ".join(said) or NOT_STATED


def ways(codes: Sequence[str]) -> Ways:
    """Return in which ways the capacities of cells were measured, and of how many each; the commonest first."""
    rows = Reading.objects.still_telling().filter(cell__code__in=codes, measure=Measure.CAPACITY.value)
    newest = {
        code: f"{method}, {more}" for code, method, more in rows.values_list("cell__code", "method", "conditions")
    }
    return tuple(Counter(way(words) for words in newest.values()).most_common())


def _number(pattern: re.Pattern[str], words: str) -> float | None:
    found = pattern.search(words)
    return float(found[1].replace(",", ".")) if found else None
