"""Where a shop stands, and sentences that carry their source."""

from dataclasses import dataclass

from packs.sources import Source
from packs.terms import Term


class Jurisdiction(Term):
    """Where the shop stands, as far as rules on waste and transport differ."""

    US = "us", "United States"
    EU = "eu", "European Union"
    UK = "uk", "United Kingdom"
    OTHER = "other", "elsewhere"


EVERYWHERE = frozenset(Jurisdiction)
UN_RULES = EVERYWHERE - {Jurisdiction.US}
"""Places whose carriage rules follow ADR or the UN Model Regulations."""

ADR = frozenset({Jurisdiction.EU, Jurisdiction.UK})


@dataclass(frozen=True)
class Statement:
    """A sentence for paper and what it rests on."""

    text: str
    source: Source

    def __str__(self) -> str:
        return self.text
