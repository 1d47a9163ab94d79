"""What a fault is looked for with: the pack as the meter meets it, and readings between two probe points."""

from django.conf import settings
from django.db import models

from packs.terms import BoardSwitch, Chemistry, Circumstance, GroupsReadAs

from .base import AppendOnly, one_of, term_field
from .jobs import Job
from .readings import Instrument


class FaultSearch(models.Model):
    """The pack of a job as far as it is known before anything is measured; what is empty has a default.

    ``search`` counts the searches: after something was repaired another one begins, ``repaired`` says what it was.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="fault_search")
    series = models.PositiveSmallIntegerField("groups in series")
    chemistry = term_field(Chemistry)
    group_resistance_uohm = models.PositiveIntegerField("DC resistance of a sound group", null=True, blank=True)
    load_ma = models.PositiveIntegerField("stated load", null=True, blank=True)
    wake_voltage_mv = models.PositiveIntegerField("wake voltage of the board", null=True, blank=True)
    switch = term_field(BoardSwitch, default=BoardSwitch.UNKNOWN.value)
    sensor_ohm = models.DecimalField("sensor at the bench", max_digits=12, decimal_places=3, null=True, blank=True)
    outlet_voltage_mv = models.PositiveIntegerField("voltage of a regulated outlet", null=True, blank=True)
    temperature_mdegc = models.IntegerField("temperature of the cells", null=True, blank=True)
    tap_plug = models.BooleanField("groups on a plug", default=False)
    examined_as = term_field(GroupsReadAs, default=GroupsReadAs.UNUSED.value)
    search = models.PositiveSmallIntegerField("number of the search", default=1)
    repaired = models.CharField("what was repaired before it", max_length=200, blank=True)
    stated_at = models.DateTimeField()
    stated_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(series__gte=1), name="fault_search_has_groups"),
            one_of("chemistry", Chemistry, "fault_search_chemistry_known"),
            one_of("switch", BoardSwitch, "fault_search_switch_known"),
            one_of("examined_as", GroupsReadAs, "fault_search_read_as_known"),
        ]

    def __str__(self) -> str:
        return f"{self.job.code} fault search {self.series}s"


class ProbeReadingQuerySet(models.QuerySet["ProbeReading"]):
    """The words in which they are asked for."""

    def standing(self) -> "ProbeReadingQuerySet":
        """Readings of the last search that were not taken back, in the order they were taken."""
        last = models.F("job__fault_search__search")
        return self.filter(taken_back=False, corrected_by__isnull=True, search=last)

    def of_earlier_searches(self) -> "ProbeReadingQuerySet":
        """Readings from before something was repaired: they stay in the book and say nothing of the pack any more."""
        return self.filter(
            taken_back=False, corrected_by__isnull=True, search__lt=models.F("job__fault_search__search")
        )


class ProbeReading(AppendOnly):
    """What a meter showed between two points of a pack. A wrong one is taken back by a new row that names it."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="probes")
    low_point = models.CharField("negative probe", max_length=40)
    high_point = models.CharField("positive probe", max_length=40)
    search = models.PositiveSmallIntegerField("number of the search", default=1)
    circumstance = term_field(Circumstance)
    value_mv = models.DecimalField(max_digits=14, decimal_places=3, null=True, blank=True)
    value_ohm = models.DecimalField(max_digits=14, decimal_places=3, null=True, blank=True)
    unsteady = models.BooleanField(default=False)
    taken_back = models.BooleanField(default=False)
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="probes")
    measured_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.CharField(max_length=200, blank=True)

    objects = ProbeReadingQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        verbose_name = "probe reading"
        constraints = [
            one_of("circumstance", Circumstance, "probe_circumstance_known"),
            models.CheckConstraint(
                condition=models.Q(value_mv__isnull=False, value_ohm__isnull=True, unsteady=False, taken_back=False)
                | models.Q(value_mv__isnull=True, value_ohm__isnull=False, unsteady=False, taken_back=False)
                | models.Q(value_mv__isnull=True, value_ohm__isnull=True, unsteady=True, taken_back=False)
                | models.Q(value_mv__isnull=True, value_ohm__isnull=True, unsteady=False, taken_back=True),
                name="probe_shows_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(taken_back=False, corrects__isnull=True)
                | (models.Q(taken_back=True, corrects__isnull=False) & ~models.Q(reason="")),
                name="probe_taken_back_has_reason",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.low_point} to {self.high_point}"
