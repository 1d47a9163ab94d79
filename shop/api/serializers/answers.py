"""Rows as JSON."""

from typing import Any

from rest_framework import serializers

from shop.models import (
    Cell,
    CellModel,
    ConditionChange,
    Consignment,
    Container,
    Customer,
    Instrument,
    IssuedDocument,
    Item,
    Job,
    Lot,
    Plan,
    PlanPosition,
    Reading,
    Step,
)
from shop.operations import areas
from shop.operations.areas import BROUGHT_TO


class JobOut(serializers.ModelSerializer[Job]):
    """A job: ``stage`` is what has to be done next."""

    code = serializers.CharField(read_only=True)
    device = serializers.CharField(source="device.__str__", read_only=True)
    customer = serializers.CharField(source="device.customer.name", read_only=True)
    serial = serializers.CharField(source="device.serial", read_only=True)
    held = serializers.BooleanField(read_only=True)
    returns = serializers.IntegerField(source="returns.number", default=None, allow_null=True, read_only=True)
    route = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta:
        model = Job
        fields = [
            "number",
            "code",
            "kind",
            "returns",
            "given_up",
            "route",
            "stage",
            "version",
            "device",
            "customer",
            "serial",
            "recall_source",
            "recall_checked_on",
            "recall_result",
            "recalled",
            "danger_level",
            "danger_signs",
            "held",
            "parked_in",
            "removed_owner",
            "opened_at",
            "closed_at",
        ]


class OpenedOut(JobOut):
    """A job that was just opened; ``nearly_full`` says which places have little room left, or none."""

    nearly_full = serializers.SerializerMethodField()

    class Meta(JobOut.Meta):
        fields = [*JobOut.Meta.fields, "nearly_full"]

    def get_nearly_full(self, _: Job) -> list[str]:
        """Return a sentence for each place, as the counter reads it."""
        return areas.nearly_full_words(*BROUGHT_TO)


class ItemOut(serializers.ModelSerializer[Item]):
    """Anything that is not a single cell."""

    class Meta:
        model = Item
        fields = [
            "id",
            "kind",
            "description",
            "cell_count",
            "count_basis",
            "rated_energy_mwh",
            "mass_mg",
            "volume_mm3",
            "condition",
            "place",
        ]


class CustomerOut(serializers.ModelSerializer[Customer]):
    """A customer."""

    class Meta:
        model = Customer
        fields = ["id", "name", "phone", "email"]


class InstrumentOut(serializers.ModelSerializer[Instrument]):
    """A meter or tester, and how far it may be off: a share of the reading and a fixed part."""

    class Meta:
        model = Instrument
        fields = ["name", "error_ppm", "error_uv", "calibrated_on", "calibrated_every_d"]


class CellOut(serializers.ModelSerializer[Cell]):
    """A cell and where it stands."""

    lot = serializers.CharField(source="lot.code", read_only=True)
    cell_model = serializers.CharField(source="lot.cell_model.name", read_only=True)

    class Meta:
        model = Cell
        fields = ["code", "lot", "cell_model", "condition", "place"]


class ConditionChangeOut(serializers.ModelSerializer[ConditionChange]):
    """One change of a cell's condition; ``reading`` is the rest voltage that rejected it, if one did."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = ConditionChange
        fields = ["before", "after", "reason", "reading", "at", "by"]


class CellModelOut(serializers.ModelSerializer[CellModel]):
    """A type of cell."""

    class Meta:
        model = CellModel
        exclude = ["id"]


class LotOut(serializers.ModelSerializer[Lot]):
    """A lot."""

    cell_model = serializers.CharField(source="cell_model.name", read_only=True)

    class Meta:
        model = Lot
        fields = ["code", "cell_model", "origin", "owner", "supplier", "received_on"]


class ReadingOut(serializers.ModelSerializer[Reading]):
    """One reading; ``measure`` names the unit of ``value``. Of a step's tries the one with the highest number counts."""

    cell = serializers.CharField(source="cell.code", default=None, allow_null=True, read_only=True)
    job = serializers.IntegerField(source="job.number", default=None, allow_null=True, read_only=True)
    by = serializers.CharField(source="by.username", read_only=True)
    instrument = serializers.CharField(source="instrument.name", default=None, allow_null=True, read_only=True)
    tester = serializers.CharField(source="tester.name", default=None, allow_null=True, read_only=True)
    withdrawn = serializers.CharField(source="withdrawal.reason", default=None, allow_null=True, read_only=True)
    try_number = serializers.IntegerField(source="step.number", default=None, allow_null=True, read_only=True)
    try_outcome = serializers.CharField(source="step.outcome", default=None, allow_null=True, read_only=True)

    class Meta:
        model = Reading
        fields = [
            "id",
            "cell",
            "job",
            "stage",
            "try_number",
            "try_outcome",
            "point",
            "measure",
            "value",
            "method",
            "conditions",
            "instrument",
            "measured_at",
            "written_at",
            "entered_at",
            "by",
            "tester",
            "withdrawn",
            "corrects",
            "reason",
        ]


