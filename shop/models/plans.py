"""The pack as found, the plan of the new one, its cell positions and joints."""

from django.conf import settings
from django.db import models

from packs.terms import (
    CellEnd,
    ChargerRead,
    Chemistry,
    JointMethod,
    Packing,
    Port,
    Protects,
    StripMaterial,
    Term,
    Unpowered,
)

from .base import one_of, term_field
from .jobs import Job
from .stock import Cell, CellModel


class PlanState(Term):
    """Where a plan stands."""

    STATED = "stated", "target stated"
    ACCEPTED = "accepted", "cells reserved"
    BUILT = "built", "built"
    ABANDONED = "abandoned", "abandoned"


class JointState(Term):
    """What became of a joint."""

    MADE = "made", "made"
    FAILED = "failed", "failed"
    UNDONE = "undone", "taken off, or stated anew"


class PackAsFound(models.Model):
    """What the technician saw of the pack. ``joint_method`` is empty where it was not opened, since it is only tested.

    ``counts`` is empty where every group has ``parallel`` cells; where they differ, ``parallel`` is the smallest of
    them, since the pack holds no more than that group.
    """

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="as_found")
    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, related_name="+")
    series = models.PositiveSmallIntegerField()
    parallel = models.PositiveSmallIntegerField()
    counts = models.JSONField("cells of each group, where they differ", default=list, blank=True)
    joint_method = term_field(JointMethod, blank=True, default="")
    housing = models.CharField("how the case is shut", max_length=160, blank=True)
    board = models.CharField("board and sensors", max_length=200, blank=True)
    protects = models.JSONField("what the board does", default=list, blank=True)
    unpowered = term_field(Unpowered, default=Unpowered.UNKNOWN.value)
    note = models.TextField(blank=True)
    examined_at = models.DateTimeField()
    examined_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(series__gte=1, parallel__gte=1), name="as_found_has_cells"),
            models.CheckConstraint(
                condition=models.Q(joint_method__in=["", *(method.value for method in JointMethod)]),
                name="as_found_joint_method_known",
            ),
            one_of("unpowered", Unpowered, "as_found_unpowered_known"),
        ]

    @property
    def board_does(self) -> list[str]:
        """What the board does, in words."""
        return [Protects(one).label for one in self.protects]

    @property
    def cell_count(self) -> int:
        """How many cells the pack holds."""
        return sum(self.counts) or self.series * self.parallel

    @property
    def fullest(self) -> int:
        """How many cells its largest group has: so many were meant to be in each."""
        return max(self.counts, default=self.parallel)

    @property
    def arrangement(self) -> str:
        """The arrangement as the trade writes it, with the cells of each group where they differ."""
        if not self.counts:
            return f"{self.series}s{self.parallel}p"
        return f"{self.series}s, {' + '.join(map(str, self.counts))} cells"

    def __str__(self) -> str:
        return f"{self.job.code} as found {self.arrangement}"


