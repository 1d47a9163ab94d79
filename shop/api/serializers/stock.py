"""What the operations on stock take."""

from typing import Any

from rest_framework import serializers

from packs.terms import CellFormat, Chemistry, Compression, Condition, LotOrigin, Measure, Owner, Terminals
from shop.models import CellModel, Container, Customer, Instrument, Lot
from shop.operations.stock import CellRow

from .fields import CellCode, Named, Numbered, TermField, number, sure, whole


class CellModelIn(serializers.Serializer[Any]):
    """A type of cell with the limits of its data sheet."""

    name = serializers.CharField(max_length=60)
    chemistry = TermField(Chemistry)
    cell_format = TermField(CellFormat)
    terminals = TermField(Terminals)
    rated_capacity_mah = number(places=1, min_value=0)
    nominal_voltage_mv = whole()
    charge_limit_mv = whole()
    end_of_discharge_mv = whole()
    absolute_max_mv = whole(required=False)
    max_charge_current_ma = whole(required=False)
    max_discharge_current_ma = whole(required=False)
    pulse_current_ma = whole(required=False)
    pulse_time_ms = whole(required=False)
    diameter_um = whole(required=False)
    width_um = whole(required=False)
    height_um = whole(required=False)
    mass_mg = whole(required=False)
    compression = TermField(Compression, default=Compression.UNKNOWN)
    compression_note = serializers.CharField(max_length=80, required=False, allow_blank=True)
    terminal_torque_mnm = whole(required=False)
    data_sheet = serializers.CharField(max_length=160, required=False, allow_blank=True)
    sure = sure()


class LotIn(serializers.Serializer[Any]):
    """Cells that came in together."""

    code = serializers.CharField(max_length=40)
    cell_model = Named(slug_field="name", queryset=CellModel.objects.all())
    origin = TermField(LotOrigin)
    owner = TermField(Owner, default=Owner.SHOP)
    customer = Numbered(queryset=Customer.objects.all(), required=False)
    supplier = serializers.CharField(max_length=120, required=False, allow_blank=True)
    received_on = serializers.DateField()
    evidence = serializers.CharField(max_length=4000, required=False, allow_blank=True)
    unit_cost = number(places=4, required=False, min_value=0)


def _by_measure(given: dict[str, Any]) -> dict[Measure, Any]:
    known = {measure.value for measure in Measure}
    if unknown := sorted(set(given) - known):
        raise serializers.ValidationError(f"Not a measure: {', '.join(unknown)}.")
    return {Measure(name): value for name, value in given.items()}


class CellRowIn(serializers.Serializer[Any]):
    """One tested cell: its code, and readings by measure in the stored unit."""

    code = serializers.CharField(max_length=40)
    readings = serializers.DictField(child=number())

    def validate_readings(self, given: dict[str, Any]) -> dict[Measure, Any]:
        """Refuse a measure nobody knows."""
        return _by_measure(given)


class CellsImport(serializers.Serializer[Any]):
    """A table of tested cells of one lot; all come in or none."""

    lot = Named(slug_field="code", queryset=Lot.objects.all())
    rows = CellRowIn(many=True)
    resistance_method = serializers.CharField(max_length=80, required=False, allow_blank=True)
    conditions = serializers.CharField(max_length=120, required=False, allow_blank=True)
    conditions_of = serializers.DictField(child=serializers.CharField(max_length=120), required=False)
    instrument = Named(slug_field="name", queryset=Instrument.objects.all(), required=False)
    measured_at = serializers.DateTimeField(required=False)
    sure = sure()

    def validate_conditions_of(self, given: dict[str, str]) -> dict[Measure, str]:
        """Refuse a measure nobody knows."""
        return _by_measure(given)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return what the operation takes."""
        rows = [CellRow(line=line, **row) for line, row in enumerate(attrs["rows"], start=1)]
        method = attrs.pop("resistance_method", "")
        methods = dict.fromkeys((Measure.DC_RESISTANCE, Measure.AC_RESISTANCE), method)
        return attrs | {"rows": rows, "methods": methods}


class ReadingIn(serializers.Serializer[Any]):
    """One reading of one cell."""

    cell = CellCode()
    measure = TermField(Measure)
    value = number()
    method = serializers.CharField(max_length=80, required=False, allow_blank=True)
    conditions = serializers.CharField(max_length=120, required=False, allow_blank=True)
    instrument = Named(slug_field="name", queryset=Instrument.objects.all(), required=False)
    measured_at = serializers.DateTimeField(required=False)
    sure = sure()


class CorrectionIn(serializers.Serializer[Any]):
    """The right value, and why the old one was wrong."""

    value = number()
    reason = serializers.CharField(max_length=200)
    sure = sure()


class WithdrawalIn(serializers.Serializer[Any]):
    """Why a reading is none of its cell's."""

    reason = serializers.CharField(max_length=200)


class ConditionIn(serializers.Serializer[Any]):
    """A worse condition than the cell was written down with, and what was seen."""

    condition = TermField(Condition)
    reason = serializers.CharField(max_length=200)


class DiscardIn(serializers.Serializer[Any]):
    """Into which container, terminals insulated; for a cell that may react, who took it."""

    container = Named(slug_field="code", queryset=Container.objects.all(), required=False)
    insulated = serializers.BooleanField(default=False)
    packed_alone = serializers.BooleanField(default=False)
    casings_closed = serializers.BooleanField(default=False)
    receiver = serializers.CharField(max_length=120, required=False, allow_blank=True)


class InstrumentIn(serializers.Serializer[Any]):
    """A meter or tester, and how far it may be off: a share of the reading and a fixed part."""

    name = serializers.CharField(max_length=80)
    error_ppm = whole()
    error_uv = whole()
    calibrated_on = serializers.DateField(required=False)
    calibrated_every_d = whole(required=False)
