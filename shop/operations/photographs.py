"""Photographs of a job: what was seen, at which stage of the work, for whoever has to know it later."""

from datetime import datetime

from django.db import transaction

from packs.errors import ImpossibleValue
from packs.terms import Stage
from shop.bridge import pictures
from shop.bridge.pictures import Picture
from shop.errors import ShopError
from shop.models import Job, Photograph, PhotographWithdrawal, User

from . import files, log
from .base import EVERYONE, LEADS, lock_job, moment, save, verb

LARGEST = 32 * 1024**2
"""More than a telephone writes for one photograph; common practice, no source."""

MOST_OF_A_JOB = 200


def look_at(content: bytes) -> Picture:
    """Make the picture that is kept out of what came; nothing is kept yet, and no other bench has to wait."""
    if len(content) > LARGEST:
        raise ShopError("too_large", f"Photographs of up to {LARGEST // 1024**2} MB come in here.", field="photographs")
    try:
        return pictures.develop(content)
    except ImpossibleValue as error:
        raise ShopError("no_photograph", str(error), field="photographs") from error


def known_already(job: Job, picture: Picture) -> Photograph | None:
    """Return the photograph of the job that shows just this picture, if there is one."""
    return job.photographs.standing().filter(sha256=picture.sha256).first()


@verb(*EVERYONE)
def keep_photograph(
    *,
    job: Job,
    picture: Picture,
    shows: str,
    by: User,
    stage: Stage | None = None,
    version: int | None = None,
    now: datetime | None = None,
) -> Photograph:
    """A photograph says what it shows and at which stage of the work; of what the camera knew only the picture is kept."""
    at = moment(now)
    job = lock_job(job, version)
    if not shows.strip():
        raise ShopError("shows_missing", "Say what the photograph shows.", field="shows")
    if known := known_already(job, picture):
        words = f"This photograph is kept already: {known.shows}."
        raise ShopError("known_already", words, field="photographs", photograph=known.pk)
    if job.photographs.count() >= MOST_OF_A_JOB:
        words = f"A job keeps up to {MOST_OF_A_JOB} photographs."
        raise ShopError("too_many", words, field="photographs")
    taken_at = stage or Stage(job.stage)
    if taken_at not in reached(job):
        raise ShopError("not_reached", "The job has not come to that stage.", field="stage")
    files.put(files.path_of(files.Folder.PHOTOGRAPHS, picture.sha256, "jpg"), picture.content)
    kept = save(
        Photograph(
            job=job,
            stage=taken_at.value,
            shows=shows.strip(),
            sha256=picture.sha256,
            size=len(picture.content),
            width=picture.width,
            height=picture.height,
            at=at,
            by=by,
        )
    )
    log.record("photograph kept", by=by, at=at, job=job, stage=kept.stage, shows=kept.shows, sha256=kept.sha256)
    return kept


@verb(*LEADS)
def withdraw_photograph(
    *,
    job: Job,
    photograph: Photograph,
    reason: str,
    by: User,
    version: int | None = None,
    now: datetime | None = None,
) -> PhotographWithdrawal:
    """A photograph that does not belong here is not shown any more; its bytes go, the book keeps that it was there."""
    at = moment(now)
    job = lock_job(job, version)
    if not reason.strip():
        raise ShopError("reason_missing", "Say why the photograph is withdrawn.", field="reason")
    if photograph.job_id != job.pk or PhotographWithdrawal.objects.filter(photograph=photograph).exists():
        raise ShopError("withdrawn_already", "This photograph of the job is not shown any more.")
    row = save(PhotographWithdrawal(photograph=photograph, reason=reason.strip(), at=at, by=by))
    if not Photograph.objects.standing().filter(sha256=photograph.sha256).exists():
        gone = files.path_of(files.Folder.PHOTOGRAPHS, photograph.sha256, "jpg")
        transaction.on_commit(lambda: gone.unlink(missing_ok=True))
    log.record("photograph withdrawn", by=by, at=at, job=job, shows=photograph.shows, reason=row.reason)
    return row


def reached(job: Job) -> tuple[Stage, ...]:
    """Return the stages that a job has come to, the present one last."""
    return job.route[: job.route.index(Stage(job.stage)) + 1]


def content_of(photograph: Photograph) -> bytes:
    """Return the bytes of a photograph as they are kept."""
    return files.read(
        files.path_of(files.Folder.PHOTOGRAPHS, photograph.sha256, "jpg"), photograph.sha256, name="this photograph"
    )
