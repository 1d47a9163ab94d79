"""The form of labels for cells: which cells, on what."""

from typing import Any

from django import forms

from packs.units import Kind
from shop import labels
from shop.bridge.possible import Bound

from .chosen import ChosenCellsForm
from .possible import PossibleField

ROLL = "roll"
SIDE = Bound(kind=Kind.LENGTH, unit="um", typed_unit="mm", least=10_000, most=150_000)
"""Sides of labels that roll printers take; common practice, no source."""


class LabelsForm(ChosenCellsForm):
    """Cells of a lot or by their codes, the sheet, and the first free label on it."""

    most = labels.MOST_LABELS
    what = "labels are made"

    sheet = forms.ChoiceField(
        label="On what",
        choices=[*((name, sheet.name) for name, sheet in labels.SHEETS.items()), (ROLL, "roll, each label a page")],
    )
    width_um = PossibleField(SIDE, whole=True, required=False, label="Width of a label on the roll")
    height_um = PossibleField(SIDE, whole=True, required=False, label="Height of a label on the roll")
    first = forms.IntegerField(
        label="First free label on the sheet", min_value=1, required=False, initial=1,
        help_text="counted from the upper left along the rows",
    )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        """Find the cells, and the sheet with its first free label."""
        values = super().clean()
        values["sheet"] = self._sheet(values)
        first, sheet = values.get("first") or 1, values["sheet"]
        if sheet is not None and first > sheet.on_a_page:
            self.add_error("first", f"This sheet has {sheet.on_a_page} labels.")
        values["first"] = first
        return values

    def _sheet(self, values: dict[str, Any]) -> labels.Sheet | None:
        if values.get("sheet") != ROLL:
            return labels.SHEETS.get(values.get("sheet", ""))
        sides = [values.get(name) for name in ("width_um", "height_um")]
        for name, side in zip(("width_um", "height_um"), sides, strict=True):
            if side is None and name not in self.errors:
                self.add_error(name, "Say how large a label on the roll is.")
        return None if None in sides else labels.roll(*(float(side or 0) / 1000 for side in sides))
