"""Jobs, their steps, their log, and the tokens that make a double submit do a thing once."""

from datetime import datetime

from django.conf import settings
from django.db import models

from packs.terms import DISPOSAL, PART_STAYS, DangerLevel, JobKind, Owner, Stage, Term, route, stage_label

from .base import one_of, term_field
from .chained import Chained
from .people import Device


class JobQuerySet(models.QuerySet["Job"]):
    """The words in which jobs are asked for."""

    def open(self) -> "JobQuerySet":
        """Jobs that are not closed yet."""
        return self.filter(closed_at__isnull=True)

    def with_device(self) -> "JobQuerySet":
        """Jobs with device and customer fetched along."""
        return self.select_related("device__customer", "returns")


class Job(models.Model):
    """One pack of one device, from the counter to the hand-over. ``stage`` is what has to be done next.

    ``given_up`` says why a build was given up; ``goes_back_from`` is the stage at which it was decided that the device
    goes back as it came; ``returns`` is the job whose pack came back.
    """

    number = models.PositiveIntegerField(unique=True)
    kind = term_field(JobKind, default=JobKind.REBUILD.value)
    returns = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="returned_as", verbose_name="pack of job"
    )
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="jobs")
    complaint = models.TextField(blank=True)
    stage = term_field(Stage)
    danger_level = term_field(DangerLevel)
    danger_signs = models.JSONField(default=list, blank=True)
    findings = models.TextField("lead's findings", blank=True)
    cleared_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    cleared_at = models.DateTimeField(null=True, blank=True)
    recall_source = models.CharField(max_length=120, blank=True)
    recall_checked_on = models.DateField(null=True, blank=True)
    recall_result = models.CharField(max_length=200, blank=True)
    recalled = models.BooleanField(default=False)
    removed_owner = term_field(Owner)
    given_up = models.TextField("why the build was given up", blank=True)
    goes_back_from = term_field(Stage, blank=True, default="")
    parked_in = models.CharField("where it is parked half-built", max_length=80, blank=True)
    promised_on = models.DateField("promised for", null=True, blank=True)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        constraints = [
            one_of("kind", JobKind, "job_kind_known"),
            one_of("stage", Stage, "job_stage_known"),
            one_of("danger_level", DangerLevel, "job_danger_level_known"),
            one_of("removed_owner", Owner, "job_removed_owner_known"),
            models.CheckConstraint(
                condition=models.Q(cleared_at__isnull=True)
                | (models.Q(cleared_by__isnull=False) & ~models.Q(findings="")),
                name="job_cleared_by_someone_with_findings",
            ),
            models.CheckConstraint(
                condition=~models.Q(danger_level=DangerLevel.RED.value)
                | models.Q(stage__in=[Stage.REMOVED.value, Stage.HAND_OVER.value]),
                name="job_red_goes_to_disposal_only",
            ),
            models.CheckConstraint(
                condition=models.Q(goes_back_from="") | models.Q(stage=Stage.HAND_OVER.value),
                name="job_that_goes_back_is_handed_over",
            ),
            models.CheckConstraint(
                condition=models.Q(kind=JobKind.WARRANTY.value, returns__isnull=False)
                | (~models.Q(kind=JobKind.WARRANTY.value) & models.Q(returns__isnull=True)),
                name="job_warranty_names_its_job",
            ),
        ]

    @property
    def code(self) -> str:
        """The job's number as it is written on paper and labels."""
        return f"J{self.number:04d}"

    @property
    def held(self) -> bool:
        """Whether the job waits for a lead's written findings; a pack that is only taken back is not opened."""
        opened = self.kind != JobKind.TAKE_BACK
        return self.danger_level == DangerLevel.AMBER and self.cleared_at is None and opened

    @property
    def parked(self) -> bool:
        """Whether the pack lies half-built at a named place, and has to be measured before work goes on."""
        return bool(self.parked_in)

    @property
    def route(self) -> tuple[Stage, ...]:
        """The stages of this job, in their order."""
        red = self.danger_level == DangerLevel.RED
        back_from = Stage(self.goes_back_from) if self.goes_back_from else None
        return route(JobKind(self.kind), red=red, given_up=bool(self.given_up), goes_back_from=back_from)

    @property
    def unopened(self) -> bool:
        """Whether the pack is not opened here: only its disposal remains."""
        return self.route == DISPOSAL

    @property
    def part_stays(self) -> bool:
        """Whether a part of the old pack stays as it is: the plan names the groups that are replaced."""
        return self.kind in PART_STAYS

    def label_of(self, stage: Stage) -> str:
        """Return what a stage is called on this job."""
        return stage_label(stage, self.route)

    def after(self, stage: Stage) -> Stage:
        """Return the stage that comes after another one on this job."""
        return self.route[self.route.index(stage) + 1]

    def __str__(self) -> str:
        return self.code


