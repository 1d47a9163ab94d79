"""The annex of limits: what counts now, on paper. It belongs to no job and is not kept: the next one says what counts then."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from packs.documents import Workshop
from shop.bridge import limits, rules
from shop.models import User

from .heading import local, settings, workshop


@dataclass(frozen=True)
class LimitsAnnex:
    """Every limit as it counts at a moment, with who printed it."""

    workshop: Workshop
    rule_set: str
    printed_at: datetime
    printed_by: str
    sections: Sequence[limits.Section]
    by_chemistry: Sequence[limits.Known]
    outlets: Sequence[limits.Known]


def limits_annex(*, by: User, at: datetime) -> LimitsAnnex:
    """Return the annex as it is now."""
    row, in_force = settings(), rules.in_force()
    return LimitsAnnex(
        workshop=workshop(row),
        rule_set=in_force.version,
        printed_at=local(at, row.time_zone),
        printed_by=str(by),
        sections=limits.sections(row.number_locale, in_force),
        by_chemistry=limits.by_chemistry(row.number_locale),
        outlets=limits.outlets(row.number_locale),
    )
