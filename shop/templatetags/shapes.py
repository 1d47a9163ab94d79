"""The shapes that stand beside a state's word: told apart by outline alone, in a 16 by 16 square."""

from collections.abc import Mapping
from types import MappingProxyType

_DISC = "M8 0a8 8 0 1 0 0 16A8 8 0 0 0 8 0z"
_TICK = "M6.9 12.2 2.9 8.2l1.6-1.6 2.4 2.4 4.7-4.9 1.6 1.6z"
_OCTAGON = "M4.7 0h6.6L16 4.7v6.6L11.3 16H4.7L0 11.3V4.7z"
_TRIANGLE = "M8 .6 16 15.2H0z"
_QUESTION = "M5.8 6.1a2.2 2.2 0 1 1 3.4 1.8C8.4 8.4 8 8.9 8 9.7"


def _solid(*outlines: str) -> str:
    return f'<path fill="currentColor" fill-rule="evenodd" d="{" ".join(outlines)}"/>'


def _line(path: str, width: float = 1.6) -> str:
    return f'<path fill="none" stroke="currentColor" stroke-width="{width}" d="{path}"/>'


def _ring(radius: float, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<circle cx="8" cy="8" r="{radius}" fill="none" stroke="currentColor" stroke-width="{width}"{dashed}/>'


_DONE = _solid(_DISC, _TICK)

SHAPES: Mapping[str, str] = MappingProxyType(
    {
        "pass": _DONE,
        "done": _DONE,
        "now": _ring(6.9, 2.2) + '<circle cx="8" cy="8" r="3.4" fill="currentColor"/>',
        "ahead": _ring(6.9, 1.6),
        "fail": _solid(_OCTAGON, "M3.4 6.6h9.2v2.8H3.4z"),
        "warn": _solid(_TRIANGLE, "M7 5.4h2v5H7z", "M7 11.6h2v2H7z"),
        "unknown": _ring(7, 1.6, "2.6 1.8") + _line(_QUESTION) + '<circle cx="8" cy="12" r="1.1" fill="currentColor"/>',
        "note": _line("M8 1.2 14.8 8 8 14.8 1.2 8z", 1.8),
        "wait": _solid("M3 1h3.4v14H3z", "M9.6 1H13v14H9.6z"),
        "none": _solid("M2 7h12v2H2z"),
    }
)
