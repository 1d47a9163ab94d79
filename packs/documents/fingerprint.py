"""What a paper is known by: the hash of its content, and the short code of it that a person can read out."""

import hashlib
import json
import re
from typing import Any

from packs.errors import ImpossibleValue

SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and capitals without I, L, O and U, which are misread as others; common practice, no source."""

MISREAD = str.maketrans("ILO", "110")
LENGTH, IN_ONE_PIECE = 12, 4
_HEX = LENGTH * 5 // 4
_NOT_SAID = re.compile(r"[\s\u2010-\u2015.-]+")


def content_hash(content: dict[str, Any]) -> str:
    """Return the SHA-256 of a paper's content in canonical JSON [hexadecimal digits].

    Sorted keys, no spaces, UTF-8.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> content_hash({"b": 1, "a": 2}) == content_hash({"a": 2, "b": 1})
    True
    """
    canonical = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()


def check_code(sha256: str) -> str:
    """Return the code printed on every page: the first 60 bits of the content's hash, 5 bits to a sign [no unit].

    That two papers of a shop share a code has odds of about 4 in 10^11 with 10,000 papers: n²/2 over 2^60.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> check_code("0" * 64), check_code("f" * 64)
    ('0000-0000-0000', 'ZZZZ-ZZZZ-ZZZZ')
    """
    number = int(sha256[:_HEX], 16)
    signs = "".join(SIGNS[number >> 5 * place & 31] for place in reversed(range(LENGTH)))
    return "-".join(signs[at : at + IN_ONE_PIECE] for at in range(0, LENGTH, IN_ONE_PIECE))


def hash_begins(typed: str) -> str:
    """Return how the hash begins of the paper whose code somebody typed [hexadecimal digits].

    Raises
    ------
    ImpossibleValue
        What was typed is no such code.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> hash_begins("zzzz zzzz-zzzz")
    'fffffffffffffff'
    """
    signs = _NOT_SAID.sub("", typed).upper().translate(MISREAD)
    if len(signs) != LENGTH or not set(signs) <= set(SIGNS):
        raise ImpossibleValue(f"A code has {LENGTH} signs, such as 7K3Q-9FJX-2M4T: digits and letters without U.")
    number = 0
    for sign in signs:
        number = number << 5 | SIGNS.index(sign)
    return f"{number:0{_HEX}x}"