class Plan(models.Model):
    """The target pack, and with its positions the plan of which cell goes where."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="plans")
    state = term_field(PlanState, default=PlanState.STATED.value)
    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, related_name="+")
    series = models.PositiveSmallIntegerField()
    parallel = models.PositiveSmallIntegerField()
    packing = term_field(Packing, default=Packing.ROWS.value)
    joint_method = term_field(JointMethod)
    strip_material = term_field(StripMaterial)
    strip_width_um = models.PositiveIntegerField()
    strip_thickness_um = models.PositiveIntegerField()
    continuous_current_ma = models.PositiveIntegerField()
    charger_voltage_mv = models.PositiveIntegerField()
    charger_read = term_field(ChargerRead, default=ChargerRead.NO_LOAD.value)
    charger_tolerance_mv = models.PositiveIntegerField("tolerance of the charger", null=True, blank=True)
    board_groups = models.PositiveSmallIntegerField("groups that the board is made for", null=True, blank=True)
    board_chemistry = term_field(Chemistry, blank=True)
    board_overcharge_mv = models.PositiveIntegerField("overcharge trip", null=True, blank=True)
    board_tolerance_mv = models.PositiveIntegerField("tolerance of that trip", null=True, blank=True)
    board_undervoltage_mv = models.PositiveIntegerField("undervoltage trip", null=True, blank=True)
    outlet_voltage_mv = models.PositiveIntegerField(null=True, blank=True)
    outlet_port = term_field(Port, blank=True)
    dropout_mv = models.PositiveIntegerField(null=True, blank=True)
    peak_current_ma = models.PositiveIntegerField("peak current", null=True, blank=True)
    peak_time_ms = models.PositiveIntegerField("how long the peak lasts", null=True, blank=True)
    strip_layers = models.PositiveIntegerField("layers of strip", null=True, blank=True)
    lead_area_um2 = models.PositiveIntegerField("section of a lead", null=True, blank=True)
    lead_length_um = models.PositiveIntegerField("length of a lead", null=True, blank=True)
    fuse_current_ma = models.PositiveIntegerField("rated current of the fuse", null=True, blank=True)
    fuse_voltage_mv = models.PositiveIntegerField("direct voltage of the fuse", null=True, blank=True)
    fuse_breaking_ma = models.PositiveIntegerField("breaking capacity of the fuse", null=True, blank=True)
    fuse_melting = models.JSONField("shortest melting of the fuse, mA and µs", default=list, blank=True)
    fuse_clearing = models.JSONField("longest clearing of the fuse, mA and µs", default=list, blank=True)
    board_trip_ma = models.PositiveIntegerField("overcurrent trip of the board", null=True, blank=True)
    board_trip_us = models.PositiveIntegerField("how long that trip takes", null=True, blank=True)
    replaced = models.JSONField("groups that are replaced; none named where all are", default=list, blank=True)
    findings = models.JSONField(default=list, blank=True)
    limits = models.JSONField("limits that the cells were chosen under", null=True, blank=True)
    stated_at = models.DateTimeField()
    stated_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    accepted_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["job"],
                condition=~models.Q(state=PlanState.ABANDONED.value),
                name="one_standing_plan_per_job",
            ),
            one_of("state", PlanState, "plan_state_known"),
            one_of("packing", Packing, "plan_packing_known"),
            one_of("joint_method", JointMethod, "plan_joint_method_known"),
            one_of("strip_material", StripMaterial, "plan_strip_material_known"),
            one_of("charger_read", ChargerRead, "plan_charger_read_known"),
            models.CheckConstraint(condition=models.Q(series__gte=1, parallel__gte=1), name="plan_has_cells"),
            models.CheckConstraint(
                condition=models.Q(strip_width_um__gt=0, strip_thickness_um__gt=0), name="plan_strip_has_size"
            ),
            models.CheckConstraint(
                condition=models.Q(outlet_voltage_mv__isnull=True) | models.Q(dropout_mv__isnull=False),
                name="plan_outlet_has_dropout",
            ),
            models.CheckConstraint(
                condition=models.Q(peak_current_ma__isnull=True, peak_time_ms__isnull=True)
                | models.Q(peak_time_ms__gt=0, peak_current_ma__gte=models.F("continuous_current_ma")),
                name="plan_peak_above_continuous",
                violation_error_message="A peak has a current, at least the continuous one, and a time.",
            ),
            models.CheckConstraint(
                condition=models.Q(fuse_current_ma__isnull=False)
                | models.Q(fuse_voltage_mv__isnull=True, fuse_breaking_ma__isnull=True),
                name="plan_fuse_has_current",
                violation_error_message="A fuse is given with its rated current.",
            ),
        ]

    @property
    def cell_count(self) -> int:
        """How many cells the pack takes."""
        return self.series * self.parallel

    @property
    def conductor(self) -> str:
        """What the bench calls the metal that joins the cells: strip or bar; a strip while that is not said."""
        return JointMethod(self.joint_method or JointMethod.SPOT_WELD).conductor

    @property
    def open_groups(self) -> tuple[int, ...]:
        """Numbers of the groups that are built from cells of the book: all, or those that a repair replaces."""
        return tuple(self.replaced) or tuple(range(1, self.series + 1))

    @property
    def standing_groups(self) -> tuple[int, ...]:
        """Numbers of the groups that stay as they are in the old pack; none in a pack that is rebuilt."""
        return tuple(group for group in range(1, self.series + 1) if group not in self.open_groups)

    @property
    def new_cells(self) -> int:
        """How many cells go in."""
        return len(self.open_groups) * self.parallel

    def __str__(self) -> str:
        return f"{self.job.code} {self.series}s{self.parallel}p"


def cells_due_out(job: Job) -> int:
    """How many cells leave the old pack of a job: all that were counted, or those of the groups that are replaced."""
    plan = job.plans.last()
    return plan.new_cells if plan is not None and plan.replaced else job.as_found.cell_count


class PlanPosition(models.Model):
    """One cell position of a plan. A cell holds at most one open position; the database sees to that."""

    plan = models.ForeignKey(Plan, on_delete=models.PROTECT, related_name="positions")
    group = models.PositiveSmallIntegerField()
    place = models.PositiveSmallIntegerField("place in the group")
    cell = models.ForeignKey(Cell, on_delete=models.PROTECT, related_name="positions")
    open = models.BooleanField(default=True)
    placed_at = models.DateTimeField(null=True, blank=True)
    placed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["group", "place"]
        constraints = [
            models.UniqueConstraint(fields=["cell"], condition=models.Q(open=True), name="cell_in_one_open_plan"),
            models.UniqueConstraint(fields=["plan", "group", "place"], name="position_once_per_plan"),
            models.CheckConstraint(condition=models.Q(group__gte=1, place__gte=1), name="position_counts_from_one"),
        ]

    @property
    def name(self) -> str:
        """The position as it is written on the card: group and place."""
        return f"{self.group}.{self.place}"

    def __str__(self) -> str:
        return f"{self.plan} {self.name}"


class Joint(models.Model):
    """One cell end on one strip or bar, with its weld spots."""

    position = models.ForeignKey(PlanPosition, on_delete=models.PROTECT, related_name="joints")
    end = term_field(CellEnd)
    strip = models.PositiveSmallIntegerField()
    method = term_field(JointMethod)
    spots = models.PositiveSmallIntegerField(default=0)
    state = term_field(JointState, default=JointState.MADE.value)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["strip", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["position", "end"],
                condition=models.Q(state=JointState.MADE.value),
                name="one_made_joint_per_cell_end",
            ),
            one_of("end", CellEnd, "joint_end_known"),
            one_of("state", JointState, "joint_state_known"),
            models.CheckConstraint(
                condition=~models.Q(method=JointMethod.SPOT_WELD.value) | models.Q(spots__gte=1),
                name="welded_joint_has_spots",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.position} {self.end} on strip {self.strip}"
