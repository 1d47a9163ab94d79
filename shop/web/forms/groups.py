"""Groups of a pack as they are typed: numbers from the negative end."""

import re
from typing import Any

from django import forms

from .readings import due

_BETWEEN = re.compile(r"[\s,;]+|\band\b")


class GroupsField(forms.CharField):
    """Numbers of groups, such as 2 or 2, 3; whether the pack has them is for the operation to say."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Groups that are replaced")
        kwargs.setdefault("help_text", "by number from the negative end, such as 2 or 2, 3")
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false", "size": 12}))
        super().__init__(required=False, **kwargs)
        due(self)

    def clean(self, value: Any) -> list[int]:
        """Return the numbers as they were typed, in their order."""
        parts = [part for part in _BETWEEN.split(super().clean(value)) if part]
        if strange := [part for part in parts if not (part.isascii() and part.isdigit()) or len(part) > 4]:
            raise forms.ValidationError(f"“{strange[0]}” is not the number of a group; expected such as 2 or 2, 3.")
        return [int(part) for part in parts]


def typed(numbers: list[int]) -> str:
    """Return numbers of groups as somebody would type them."""
    return ", ".join(map(str, numbers))
