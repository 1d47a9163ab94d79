"""Waste containers, the inner packagings in them, and the consignments that take them away."""

from django.conf import settings
from django.db import models

from packs.terms import Condition, Contents, Mode

from .base import one_of, term_field


class Consignment(models.Model):
    """Containers that one carrier took at once.

    ``keep_until`` is None where national rules say how long its papers are kept. The names stand for signatures.
    """

    number = models.PositiveIntegerField(unique=True)
    carrier = models.CharField(max_length=120)
    receiver = models.CharField(max_length=120)
    mode = term_field(Mode, default=Mode.ROAD.value)
    handed_over_by = models.CharField(max_length=120)
    taken_by = models.CharField(max_length=120)
    statutory_number = models.CharField("number of the statutory note", max_length=80, blank=True)
    left_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    keep_until = models.DateField(null=True, blank=True)
    confirmed_on = models.DateField(null=True, blank=True)
    confirmed_by = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            one_of("mode", Mode, "consignment_mode_known"),
            models.CheckConstraint(condition=~models.Q(mode=Mode.AIR.value), name="consignment_never_by_air"),
            models.CheckConstraint(
                condition=~models.Q(carrier="") & ~models.Q(receiver="") & ~models.Q(taken_by=""),
                name="consignment_to_someone",
            ),
            models.CheckConstraint(
                condition=models.Q(confirmed_on__isnull=True, confirmed_by="")
                | (models.Q(confirmed_on__isnull=False) & ~models.Q(confirmed_by="")),
                name="consignment_confirmed_by_someone",
            ),
        ]

    @property
    def code(self) -> str:
        """The consignment's number as it is written."""
        return f"C{self.number:04d}"

    def __str__(self) -> str:
        return self.code


class Container(models.Model):
    """A waste container: one kind of contents, one condition of cells, one start date, one way out.

    It is closed when it was weighed and a lid that can vent was secured.
    """

    code = models.CharField(max_length=40, unique=True)
    contents = term_field(Contents, default=Contents.CELLS.value)
    condition = term_field(Condition)
    started_on = models.DateField()
    approved_packaging = models.BooleanField(default=False)
    gross_mass_mg = models.PositiveBigIntegerField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    consignment = models.ForeignKey(
        Consignment, on_delete=models.PROTECT, null=True, blank=True, related_name="containers"
    )
    consigned_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(condition__in=[Condition.INTACT.value, Condition.DAMAGED.value]),
                name="container_takes_nothing_reactive",
            ),
            one_of("contents", Contents, "container_contents_known"),
            models.CheckConstraint(
                condition=models.Q(closed_at__isnull=True, closed_by__isnull=True)
                | models.Q(closed_at__isnull=False, closed_by__isnull=False),
                name="container_closed_by_someone",
            ),
            models.CheckConstraint(
                condition=models.Q(consigned_at__isnull=True, consignment__isnull=True)
                | models.Q(consigned_at__isnull=False, consignment__isnull=False, closed_at__isnull=False),
                name="container_leaves_closed_in_a_consignment",
            ),
        ]

    def __str__(self) -> str:
        return self.code

    @property
    def takes(self) -> str:
        """What goes into it, in words."""
        return str(Condition(self.condition).label if self.holds_cells else Contents(self.contents).label)

    @property
    def holds_cells(self) -> bool:
        """Whether it is for cells and packs."""
        return bool(self.contents == Contents.CELLS)

    @property
    def carrier(self) -> str:
        """Who took it; empty while it is here."""
        return self.consignment.carrier if self.consignment else ""

    @property
    def receiver(self) -> str:
        """Where it goes; empty while it is here."""
        return self.consignment.receiver if self.consignment else ""


class InnerPackaging(models.Model):
    """The packaging around one damaged cell or item inside a container: each damaged thing has one of its own.

    ``casing_closed`` is False where a casing is breached or nobody knows.
    """

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="inner_packagings")
    number = models.PositiveIntegerField()
    cell = models.OneToOneField("Cell", on_delete=models.PROTECT, null=True, blank=True, related_name="inner_packaging")
    item = models.OneToOneField("Item", on_delete=models.PROTECT, null=True, blank=True, related_name="inner_packaging")
    casing_closed = models.BooleanField()
    packed_at = models.DateTimeField()
    packed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["container", "number"]
        constraints = [
            models.UniqueConstraint(fields=["container", "number"], name="inner_packaging_number_once"),
            models.CheckConstraint(
                condition=models.Q(cell__isnull=False, item__isnull=True)
                | models.Q(cell__isnull=True, item__isnull=False),
                name="inner_packaging_of_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.container} inner packaging {self.number}"
