"""Forms of quotes: what the workshop reckons with, what is offered, what the customer says."""

from collections.abc import Mapping
from typing import Any

from django import forms

from packs.terms import Heard, Measure, Owner, RemovedWay, Risk
from shop.bridge.possible import MOST_MINUTES
from shop.bridge.worth import Offer
from shop.models import CellModel
from shop.models.quotes import WHAT_STAYS

from .base import QuantityField, ShopForm, TermField, TermsField
from .groups import GroupsField
from .money import MoneyField, NumberField
from .possible import ArrangementField, PossibleField


class PricesForm(ShopForm):
    """What the workshop reckons with."""

    labour_rate = MoneyField.stated("labour_rate", label="Labour, an hour")
    margin_percent = NumberField(label="Margin on parts and work", typed_unit="%")
    tax_percent = NumberField(label="Tax", typed_unit="%")
    consumables = MoneyField.stated("consumables", label="Consumables, a pack", initial="0")
    strip_metre = MoneyField.stated("strip_metre", label="Strip, a metre", initial="0")
    wire_metre = MoneyField.stated("wire_metre", label="Wire, a metre", initial="0")
    waste_fee = MoneyField.stated("waste_fee", label="Waste fee, a pack", initial="0")
    examination_fee = MoneyField.stated(
        "examination_fee",
        label="Examination fee on decline",
        initial="0",
        help_text="with tax, as the customer pays it",
    )
    labour_minutes = forms.IntegerField(
        label="Minutes of work on a usual pack",
        required=False,
        min_value=0,
        max_value=MOST_MINUTES,
        help_text="put in where no labour time was noted yet",
    )
    test_minutes = forms.IntegerField(
        label="Minutes of testing it", required=False, min_value=0, max_value=MOST_MINUTES
    )
    valid_days = forms.IntegerField(label="Days a quote is valid", min_value=1, max_value=365, initial=14)
    quotes_needed = forms.BooleanField(
        required=False, label="Quotes needed: no cells are reserved without an approved quote"
    )


OF_A_REPAIR = {
    "labour_minutes": "Minutes of repairing",
    "life_years": "Expected life, repaired",
    "risks": "What alone speaks against a repair",
}
"""What fields are called where only groups are replaced."""


class QuoteForm(ShopForm):
    """What is offered, and what speaks for and against it."""

    replaced = GroupsField()
    arrangement = ArrangementField(label="Arrangement")
    cell_model = forms.ModelChoiceField(CellModel.objects.usable(), label="Cell model", empty_label="choose")
    cell_cost = MoneyField.stated("cell_cost", label="Cost of one cell")
    strip_um = PossibleField.stated("strip_um", required=False, label="Strip", help_text="length by the cut list")
    wire_um = PossibleField.stated("wire_um", required=False, label="Wire", help_text="length of both leads")
    conductor_cost = MoneyField.stated(
        "conductor_cost", label="Bars, leads, connectors", required=False, help_text="what is not sold by the metre"
    )
    board_cost = MoneyField.stated("board_cost", label="Board", required=False, help_text="where it is replaced")
    labour_minutes = forms.IntegerField(label="Minutes of rebuilding", min_value=0, max_value=10_000)
    test_minutes = forms.IntegerField(label="Minutes of testing", min_value=0, max_value=10_000)
    life_years = NumberField.stated("life_years", label="Expected life, rebuilt", typed_unit="years")
    replacement_price = MoneyField.stated(
        "replacement_price", label="Price of a new one", required=False, help_text="with tax"
    )
    replacement_years = NumberField.stated(
        "replacement_years", label="Expected life, new", required=False, typed_unit="years"
    )
    risks = TermsField(Risk, label="What alone speaks against a rebuild")
    expected_capacity_mah = QuantityField.of(Measure.CAPACITY, required=False, label="Expected capacity")
    stays = forms.CharField(label="What stays old", max_length=400, initial=WHAT_STAYS)
    limits_of_use = forms.CharField(
        label="Limits of use", max_length=400, required=False, help_text="such as: at most 6 A, not below 0 °C"
    )
    board_unknown = forms.BooleanField(
        required=False, label="Nobody knows what the board does without supply: the quote says so"
    )
    removed = TermField(RemovedWay, label="The removed cells are")

    def __init__(
        self,
        *args: Any,
        agreed: Owner,
        part_stays: bool = False,
        grounds: Mapping[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        """Ask only for what the counter left open on the removed cells; one way that is left is no question.

        ``grounds`` say of what was put in where it comes from.
        """
        super().__init__(*args, **kwargs)
        for name, words in (grounds or {}).items():
            self.fields[name].help_text = words
        self.ways = RemovedWay.of(agreed)
        if self.ways[1:]:
            self.fields["removed"] = TermField(RemovedWay, only=self.ways, label="The removed cells are")
        else:
            del self.fields["removed"]
        if not part_stays:
            del self.fields["replaced"]
        else:
            for name, label in OF_A_REPAIR.items():
                self.fields[name].label = label

    def offer(self) -> Offer:
        """Return what was typed."""
        given = {
            name: value for name, value in self.cleaned_data.items() if value is not None and name != "arrangement"
        }
        arrangement = self.cleaned_data["arrangement"]
        return Offer(series=arrangement.series, parallel=arrangement.parallel, **{"removed": self.ways[0]} | given)

    def name_of(self, field: str) -> str:
        """Return the field in which the arrangement was typed."""
        return "arrangement" if field in ("series", "parallel") else field


class AnswerForm(ShopForm):
    """What the customer said."""

    name = forms.CharField(label="Who answered", max_length=120)
    heard = TermField(Heard, label="How")
