"""What every list of words is made of."""

from enum import StrEnum
from typing import Self


class Term(StrEnum):
    """A word of the trade: its value is what is stored, its label what pages and paper say."""

    label: str

    def __new__(cls, value: str, label: str = "") -> Self:
        member = str.__new__(cls, value)
        member._value_ = value
        member.label = label
        return member
