"""Forms that put right what was written down of cell models, lots and meters."""

from typing import Any

from django import forms
from django.db import models

from shop.web import prefill

from .base import QuantityField, ShopForm
from .money import MoneyField
from .possible import PossibleField


class LotCorrectionForm(ShopForm):
    """What of a lot is not history."""

    supplier = forms.CharField(label="From whom", max_length=120, required=False)
    received_on = forms.DateField(label="Came in on", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    unit_cost = MoneyField.stated(
        "unit_cost", label="What one cell cost", required=False, help_text="before tax, for quotes"
    )
    evidence = forms.CharField(
        label="What is known of their history", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )


class InstrumentCorrectionForm(ShopForm):
    """When a meter was calibrated, and how far it may be off since."""

    calibrated_on = forms.DateField(
        label="Calibrated on", required=False, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    calibrated_every_d = PossibleField.stated(
        "calibrated_every_d",
        required=False,
        label="Calibrated every",
        help_text="such as 365 d; once overdue, nothing it measures is graded or ends a final test",
    )
    error_ppm = PossibleField.stated("error_ppm", label="Error, share of the reading", help_text="such as 0.5 %")
    error_uv = PossibleField.stated("error_uv", label="Error, fixed part", help_text="such as 2 mV")


class BarForm(ShopForm):
    """Why a cell model is not used any more."""

    reason = forms.CharField(
        label="Why it is not used any more",
        max_length=200,
        help_text="such as: charge limit typed wrong, see Round 2.6 A",
    )


def as_typed(form: type[ShopForm], row: models.Model, locale: str) -> dict[str, Any]:
    """Return what stands in the book of a row as somebody would type it into a form."""
    return {name: _typed(field, getattr(row, name), locale) for name, field in form.base_fields.items()}


def _typed(field: forms.Field, value: Any, locale: str) -> Any:
    if isinstance(field, QuantityField):
        return prefill.typed(field, value, locale=locale)
    return getattr(value, "value", value)