class StepOut(serializers.ModelSerializer[Step]):
    """One try of a step of the job card; of the tries of a stage the one with the highest number counts."""

    by = serializers.CharField(source="by.username", read_only=True)

    class Meta:
        model = Step
        fields = [
            "stage",
            "number",
            "outcome",
            "started_at",
            "ended_at",
            "by",
            "confirmed",
            "findings",
            "rule_set",
        ]


class PositionOut(serializers.ModelSerializer[PlanPosition]):
    """One cell position."""

    cell = serializers.CharField(source="cell.code", read_only=True)

    class Meta:
        model = PlanPosition
        fields = ["group", "place", "cell", "open", "placed_at"]


class PlanOut(serializers.ModelSerializer[Plan]):
    """A plan: the target pack with its positions."""

    job = serializers.IntegerField(source="job.number", read_only=True)
    cell_model = serializers.CharField(source="cell_model.name", read_only=True)
    positions = PositionOut(many=True, read_only=True)
    replaced = serializers.ListField(
        child=serializers.IntegerField(),
        read_only=True,
        help_text="Groups of a repair; none named where all are built.",
    )

    class Meta:
        model = Plan
        exclude = ["stated_by"]


class ProposedGroup(serializers.Serializer[Any]):
    """One proposed group, from the negative end."""

    number = serializers.IntegerField()
    cells = serializers.ListField(child=serializers.CharField())
    capacity_mah = serializers.DecimalField(max_digits=14, decimal_places=3)


class ProposalOut(serializers.Serializer[Any]):
    """Groups from stock for the target pack, and the bound on the weakest group that no choice of cells can pass."""

    groups = ProposedGroup(many=True)
    weakest_mah = serializers.DecimalField(max_digits=14, decimal_places=3)
    spread_mah = serializers.DecimalField(max_digits=14, decimal_places=3)
    bound_mah = serializers.DecimalField(max_digits=14, decimal_places=3)
    considered = serializers.IntegerField()
    left_out = serializers.ListField(child=serializers.CharField())


class DocumentOut(serializers.ModelSerializer[IssuedDocument]):
    """An issued document with its frozen content."""

    code = serializers.CharField(read_only=True)
    job = serializers.IntegerField(source="job.number", read_only=True, allow_null=True)
    about = serializers.CharField(read_only=True)
    void = serializers.BooleanField(read_only=True)
    replaced_by = serializers.CharField(
        source="voiding.replaced_by.code", read_only=True, default=None, allow_null=True
    )

    class Meta:
        model = IssuedDocument
        fields = [
            "code",
            "kind",
            "number",
            "job",
            "about",
            "issued_at",
            "void",
            "replaced_by",
            "rule_set",
            "content_sha256",
            "pdf_sha256",
            "content",
        ]


class ContainerOut(serializers.ModelSerializer[Container]):
    """A waste container."""

    carrier = serializers.CharField(read_only=True)
    receiver = serializers.CharField(read_only=True)
    consignment = serializers.CharField(source="consignment.code", read_only=True, allow_null=True)

    class Meta:
        model = Container
        fields = [
            "code",
            "contents",
            "condition",
            "started_on",
            "approved_packaging",
            "gross_mass_mg",
            "closed_at",
            "consignment",
            "carrier",
            "receiver",
            "consigned_at",
        ]


class ConsignmentOut(serializers.ModelSerializer[Consignment]):
    """A consignment."""

    code = serializers.CharField(read_only=True)
    containers = serializers.SlugRelatedField[Container](slug_field="code", many=True, read_only=True)

    class Meta:
        model = Consignment
        exclude = ["id", "by"]


class JobAnswer(serializers.Serializer[Any]):
    """What an operation on a job answers: the job as it is now, and for a step whether it is done and why not."""

    job = JobOut()
    done = serializers.BooleanField(required=False)
    findings = serializers.ListField(child=serializers.DictField(), required=False)
    created = serializers.ListField(child=serializers.CharField(), required=False)


class Refusal(serializers.Serializer[Any]):
    """Why something was refused; nothing was changed."""

    code = serializers.CharField()
    message = serializers.CharField()
    facts = serializers.DictField()
