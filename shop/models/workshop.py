"""The workshop's own settings, kept as a history."""

from django.conf import settings
from django.db import models

from packs.terms import InMobility, Term

from .base import AppendOnly, one_of, term_field


class Jurisdiction(Term):
    """Where the shop stands, as far as rules on waste and transport differ."""

    US = "us", "United States"
    EU = "eu", "European Union"
    UK = "uk", "United Kingdom"
    OTHER = "other", "elsewhere"


class Paper(Term):
    """Paper size of printed documents."""

    A4 = "A4", "A4"
    LETTER = "letter", "Letter"


class WorkshopSettings(AppendOnly):
    """The settings as they stood from ``at`` on; the newest row counts."""

    name = models.CharField(max_length=120)
    address = models.CharField(max_length=200, blank=True)
    emergency_number = models.CharField(max_length=20, default="112")
    jurisdiction = term_field(Jurisdiction)
    currency = models.CharField(max_length=3, default="EUR")
    time_zone = models.CharField(max_length=60, default="UTC")
    paper = term_field(Paper, default=Paper.A4.value)
    number_locale = models.CharField("number format", max_length=12, default="en")
    reclaimed_in_mobility = term_field(
        InMobility, verbose_name="reclaimed cells in powered mobility", default=InMobility.UNKNOWN.value
    )
    other_universal_waste_mg = models.PositiveBigIntegerField("other universal waste on the site", default=0)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "workshop settings"
        constraints = [
            one_of("jurisdiction", Jurisdiction, "settings_place_known"),
            one_of("paper", Paper, "settings_paper_known"),
            one_of("reclaimed_in_mobility", InMobility, "settings_mobility_known"),
        ]

    def __str__(self) -> str:
        return self.name
