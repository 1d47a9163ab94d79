"""Which of our own fonts write what a paper says; a sign that none of them has is written as its number."""

import re
from functools import cache

from django.contrib.staticfiles import finders
from fontTools.ttLib import TTFont

FOLDER = "fonts/"
USUAL = ("SourceSans3-Light", "SourceSans3-Regular", "SourceSans3-Semibold")
"""Latin, Greek and Cyrillic, in the weights of a paper: a sign counts where every weight has it."""

MORE = ("NotoSansArabic-Regular", "NotoSansHebrew-Regular", "DroidSansFallbackFull", "PaperHangul-Regular")
# Joiners, marks of direction, variation selectors, the soft hyphen: they draw nothing, whatever font is asked.
_UNSEEN = frozenset(
    (
        *(0x09, 0x0A, 0x0D, 0xAD, 0x34F, 0x61C, 0xFEFF),
        *range(0x200B, 0x2010),
        *range(0x2029, 0x202F),
        *range(0x2060, 0x2070),
        *range(0xFE00, 0xFE10),
        *range(0xE0000, 0xE0200),
    )
)


def usual(text: str) -> bool:
    """Return whether the papers' usual font writes all of a text."""
    return _ordinals(text) <= _usual()


def drawable(text: str) -> str:
    """Return a text whose every sign one of our fonts has: another becomes its number, such as [U+1F600]."""
    missing = _ordinals(text) - _usual() - _more()
    if not missing:
        return text
    return re.sub(f"[{''.join(map(re.escape, map(chr, sorted(missing))))}]", lambda sign: _named(sign[0]), text)


def _named(sign: str) -> str:
    return f"[U+{ord(sign):04X}]"


def _ordinals(text: str) -> set[int]:
    return {ord(sign) for sign in set(text)} - _UNSEEN


@cache
def _usual() -> frozenset[int]:
    return frozenset.intersection(*map(signs_of, USUAL))


@cache
def _more() -> frozenset[int]:
    return frozenset.union(*map(signs_of, MORE))


@cache
def signs_of(font: str) -> frozenset[int]:
    """Return the signs of one of our fonts, by their numbers."""
    with TTFont(str(finders.find(f"{FOLDER}{font}.ttf.woff")), lazy=True) as opened:
        return frozenset(opened.getBestCmap())
