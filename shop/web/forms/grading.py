"""Forms of the criteria of grades, and of what a new cell of a model reads."""

from typing import Any

from django import forms

from packs.terms import CellProtection, Measure
from shop.bridge.grading import BOUNDS
from shop.bridge.possible import OF_A_CELL

from .base import ShopForm, TermField
from .possible import PossibleField


class CriteriaForm(ShopForm):
    """A whole version of the criteria, and why it is set."""

    reason = forms.CharField(label="Why", max_length=300, help_text="Stays in the history, with your name.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields = {name: PossibleField(bound, label=label) for name, (label, bound) in BOUNDS.items()}
        for field in fields.values():
            field.numbers = self.numbers
        self.fields = {**fields, **self.fields}


class NewCellForm(ShopForm):
    """What a new cell of a model reads and carries."""

    asks_back = True

    dc_resistance_uohm = PossibleField(
        OF_A_CELL[Measure.DC_RESISTANCE], whole=True, label="DC resistance of a new cell", help_text="such as 21.4 mΩ"
    )
    method = forms.CharField(
        label="How it was measured",
        max_length=80,
        help_text="in the same words as on your cells, such as DC pulse 10 s",
    )
    temperature_mdegc = PossibleField.stated(
        "temperature_mdegc", label="At which temperature", help_text="such as 23 °C"
    )
    protection = TermField(
        CellProtection,
        label="What a cell carries inside",
        initial=CellProtection.UNKNOWN.value,
        help_text="a cell that reads nothing may be open inside and charged",
    )
    source = forms.CharField(
        label="Where the value comes from", max_length=160, help_text="data sheet, or the mean of so many new cells"
    )
