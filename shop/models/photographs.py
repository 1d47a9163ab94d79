"""Photographs of a job."""

from django.conf import settings
from django.db import models

from packs.terms import Stage

from .base import AppendOnly, one_of, term_field
from .jobs import Job


class PhotographQuerySet(models.QuerySet["Photograph"]):
    """The words in which photographs are asked for."""

    def standing(self) -> "PhotographQuerySet":
        """Photographs that were not taken out of sight, in the order in which they came."""
        return self.filter(withdrawal__isnull=True)


class Photograph(AppendOnly):
    """One photograph of a job: what it shows, and at which stage of the work. Its bytes lie in the data folder.

    They lie under their SHA-256, as they were made out of what came: upright, smaller, without anything beside the
    picture. The name of the file that came is not kept, since it may name a person or a place.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="photographs")
    stage = term_field(Stage)
    shows = models.CharField("what it shows", max_length=160)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = PhotographQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        verbose_name = "photograph"
        constraints = [
            one_of("stage", Stage, "photograph_stage_known"),
            models.CheckConstraint(condition=~models.Q(shows=""), name="photograph_shows_something"),
            models.CheckConstraint(
                condition=models.Q(size__gt=0, width__gt=0, height__gt=0), name="photograph_has_size"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.job.code}: {self.shows}"


class PhotographWithdrawal(AppendOnly):
    """A photograph that is not shown any more, and why: of another pack, or with somebody in it who did not agree."""

    photograph = models.OneToOneField(Photograph, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.CharField(max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "withdrawal of a photograph"
        constraints = [models.CheckConstraint(condition=~models.Q(reason=""), name="photograph_withdrawn_for_reason")]

    def __str__(self) -> str:
        return f"{self.photograph}: {self.reason}"
