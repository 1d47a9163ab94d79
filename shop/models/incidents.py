"""Incidents: what went wrong so that somebody could have been hurt, the release after it, and what to do when it happens."""

import re
import unicodedata

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.formats import date_format

from packs.terms import Term

from .base import AppendOnly, one_of, term_field
from .jobs import Job


def machine_key(name: str) -> str:
    """Return what two spellings of one machine have in common: its letters and numbers, whatever stands between them.

    Numbers stay apart, so that 1-1 is not 11.
    """
    folded = unicodedata.normalize("NFKC", name).casefold()
    apart = re.sub(r"(?<=\d)[\W_]+(?=\d)", "-", folded)
    return re.sub(r"[^\w-]|_|(?<!\d)-|-(?!\d)", "", apart) or folded.strip()


class IncidentKind(Term):
    """What happened."""

    HEAT = "heat", "heat"
    VENTING = "venting", "gas or smoke came out"
    FIRE = "fire", "fire"
    PIERCED = "pierced", "a can was pierced"
    FIRST_AID = "first_aid", "somebody needed first aid"


class IncidentQuerySet(models.QuerySet["Incident"]):
    """The words in which incidents are asked for."""

    def freezing(self) -> "IncidentQuerySet":
        """Incidents that no lead released yet."""
        return self.filter(release__isnull=True)

    def naming(self, machine: str, of: str) -> "Incident | None":
        """The incident that freezes a welder or charger, however somebody spells it; None where none does."""
        key = machine_key(machine)
        named = self.freezing().exclude(**{of: ""}) if key else []
        return next((one for one in named if machine_key(getattr(one, of)) == key), None)


class Incident(AppendOnly):
    """What happened, when, who was there, what was moved where. It freezes the job, the welder and the charger it names."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="incidents")
    kind = term_field(IncidentKind)
    happened = models.CharField("what happened", max_length=1000)
    people = models.CharField("who was there", max_length=200, blank=True)
    moved = models.CharField("what was moved, and where", max_length=400, blank=True)
    welder = models.CharField(max_length=60, blank=True)
    charger = models.CharField(max_length=60, blank=True)
    happened_at = models.DateTimeField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = IncidentQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        verbose_name = "incident"
        constraints = [
            one_of("kind", IncidentKind, "incident_kind_known"),
            models.CheckConstraint(condition=~models.Q(happened=""), name="incident_says_what_happened"),
        ]

    @property
    def when(self) -> str:
        """When it happened, by the clock of the shop and as its pages write it."""
        return date_format(timezone.localtime(self.happened_at), "j M Y, H:i")

    def __str__(self) -> str:
        return f"{IncidentKind(self.kind).label}, {self.when}"


class IncidentRelease(AppendOnly):
    """A lead looked, and says in writing that work goes on."""

    incident = models.OneToOneField(Incident, on_delete=models.PROTECT, related_name="release")
    findings = models.CharField(max_length=1000)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        verbose_name = "releases after incidents"
        constraints = [models.CheckConstraint(condition=~models.Q(findings=""), name="release_has_findings")]

    def __str__(self) -> str:
        return f"{self.incident}: released by {self.by}"


class EmergencyText(AppendOnly):
    """What the owner wrote that everybody does when it burns; the newest counts."""

    text = models.TextField(max_length=4000)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-pk"]
        verbose_name = "emergency text"

    def __str__(self) -> str:
        return f"emergency text of {self.at:%Y-%m-%d}"
