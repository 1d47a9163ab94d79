"""How long a search may go on: a budget of iterations, a deadline by a clock handed in, or both."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from packs.errors import ImpossibleValue

DEFAULT_ITERATIONS = 120

Clock = Callable[[], float]


@dataclass(frozen=True)
class Budget:
    """Iterations per phase of the search, and the moment by `clock` [s] at which it ends; no clock, no deadline."""

    iterations: int = DEFAULT_ITERATIONS
    deadline: float | None = None
    clock: Clock | None = None

    def __post_init__(self) -> None:
        if self.iterations < 0:
            raise ImpossibleValue(f"A search cannot take {self.iterations} iterations.")
        if self.deadline is not None and self.clock is None:
            raise ImpossibleValue("A deadline needs a clock.")

    def seconds(self) -> float | None:
        """Seconds left; None without a deadline."""
        if self.deadline is None or self.clock is None:
            return None
        return self.deadline - self.clock()

    def over(self) -> bool:
        """Whether the deadline has passed."""
        left = self.seconds()
        return left is not None and left <= 0
