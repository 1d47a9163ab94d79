"""Groups of a pack as they are typed."""

import pytest
from django import forms

from shop.web.forms.groups import GroupsField


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("2", [2]),
        ("2, 3", [2, 3]),
        ("2-4", [2, 3, 4]),
        ("1, 3 \N{EN DASH} 5 and 9", [1, 3, 4, 5, 9]),
        ("2 to 4", [2, 3, 4]),
        ("", []),
    ],
)
def test_numbers_and_ranges(text: str, numbers: list[int]) -> None:
    assert GroupsField().clean(text) == numbers


@pytest.mark.parametrize("text", ["4-2", "2-", "-3", "1-9999", "2-4-6", "two"])
def test_what_is_none_is_refused(text: str) -> None:
    with pytest.raises(forms.ValidationError, match="is not the number of a group"):
        GroupsField().clean(text)
