"""What shop refuses, with a code that stays the same and words for the person at the screen."""

from collections.abc import Sequence
from typing import Any, Protocol


class Stopper(Protocol):
    """A finding that stands in the way."""

    @property
    def message(self) -> str: ...


class ShopError(Exception):
    """A refusal: nothing was changed, ``message`` says why and what to do, ``field`` where it was typed."""

    def __init__(self, code: str, message: str, *, field: str = "", **facts: Any) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.field = field
        self.facts = facts


class Held(ShopError):
    """A hold point does not hold; ``findings`` say which rules."""

    def __init__(self, findings: Sequence[Stopper]) -> None:
        super().__init__("held", " ".join(finding.message for finding in findings))
        self.findings = list(findings)
