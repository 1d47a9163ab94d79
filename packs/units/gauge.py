"""Wire sizes that are named by a number, not measured: the American wire gauge."""

import re

LARGEST_GAUGE, SMALLEST_GAUGE = -3, 40  # 4/0, written 0000, is gauge −3
_THINNEST_MM, _THINNEST, _RATIO, _STEPS = 0.127, 36, 92, 39

_NUMBER = r"(?P<number>[1-9][0-9]?|0{1,4}|[1-4]/0)"
_TYPED = re.compile(rf"(?:AWG ?#?{_NUMBER}|{_NUMBER.replace('number', 'first')} ?(?:AWG|ga))", re.IGNORECASE)


def gauge_of(text: str) -> int | None:
    """Return the number of an American wire gauge as typed, dimensionless: "AWG 14", "14 AWG", "AWG 4/0".

    Returns
    -------
    int or None
        −1, −2 and −3 for 2/0, 3/0 and 4/0; None where the text names no gauge from 4/0 to 40.

    References
    ----------
    ASTM B258: the sizes beyond 0 count down.

    Examples
    --------
    >>> gauge_of("AWG 14"), gauge_of("4/0 AWG"), gauge_of("14 mm")
    (14, -3, None)
    """
    typed = _TYPED.fullmatch(text.strip())
    if typed is None:
        return None
    number = typed["number"] or typed["first"]
    if "/" in number:
        return 1 - int(number[0])
    gauge = 1 - len(number) if number.strip("0") == "" else int(number)
    return gauge if gauge <= SMALLEST_GAUGE else None


def gauge_diameter_mm(gauge: int) -> float:
    """Return the diameter of solid wire of an American wire gauge [mm]: 0.127 mm · 92^((36 − n)/39).

    Parameters
    ----------
    gauge : int
        Number [dimensionless]; −1, −2 and −3 for 2/0, 3/0 and 4/0.

    References
    ----------
    ASTM B258, definition; fixed points 36 AWG = 0.0050 in and 4/0 = 0.4600 in.

    Examples
    --------
    >>> f"{gauge_diameter_mm(36):.4f}", f"{gauge_diameter_mm(-3):.4f}"
    ('0.1270', '11.6840')
    """
    return float(_THINNEST_MM * _RATIO ** ((_THINNEST - gauge) / _STEPS))
