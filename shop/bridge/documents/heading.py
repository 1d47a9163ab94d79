"""The head of every paper."""

from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias
from zoneinfo import ZoneInfo

from packs.documents import Exempted, Heading, Workshop
from packs.terms import DocumentKind
from shop.bridge import exceptions, rules
from shop.errors import ShopError
from shop.models import Consignment, Container, IssuedDocument, Job, User, WorkshopSettings


def settings() -> WorkshopSettings:
    """Return the settings that count now; without them no paper says whose it is."""
    row = WorkshopSettings.objects.last()
    if row is None:
        raise ShopError("no_settings", "Write down the workshop's settings first: papers carry its name.")
    return row


About: TypeAlias = Job | Container | Consignment
"""What a paper is about."""


@dataclass(frozen=True)
class Anew:
    """For which paper one is issued anew, by its number, and why."""

    code: str
    why: str


def heading(
    about: About, kind: DocumentKind, *, number: int, by: User, at: datetime, anew: Anew | None = None
) -> Heading:
    """Return what a paper carries at its head; moments stand in the workshop's own time."""
    row = settings()
    device = about.device if isinstance(about, Job) else None
    return Heading(
        kind=kind,
        code=IssuedDocument(kind=kind.value, number=number).code,
        job_code=about.code,
        device=str(device or _named(about)),
        serial=device.serial if device else "",
        issued_at=local(at, row.time_zone),
        issued_by=str(by),
        rule_set=rules.version(),
        workshop=workshop(row),
        about=type(about).__name__.lower(),
        exceptions=_exceptions(about, row.time_zone) if isinstance(about, Job) else (),
        replaces=anew.code if anew else "",
        replaced_why=anew.why if anew else "",
    )


def _exceptions(job: Job, time_zone: str) -> tuple[Exempted, ...]:
    """Return what was accepted in writing on a job; what was withdrawn did nothing and is not printed."""
    return tuple(
        Exempted(
            stage=exceptions.stage_of(row.rule_id),
            what=rules.asks_about(row.rule_id),
            reason=row.reason,
            by=str(row.by),
            at=local(row.at, time_zone),
        )
        for row in job.exceptions.standing().select_related("by")
    )


def workshop(row: WorkshopSettings) -> Workshop:
    """Return whose a paper is."""
    return Workshop(
        name=row.name,
        address=row.address,
        emergency_number=row.emergency_number,
        paper=row.paper,
        number_locale=row.number_locale,
        time_zone=row.time_zone,
    )


def _named(about: About) -> str:
    if isinstance(about, Container):
        return f"Waste container {about.code}"
    return f"Consignment {about.code}" if isinstance(about, Consignment) else ""


def local(at: datetime, time_zone: str) -> datetime:
    """Return a moment in the workshop's time."""
    return at.astimezone(ZoneInfo(time_zone))