class StepOutcome(Term):
    """What came of one try of a step."""

    UNDER_WAY = "under_way", "under way"
    STOPPED = "stopped", "stopped"
    DONE = "done", "done"
    GIVEN_UP = "given_up", "given up"


SUPERVISED_BY = "supervised by "
SINCE = "since the try before: "
"""What stands before the words on what was found and done since a try that was stopped."""
"""What the first charge confirms, followed by a name."""


class Step(models.Model):
    """One try of one step of the job card: what was confirmed, what the rules found, who did it when.

    A step that was stopped is done again as a new try; the last one counts, the earlier ones stay as they were.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="steps")
    stage = term_field(Stage)
    number = models.PositiveSmallIntegerField("number of the try", default=1)
    outcome = term_field(StepOutcome, default=StepOutcome.UNDER_WAY.value)
    confirmed = models.JSONField(default=dict, blank=True)
    findings = models.JSONField(default=list, blank=True)
    rule_set = models.CharField(max_length=20, blank=True)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    paper_at: datetime | None = None
    """When the readings that are being entered were taken, where they stood on paper first; each reading keeps it."""

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["job", "stage", "number"], name="step_try_numbered_once"),
            models.UniqueConstraint(
                fields=["job", "stage"],
                condition=models.Q(outcome__in=[StepOutcome.UNDER_WAY.value, StepOutcome.DONE.value]),
                name="step_done_once_per_job",
            ),
            one_of("stage", Stage, "step_stage_known"),
            one_of("outcome", StepOutcome, "step_outcome_known"),
            models.CheckConstraint(
                condition=models.Q(outcome=StepOutcome.UNDER_WAY.value, ended_at__isnull=True)
                | (~models.Q(outcome=StepOutcome.UNDER_WAY.value) & models.Q(ended_at__isnull=False)),
                name="step_ended_has_outcome",
            ),
        ]

    @property
    def done(self) -> bool:
        """Whether this try is the one with which the job moved on."""
        return bool(self.outcome == StepOutcome.DONE)

    @property
    def said(self) -> list[str]:
        """Who and what was named in this try: a second look, a welder's setting, people above 60 V DC."""
        return [words for words, held in self.confirmed.items() if held and " " in words]

    @property
    def supervisor(self) -> str:
        """Who stayed beside the pack at its first charge, as far as it was written down."""
        named = (words for words in self.confirmed if words.startswith(SUPERVISED_BY))
        return next(named, "").removeprefix(SUPERVISED_BY)

    @property
    def since(self) -> str:
        """What was found and done since the try before, as far as it was asked for."""
        return next((words for words in self.confirmed if words.startswith(SINCE)), "").removeprefix(SINCE)

    def __str__(self) -> str:
        return f"{self.job.code} {Stage(self.stage).label}, try {self.number}"


class LogEntry(Chained):
    """One line of the job log."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="log", null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    verb = models.CharField(max_length=60)
    facts = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["pk"]
        verbose_name = "job log"

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.verb}"


class FormToken(models.Model):
    """A form that was sent: sent again, it leads to the same page and does nothing."""

    token = models.UUIDField(primary_key=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    leads_to = models.CharField(max_length=300, blank=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.token)
