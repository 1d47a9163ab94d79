"""The section of strip or bar as it is typed: "0.15 x 8 mm"."""

import re
from typing import NamedTuple

from packs.errors import ParseError
from packs.units.kinds import Kind
from packs.units.registry import Quantity
from packs.units.typed import LONGEST_TEXT, NumberFormat, parse

EXPECTED = "thickness and width such as 0.15 x 8 mm"

_TIMES = re.compile(r"\s*[xX×*]\s*")
_UNIT = re.compile(r"[^0-9.,'/\s−-].*$")


class TypedSection(NamedTuple):
    """Thickness and width of a strip or bar [length]; the smaller of the two is the thickness."""

    thickness: Quantity
    width: Quantity


def parse_section(text: str, *, default_unit: str | None = None, numbers: NumberFormat | None = None) -> TypedSection:
    """Read the section of a strip or bar, its two measures in either order.

    Parameters
    ----------
    text : str
        "0.15 x 8 mm", "8mm × 0,15mm", "1/8 x 1 in". A unit at the end counts for both.
    default_unit : str, optional
        Spelling of the unit that bare numbers get; without it they are refused.
    numbers : NumberFormat, optional
        As ``parse``.

    Returns
    -------
    TypedSection
        Thickness and width in the unit that was typed [length].

    Raises
    ------
    ParseError
        The text is not two lengths above zero with a cross between them.

    References
    ----------
    Common practice, no source: strip is named by thickness and width, and is never thicker than wide.

    Examples
    --------
    >>> print(*parse_section("8 x 0.15 mm"), sep=", ")
    0.15 millimeter, 8.0 millimeter
    """
    parts = _TIMES.split(text.strip())
    if len(parts) != 2 or len(text) > LONGEST_TEXT:
        raise ParseError(f"“{text.strip()[:LONGEST_TEXT]}” is not the section of a strip; expected {EXPECTED}.")
    unit = _UNIT.search(parts[1])
    first = parts[0] if unit is None or _UNIT.search(parts[0]) else f"{parts[0]} {unit[0]}"
    try:
        measures = [parse(part, Kind.LENGTH, default_unit=default_unit, numbers=numbers) for part in (first, parts[1])]
    except ParseError as refusal:
        raise ParseError(f"{refusal} A section is its {EXPECTED}.") from refusal
    thickness, width = sorted(measures)
    if not thickness.magnitude > 0:
        raise ParseError(f"A strip has a thickness and a width above zero; expected {EXPECTED}.")
    return TypedSection(thickness, width)
