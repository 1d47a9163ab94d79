"""The label of a waste container: what is in it, since when, until when."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from packs.documents.heading import Heading


@dataclass(frozen=True)
class ContainerLabel:
    """The label of one waste container on the day it was printed.

    ``names`` are UN numbers with their names, ``marks`` the words that the rules ask for on the package in letters of a given height,
    ``further_marks`` those without one, ``legend`` those
    they ask for while it stands. ``leave_by`` is None where the place names no day; ``gross_mass_mg`` [mg] is None until it
    was weighed.
    """

    heading: Heading
    place: str
    takes: str
    battery: bool
    began: date
    leave_by: date | None
    things: int
    names: tuple[str, ...]
    marks: tuple[str, ...]
    waste_codes: tuple[str, ...]
    legend: str
    legend_words: str
    gross_mass_mg: Decimal | None
    never_by_air: str
    defers: str
    further_marks: tuple[str, ...] = ()
