"""Issued documents: numbered without gaps, content frozen, the stored bytes are the document."""

from django.conf import settings
from django.db import models

from packs.terms import DocumentKind

from .base import AppendOnly, one_of, term_field
from .jobs import Job
from .waste import Consignment, Container


class NumberSeries(models.Model):
    """The next number of one kind of document."""

    kind = term_field(DocumentKind, primary_key=True)
    next_number = models.PositiveIntegerField(default=1)

    def __str__(self) -> str:
        return f"{self.kind} {self.next_number}"


class DocumentQuerySet(models.QuerySet["IssuedDocument"]):
    """Questions about papers."""

    def counting(self) -> "DocumentQuerySet":
        """Return the papers that were neither made void nor replaced."""
        return self.filter(voiding__isnull=True)

    def coded(self, code: str) -> "DocumentQuerySet":
        """Return the paper with a number as it is printed, such as TR0001; nothing where that is no number of a paper."""
        kinds = {prefix: kind for kind, prefix in IssuedDocument.PREFIX.items()}
        kind, number = kinds.get(code[:2]), code[2:]
        plain = number.isascii() and number.isdecimal() and len(number) < 10
        if kind is None or not plain or code != f"{code[:2]}{int(number):04d}":
            return self.none()
        return self.filter(kind=kind.value, number=int(number))


class IssuedDocument(models.Model):
    """One issued document. Number and content are fixed when it is issued; its bytes are stored once, right after."""

    kind = term_field(DocumentKind)
    number = models.PositiveIntegerField()
    job = models.ForeignKey(Job, on_delete=models.PROTECT, null=True, blank=True, related_name="documents")
    container = models.ForeignKey(Container, on_delete=models.PROTECT, null=True, blank=True, related_name="documents")
    consignment = models.ForeignKey(
        Consignment, on_delete=models.PROTECT, null=True, blank=True, related_name="documents"
    )
    content = models.JSONField()
    content_sha256 = models.CharField(max_length=64)
    rule_set = models.CharField(max_length=20)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    pdf = models.BinaryField(null=True, blank=True)
    pdf_sha256 = models.CharField(max_length=64, blank=True)

    objects = DocumentQuerySet.as_manager()

    class Meta:
        ordering = ["-issued_at", "-pk"]
        indexes = [
            models.Index(fields=["content_sha256"], name="document_by_content"),
            models.Index(fields=["pdf_sha256"], name="document_by_bytes"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["kind", "number"], name="document_number_once"),
            one_of("kind", DocumentKind, "document_kind_known"),
            models.CheckConstraint(condition=models.Q(number__gte=1), name="document_numbers_from_one"),
            models.CheckConstraint(
                condition=models.Q(job__isnull=False, container__isnull=True, consignment__isnull=True)
                | models.Q(job__isnull=True, container__isnull=False, consignment__isnull=True)
                | models.Q(job__isnull=True, container__isnull=True, consignment__isnull=False),
                name="document_about_one_thing",
            ),
            models.CheckConstraint(
                condition=models.Q(pdf__isnull=True, pdf_sha256="")
                | (models.Q(pdf__isnull=False) & ~models.Q(pdf_sha256="")),
                name="document_bytes_have_hash",
            ),
        ]

    PREFIX = {
        DocumentKind.JOB_CARD: "JC",
        DocumentKind.TEST_REPORT: "TR",
        DocumentKind.DISPOSAL_NOTE: "DN",
        DocumentKind.HAND_OVER: "HO",
        DocumentKind.HEALTH_REPORT: "HR",
        DocumentKind.CONTAINER_LABEL: "CL",
        DocumentKind.QUOTE: "QU",
        DocumentKind.PACK_LABEL: "PL",
    }

    @property
    def code(self) -> str:
        """The document's number as it is printed."""
        return f"{self.PREFIX[DocumentKind(self.kind)]}{self.number:04d}"

    @property
    def about(self) -> str:
        """What it is about: a job's code, a container's or a consignment's."""
        return str((self.job.code if self.job else None) or self.container or self.consignment)

    @property
    def what(self) -> str:
        """What stands in lists beside it: the device of a job, or what else it is about."""
        if self.job:
            return str(self.job.device)
        return "waste container" if self.container else "consignment"

    @property
    def void(self) -> bool:
        """Whether it counts no more: it was made void, or another one took its place."""
        return hasattr(self, "voiding")

    def __str__(self) -> str:
        return self.code


class Voiding(AppendOnly):
    """A paper that counts no more, and why; ``replaced_by`` is the one that was issued in its place, if any."""

    document = models.OneToOneField(IssuedDocument, on_delete=models.PROTECT, related_name="voiding")
    replaced_by = models.OneToOneField(
        IssuedDocument, on_delete=models.PROTECT, null=True, blank=True, related_name="replacing"
    )
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(replaced_by__isnull=True) | ~models.Q(replaced_by=models.F("document")),
                name="voiding_by_another_document",
            ),
            models.CheckConstraint(condition=~models.Q(reason=""), name="voiding_has_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.document}: replaced by {self.replaced_by}" if self.replaced_by else f"{self.document}: void"
