"""Groups of a pack as they are typed: numbers from the negative end."""

import re
from typing import Any

from django import forms

from .readings import due

_BETWEEN = re.compile(r"[\s,;]+|\band\b")
_RANGE = re.compile(r"(?<!\S)([0-9]{1,4})\s*(?:-|\u2013|\bto\b)\s*([0-9]{1,4})(?![0-9])", re.ASCII)
MOST_OF_A_RANGE = 100


def _each(first: int, last: int) -> str:
    """The numbers of a range with blanks between; nothing where it runs backwards or is none that a pack has."""
    return " ".join(map(str, range(first, last + 1))) if first < last < first + MOST_OF_A_RANGE else ""


class GroupsField(forms.CharField):
    """Numbers of groups, such as 2 or 2, 3; whether the pack has them is for the operation to say."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Groups that are replaced")
        kwargs.setdefault("help_text", "by number from the negative end, such as 2, or 2, 3, or 2-4")
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "size": 12}))
        super().__init__(required=False, **kwargs)
        due(self)

    def clean(self, value: Any) -> list[int]:
        """Return the numbers as they were typed, in their order."""
        text = _RANGE.sub(lambda found: _each(int(found[1]), int(found[2])) or found[0], super().clean(value))
        parts = [part for part in _BETWEEN.split(text) if part]
        if strange := [part for part in parts if not (part.isascii() and part.isdigit()) or len(part) > 4]:
            raise forms.ValidationError(
                f"“{strange[0]}” is not the number of a group; expected such as 2, or 2, 3, or 2-4."
            )
        return [int(part) for part in parts]


def typed(numbers: list[int]) -> str:
    """Return numbers of groups as somebody would type them."""
    return ", ".join(map(str, numbers))
