"""What the workshop reckons with, and the quotes it gave."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from packs.terms import Heard, QuoteState, RemovedWay, Verdict

from .base import AppendOnly, one_of, term_field
from .documents import IssuedDocument
from .jobs import Job
from .stock import CellModel


def _money(name: str, **options: object) -> "models.DecimalField[Decimal, Decimal]":
    return models.DecimalField(name, max_digits=14, decimal_places=4, validators=[MinValueValidator(0)], **options)  # type: ignore[arg-type]


BOARD = "Board"
"""What the line of a quote is called by which another board goes in."""
WHAT_STAYS = "housing, board, leads and contacts"
"""What a rebuild of cells and strips leaves as it was."""
WHAT_STAYS_BESIDE_A_BOARD = "housing, leads and contacts"
"""What stays where another board goes in."""


class Prices(AppendOnly):
    """What counted from ``at`` on; the newest row counts. Amounts are in the currency of the settings."""

    labour_rate = _money("labour, an hour")
    margin_percent = models.DecimalField(
        "margin", max_digits=6, decimal_places=2, validators=[MinValueValidator(0), MaxValueValidator(1000)]
    )
    tax_percent = models.DecimalField(
        "tax", max_digits=5, decimal_places=2, validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    consumables = _money("consumables, a pack", default=0)
    strip_metre = _money("strip, a metre", default=0)
    wire_metre = _money("wire, a metre", default=0)
    waste_fee = _money("waste fee", default=0)
    examination_fee = _money("examination fee on decline", default=0)
    valid_days = models.PositiveSmallIntegerField(
        "days a quote is valid", default=14, validators=[MinValueValidator(1)]
    )
    labour_minutes = models.PositiveIntegerField("labour of a usual pack, in minutes", null=True, blank=True)
    test_minutes = models.PositiveIntegerField("testing of a usual pack, in minutes", null=True, blank=True)
    quotes_needed = models.BooleanField("no cells are reserved without an approved quote", default=False)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        verbose_name = "prices"

    def __str__(self) -> str:
        return f"prices of {self.at:%Y-%m-%d}"


class Quote(models.Model):
    """What was offered for a job, and how the customer answered. What it says stands frozen in its document."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="quotes")
    document = models.OneToOneField(
        IssuedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="quote"
    )
    state = term_field(QuoteState, default=QuoteState.WAITING.value)
    cell_model = models.ForeignKey(CellModel, on_delete=models.PROTECT, related_name="+")
    series = models.PositiveSmallIntegerField()
    parallel = models.PositiveSmallIntegerField()
    replaced = models.JSONField("groups that are replaced; none named where all are", default=list, blank=True)
    expected_capacity_mah = models.DecimalField(max_digits=10, decimal_places=1, null=True, blank=True)
    stays = models.CharField("what stays old", max_length=400)
    limits_of_use = models.CharField(max_length=400, blank=True)
    board_unknown = models.BooleanField("nobody knows what the board does without supply", default=False)
    removed = term_field(RemovedWay)
    risks = models.JSONField(default=list, blank=True)
    verdict = term_field(Verdict)
    reasons = models.JSONField(default=list, blank=True)
    currency = models.CharField(max_length=3)
    lines = models.JSONField(default=list)
    tax_percent = models.DecimalField(max_digits=5, decimal_places=2)
    tax = _money("tax")
    total = _money("total")
    examination_fee = _money("examination fee on decline")
    valid_until = models.DateField()
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.CharField("who answered", max_length=120, blank=True)
    heard = term_field(Heard, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    offer = models.JSONField("costs, minutes and lives it was reckoned from", null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            one_of("state", QuoteState, "quote_state_known"),
            one_of("removed", RemovedWay, "quote_removed_known"),
            one_of("verdict", Verdict, "quote_verdict_known"),
            models.UniqueConstraint(
                fields=["job"], condition=models.Q(state=QuoteState.WAITING.value), name="one_quote_waits_per_job"
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=[QuoteState.APPROVED.value, QuoteState.DECLINED.value])
                | (models.Q(answered_at__isnull=False, recorded_by__isnull=False) & ~models.Q(answered_by="")),
                name="quote_answered_by_someone",
            ),
        ]

    @property
    def code(self) -> str:
        """The number it was issued under."""
        return self.document.code if self.document else ""

    @property
    def board_goes_in(self) -> bool:
        """Whether another board goes in, as one of its lines says."""
        return any(line["label"] == BOARD for line in self.lines)

    @property
    def priced_lines(self) -> list[tuple[str, Decimal]]:
        """What its lines name, and the price of each before tax."""
        return [(f"{line['detail']} {line['label']}".strip(), Decimal(line["price"])) for line in self.lines]

    @property
    def arrangement(self) -> str:
        """The arrangement that is offered."""
        return f"{self.series}s{self.parallel}p"

    def __str__(self) -> str:
        return self.code or f"quote of {self.job.code}"
