"""The hash of a paper's content and its short code."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packs.documents import check_code, content_hash, hash_begins
from packs.errors import ImpossibleValue


def test_the_hash_is_that_of_canonical_json() -> None:
    """Written out by hand: sorted keys, no spaces, UTF-8. FIPS 180-4 by the standard library."""
    text = '{"a":"Grün","b":[1,null,true]}'
    assert content_hash({"b": [1, None, True], "a": "Grün"}) == hashlib.sha256(text.encode()).hexdigest()


def test_a_changed_character_changes_hash_and_code() -> None:
    one, other = ({"customer": name} for name in ("Ida Moor", "Ida Moon"))
    assert content_hash(one) != content_hash(other)
    assert check_code(content_hash(one)) != check_code(content_hash(other))


def test_five_bits_to_a_sign() -> None:
    """0x08421 08421 08421 is 00001 repeated twelve times; the signs are Crockford's base 32, from memory."""
    assert check_code("084210842108421" + "0" * 49) == "1111-1111-1111"
    assert check_code("f83e0f83e0f83e0" + "0" * 49) == "Z0Z0-Z0Z0-Z0Z0"


@given(st.binary(min_size=32, max_size=32))
def test_the_code_leads_back_to_how_the_hash_begins(digest: bytes) -> None:
    assert digest.hex().startswith(hash_begins(check_code(digest.hex())))


@pytest.mark.parametrize("typed", ["1O0o ilL1 zzzz", "1000-1111-ZZZZ", " 100011-11 zz.zz "])
def test_what_is_misread_is_taken_as_what_was_meant(typed: str) -> None:
    assert hash_begins(typed) == hash_begins("1000-1111-ZZZZ")


@pytest.mark.parametrize(
    "typed", ["", "1000-1111-ZZZ", "1000-1111-ZZZZZ", "1000-1111-ZZZU", "TR0001", "１０００-1111-ZZZZ"]
)
def test_what_is_no_code_is_refused(typed: str) -> None:
    with pytest.raises(ImpossibleValue, match="12 signs"):
        hash_begins(typed)
