"""Cell models, lots and cells."""

from django.core.validators import MinValueValidator
from django.db import models

from packs.terms import CellFormat, Chemistry, Compression, Condition, JobKind, LotOrigin, Owner, Place, Terminals

from .base import container_named_where_due, one_of, term_field
from .jobs import Job
from .people import Customer

GONE = [Place.CONTAINER.value, Place.CONSIGNED.value]
"""Where things stand that leave the shop as waste."""


class CellModelQuerySet(models.QuerySet["CellModel"]):
    """The words in which cell models are asked for."""

    def usable(self, also: object = None) -> "CellModelQuerySet":
        """Models that are not barred from new use, and ``also`` the one that stands already."""
        open_ones = models.Q(barred_at__isnull=True)
        return self.filter(open_ones | models.Q(pk=also) if str(also).isdecimal() else open_ones)


class CellModel(models.Model):
    """A type of cell with its data-sheet limits. A barred one is not used anew, and says why."""

    name = models.CharField(max_length=60, unique=True)
    chemistry = term_field(Chemistry)
    cell_format = term_field(CellFormat)
    terminals = term_field(Terminals)
    rated_capacity_mah = models.DecimalField(max_digits=10, decimal_places=1)
    nominal_voltage_mv = models.PositiveIntegerField()
    charge_limit_mv = models.PositiveIntegerField()
    end_of_discharge_mv = models.PositiveIntegerField()
    absolute_max_mv = models.PositiveIntegerField("absolute maximum", null=True, blank=True)
    max_charge_current_ma = models.PositiveIntegerField(null=True, blank=True)
    max_discharge_current_ma = models.PositiveIntegerField(null=True, blank=True)
    pulse_current_ma = models.PositiveIntegerField("pulse current", null=True, blank=True)
    pulse_time_ms = models.PositiveIntegerField("how long a pulse may last", null=True, blank=True)
    diameter_um = models.PositiveIntegerField("diameter or thickness", null=True, blank=True)
    width_um = models.PositiveIntegerField(null=True, blank=True)
    height_um = models.PositiveIntegerField(null=True, blank=True)
    mass_mg = models.PositiveIntegerField(null=True, blank=True)
    compression = term_field(Compression, default=Compression.UNKNOWN.value)
    compression_note = models.CharField("plate distance, force or gap", max_length=80, blank=True)
    terminal_torque_mnm = models.PositiveIntegerField(null=True, blank=True)
    data_sheet = models.CharField(max_length=160, blank=True)
    barred_at = models.DateTimeField(null=True, blank=True)
    barred_why = models.CharField(max_length=200, blank=True)

    objects = CellModelQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            one_of("chemistry", Chemistry, "cell_model_chemistry_known"),
            one_of("cell_format", CellFormat, "cell_model_format_known"),
            one_of("terminals", Terminals, "cell_model_terminals_known"),
            one_of("compression", Compression, "cell_model_compression_known"),
            models.CheckConstraint(condition=models.Q(rated_capacity_mah__gt=0), name="cell_model_capacity_positive"),
            models.CheckConstraint(
                condition=models.Q(end_of_discharge_mv__lt=models.F("nominal_voltage_mv"))
                & models.Q(nominal_voltage_mv__lt=models.F("charge_limit_mv")),
                name="cell_model_voltages_in_order",
            ),
            models.CheckConstraint(
                condition=models.Q(absolute_max_mv__isnull=True)
                | models.Q(absolute_max_mv__gte=models.F("charge_limit_mv")),
                name="cell_model_absolute_max_above_charge_limit",
                violation_error_message="The absolute maximum is at least the charge limit.",
            ),
            models.CheckConstraint(
                condition=models.Q(pulse_current_ma__isnull=True, pulse_time_ms__isnull=True)
                | models.Q(pulse_current_ma__isnull=False, pulse_time_ms__isnull=False),
                name="cell_model_pulse_whole",
                violation_error_message="A pulse has a current and a time.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Lot(models.Model):
    """Cells that came in together: bought, or taken from a donor pack; owned by the shop or by a customer."""

    code = models.CharField(max_length=40, unique=True)
    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, related_name="lots")
    origin = term_field(LotOrigin)
    owner = term_field(Owner)
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    donor_job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="donor_lots")
    supplier = models.CharField(max_length=120, blank=True)
    received_on = models.DateField()
    unit_cost = models.DecimalField(
        "cost of a cell", max_digits=14, decimal_places=4, null=True, blank=True, validators=[MinValueValidator(0)]
    )
    evidence = models.TextField("evidence of history", blank=True)
    held_why = models.CharField("held as suspect", max_length=400, blank=True, default="")

    class Meta:
        ordering = ["code"]
        constraints = [
            one_of("origin", LotOrigin, "lot_origin_known"),
            models.CheckConstraint(
                condition=models.Q(owner=Owner.SHOP.value, customer__isnull=True)
                | models.Q(owner=Owner.CUSTOMER.value, customer__isnull=False),
                name="lot_owner_named",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class CellQuerySet(models.QuerySet["Cell"]):
    """The words in which cells are asked for."""

    def coded(self, code: str) -> "Cell | None":
        """The cell with a code as somebody types it: letter case counts only where it tells two cells apart."""
        found = list(self.filter(code__iexact=code.strip()))
        exact = [cell for cell in found if cell.code == code.strip()]
        return (exact or found)[0] if exact or len(found) == 1 else None

    def in_stock(self, job: Job | None = None) -> "CellQuerySet":
        """Whole cells that stand in the shop's own stock, check cells left out; for a job also those its customer brought."""
        whole = self.filter(condition=Condition.INTACT.value, place=Place.STOCK.value, check_cells__isnull=True)
        may = models.Q(lot__owner=Owner.SHOP.value)
        if job is not None and job.kind != JobKind.FOR_STOCK:
            may |= models.Q(lot__owner=Owner.CUSTOMER.value, lot__customer=job.device.customer_id)
        return whole.filter(may)

    def free(self, job: Job | None = None) -> "CellQuerySet":
        """Whole cells in stock of lots that are not held, that no open plan holds; for a job also those that its own customer brought."""
        return self.in_stock(job).filter(lot__held_why="").exclude(positions__open=True)

    def removed_from_pack_of(self, job: Job) -> "CellQuerySet":
        """Cells that left the old pack of a job: new to the book, or known since they were placed here before."""
        came_from = ["", Place.CUSTOMER.value]
        return self._moved(job, to_place=Place.BENCH.value, from_place__in=came_from)

    def taken_off_by(self, job: Job) -> "CellQuerySet":
        """Cells that left the old pack of a job, or its new one when that was given up."""
        return self._moved(job, to_place=Place.BENCH.value)

    def still_in_pack_of(self, job: Job) -> "CellQuerySet":
        """Cells of the pack that a job handed over, as far as they have not come back, in the order of positions."""
        built = self.filter(positions__plan__job=job, positions__plan__state="built", place=Place.CUSTOMER.value)
        return built.order_by("positions__group", "positions__place")

    def reclaimed(self) -> "CellQuerySet":
        """Cells that were in a pack before: from a donor, or placed here and back in stock since."""
        back = Cell.objects.filter(movements__from_place=Place.BENCH.value, movements__to_place=Place.STOCK.value)
        return self.filter(models.Q(lot__origin=LotOrigin.DONOR.value) | models.Q(pk__in=back.values("pk")))

    def with_history(self) -> "CellQuerySet":
        """Cells that somebody used before they came here, or since: their lot's history is signed before they serve again."""
        back = Cell.objects.filter(movements__from_place=Place.CUSTOMER.value, movements__to_place=Place.BENCH.value)
        return self.filter(models.Q(lot__origin=LotOrigin.DONOR.value) | models.Q(pk__in=back.values("pk")))

    def on_bench_of(self, job: Job) -> "CellQuerySet":
        """Cells of a job that lie on the bench."""
        return self.filter(place=Place.BENCH.value, job=job)

    def disposed_of_by(self, job: Job) -> "CellQuerySet":
        """Cells that a job put into a container or handed to a carrier."""
        return self._moved(job, to_place__in=GONE)

    def _moved(self, job: Job, **movement: object) -> "CellQuerySet":
        about = {f"movements__{name}": value for name, value in movement.items()}
        return self.filter(pk__in=Cell.objects.filter(movements__job=job, **about).values("pk"))


class Cell(models.Model):
    """One cell. ``place`` repeats the last entry of its movement history; the audit compares the two."""

    code = models.CharField(max_length=40, unique=True)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="cells")
    condition = term_field(Condition, default=Condition.INTACT.value)
    place = term_field(Place)
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="cells")
    container = models.ForeignKey("Container", on_delete=models.PROTECT, null=True, blank=True, related_name="cells")

    objects = CellQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        indexes = [models.Index(fields=["place", "lot"])]
        constraints = [
            one_of("place", Place, "cell_place_known"),
            one_of("condition", Condition, "cell_condition_known"),
            models.CheckConstraint(condition=~models.Q(code=""), name="cell_has_code"),
            models.CheckConstraint(
                condition=~models.Q(place__in=[Place.BENCH.value, Place.PACK.value]) | models.Q(job__isnull=False),
                name="cell_at_bench_or_in_pack_has_job",
            ),
            container_named_where_due("cell_in_container_names_it"),
        ]

    def __str__(self) -> str:
        return self.code
