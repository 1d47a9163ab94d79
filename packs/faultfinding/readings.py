"""Readings: two probe points, a circumstance, and what the meter showed."""

from dataclasses import dataclass

from packs.errors import ImpossibleValue
from packs.terms import Circumstance, Term
from packs.units import Quantity

__all__ = ["Circumstance", "Place", "Point", "Reading"]


class Place(Term):
    """Where a probe is held."""

    BOARD_INPUT = "board_input", "board input"
    GROUP = "group", "group"
    BOARD_OUTPUT = "board_output", "board output"
    OUTLET = "outlet", "outlet"
    SENSOR = "sensor", "sensor contacts"


@dataclass(frozen=True, order=True)
class Point:
    """One probe point; a group's own terminals carry its number."""

    place: Place
    positive: bool
    number: int = 0

    def node(self, series: int) -> int | None:
        """Place along the stack: 0 at the board's negative input, group n between 2n − 1 and 2n; None beyond it."""
        if self.place is Place.BOARD_INPUT:
            return 2 * series + 1 if self.positive else 0
        if self.place is Place.GROUP:
            return 2 * self.number if self.positive else 2 * self.number - 1
        return None

    def __str__(self) -> str:
        number = f" {self.number}" if self.number else ""
        return f"{self.place.label}{number} {'+' if self.positive else '−'}"


@dataclass(frozen=True)
class Reading:
    """What a meter showed between two points.

    Attributes
    ----------
    low, high : Point
        Negative and positive probe.
    circumstance : Circumstance
    value : Quantity or None
        [V], at the sensor [Ω]; None where it did not settle, or shows no connection at the sensor.
    """

    low: Point
    high: Point
    circumstance: Circumstance
    value: Quantity | None

    @property
    def unsteady(self) -> bool:
        """Whether the meter did not settle."""
        return self.value is None

    def span(self, series: int) -> tuple[int, int] | None:
        """First and last node of the part of the stack between the probes; None where a probe lies beyond it.

        Raises
        ------
        ImpossibleValue
            The probes do not lie on one part of the pack, from negative to positive.
        """
        nodes = self.low.node(series), self.high.node(series)
        if nodes[0] is None or nodes[1] is None:
            if self.low.place is not self.high.place:
                raise ImpossibleValue("Both probes belong on the same side of the board.")
            return None
        if not 0 <= nodes[0] < nodes[1] <= 2 * series + 1:
            raise ImpossibleValue("The probes lie within the stack, the negative one first.")
        return nodes[0], nodes[1]

    def __str__(self) -> str:
        shown = "unsteady" if self.value is None else f"{self.value:.4g~P}"
        return f"{self.low} to {self.high}, {self.circumstance.label}: {shown}"
