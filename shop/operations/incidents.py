"""Incidents: written down at once by anybody, released in writing by a lead; and the shop's own emergency text."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType

from packs.terms import DangerLevel, DangerSign, Role
from shop.bridge import machines
from shop.errors import ShopError
from shop.models import Cell, EmergencyText, Incident, IncidentKind, IncidentRelease, Job, User, machine_key

from . import danger_at_work, intake, log
from .base import EVERYONE, LEADS, lock_job, moment, save, verb

LEAST_SAID, LEAST_WORDS = 10, 2
"""Letters and words that findings have at least; our own, no source."""

SIGN_OF: Mapping[str, DangerSign] = MappingProxyType(
    {
        IncidentKind.HEAT: DangerSign.HOT,
        IncidentKind.VENTING: DangerSign.SMOKE,
        IncidentKind.FIRE: DangerSign.SMOKE,
        IncidentKind.PIERCED: DangerSign.LEAK,
    }
)
"""The danger sign that an incident with a pack comes to; somebody's first aid is none."""


@verb(*EVERYONE)
def report_incident(
    *,
    kind: IncidentKind,
    happened: str,
    by: User,
    job: Job | None = None,
    people: str = "",
    moved: str = "",
    welder: str = "",
    charger: str = "",
    happened_at: datetime | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Incident:
    """Heat, venting, fire, a pierced can or first aid is written down; pack, welder and charger are used no further."""
    at = moment(now)
    if job is not None:
        job = lock_job(job, version, closed_too=True, frozen_too=True)  # it may happen at the customer's
    if not happened.strip():
        raise ShopError("reason_missing", "Write down what happened.", field="happened")
    if happened_at is not None and happened_at > at:
        raise ShopError("future_date", "This moment lies ahead.", field="happened_at")
    return write(
        kind, happened, job=job, people=people, moved=moved, welder=welder, charger=charger,
        happened_at=happened_at or at, by=by, at=at,
    )  # fmt: skip


def write(
    kind: IncidentKind, happened: str, *, job: Job | None, happened_at: datetime, by: User, at: datetime, **more: str
) -> Incident:
    """Write an incident down, as part of an operation."""
    told = {name: text.strip() for name, text in more.items()}
    row = save(
        Incident(job=job, kind=kind.value, happened=happened.strip(), happened_at=happened_at, by=by, at=at, **told)
    )
    log.record("incident", by=by, at=at, job=job, kind=kind.value, happened=row.happened, incident=row.pk)
    return row


@verb(*LEADS)
def release_incident(
    *, incident: Incident, findings: str, by: User, danger: DangerLevel | None = None, now: datetime | None = None
) -> IncidentRelease:
    """Work goes on after an incident once a lead looked, and wrote down what was found.

    After heat, venting, fire or a pierced can the lead decides on the pack too: amber keeps the findings with the job,
    red takes it outside.
    """
    at = moment(now)
    row = Incident.objects.select_for_update().get(pk=incident.pk)
    job = None if row.job is None else lock_job(row.job, closed_too=True, frozen_too=True)
    if not findings.strip():
        raise ShopError("findings_missing", "Write down what you found.", field="findings")
    if len(findings.strip()) < LEAST_SAID or len(findings.split()) < LEAST_WORDS:
        message = "Say what you looked at and what you found, in words that somebody else can judge."
        raise ShopError("findings_too_short", message, field="findings")
    if IncidentRelease.objects.filter(incident=row).exists():
        raise ShopError("released_already", "This incident was released before.")
    release = save(IncidentRelease(incident=row, findings=findings.strip(), at=at, by=by))
    said = {"danger": danger.value} if danger else {}
    log.record("incident released", by=by, at=at, job=job, kind=row.kind, findings=release.findings, **said)
    if job is not None and asks_for_danger(row, job):
        _decide(job, IncidentKind(row.kind), danger, release)
    return release


def asks_for_danger(incident: Incident, job: Job | None) -> bool:
    """Whether the release of an incident says what becomes of a pack: one that is here, and not outside already."""
    if job is None or job.closed_at is not None or incident.kind not in SIGN_OF or job.danger_level == DangerLevel.RED:
        return False
    return intake.stands_whole(job) or danger_at_work.whole(job) is not None


def _decide(job: Job, kind: IncidentKind, danger: DangerLevel | None, release: IncidentRelease) -> None:
    """Keep the lead's findings with an amber job; take a red one outside."""
    if danger is DangerLevel.RED:
        intake.to_disposal(job, [SIGN_OF[kind]], by=release.by, at=release.at)
        return
    if danger is not DangerLevel.AMBER:
        message = (
            "Say what becomes of the pack: amber, and work goes on with your findings, or red, and it goes outside."
        )
        raise ShopError("danger_missing", message, field="danger")
    if not job.held:  # one that waits for a lead anyhow is let to the bench by its own findings
        job.findings = "\n".join(text for text in (job.findings, release.findings) if text)
        job.danger_level, job.cleared_by, job.cleared_at = danger.value, release.by, release.at
    job.version += 1
    save(job)


@verb(Role.OWNER)
def write_emergency_text(*, text: str, by: User, now: datetime | None = None) -> EmergencyText:
    """The owner writes what everybody does when it burns; what stood there before is kept."""
    at = moment(now)
    if not text.strip():
        raise ShopError("reason_missing", "Write down what is to be done.", field="text")
    row = save(EmergencyText(text=text.strip(), at=at, by=by))
    log.record("emergency text written", by=by, at=at)
    return row


def require_cells_released(cells: Iterable[Cell]) -> None:
    """Refuse to charge, grind or wrap cells of a pack that an incident froze, whoever holds them in the hand."""
    frozen = {incident.job_id: incident for incident in Incident.objects.freezing().filter(job__isnull=False)}
    for cell in cells if frozen else ():
        if cell.job_id in frozen:
            raise ShopError(
                "frozen",
                f"Nothing goes on with cell {cell.code} of job {cell.job}: {frozen[cell.job_id]}. "
                "A lead releases it in writing first.",
                field="cells",
            )


def require_charger(charger: str, *, by: User, field: str) -> None:
    """Refuse a charger that an incident named; while one is frozen, a charger without a name might be that one."""
    frozen = sorted(set(Incident.objects.freezing().exclude(charger="").values_list("charger", flat=True)))
    if frozen and not charger.strip():
        raise ShopError(
            "charger_unnamed",
            f"Say which charger: {', '.join(frozen)} is not used until a lead releases it.",
            field=field,
        )
    require_released(charger, "charger", by=by, field=field)


def require_released(machine: str, of: str, *, by: User, field: str) -> None:
    """Refuse a welder or charger that an incident named, however it is spelled, until a lead released it.

    While one is frozen, a name that the book did not have before might be the same machine under another name: only a
    lead brings one in.
    """
    frozen = list(Incident.objects.freezing().exclude(**{of: ""}))
    if not machine.strip() or not frozen:
        return
    if (named := Incident.objects.naming(machine, of)) is not None:
        raise ShopError(
            "machine_frozen",
            f"{machine.strip()} is not used: {named}. A lead releases it in writing first.",
            field=field,
        )
    known = {machine_key(name) for name in machines.names(of)}
    if machine_key(machine) not in known and not by.holds(*LEADS):
        names = ", ".join(sorted({getattr(one, of) for one in frozen}))
        raise ShopError(
            "machine_unknown",
            f"The book does not know a {of} {machine.strip()}, and {names} is not used until a lead releases it. If it is "
            "another machine, a lead writes this down.",
            field=field,
        )
