"""The form of labels for cells: which cells, on what."""

from typing import Any

from django import forms

from packs.units import Kind
from shop import labels
from shop.bridge.possible import Bound
from shop.models import Cell, Lot

from .base import ShopForm
from .possible import PossibleField

ROLL = "roll"
SIDE = Bound(kind=Kind.LENGTH, unit="um", typed_unit="mm", least=10_000, most=150_000)
"""Sides of labels that roll printers take; common practice, no source."""


class LabelsForm(ShopForm):
    """Cells of a lot or by their codes, the sheet, and the first free label on it."""

    lot = forms.ModelChoiceField(
        Lot.objects.order_by("-received_on", "-pk"), required=False, to_field_name="code", label="All cells of a lot",
        empty_label="no lot",
    )  # fmt: skip
    codes = forms.CharField(
        label="Or the codes of cells",
        required=False,
        max_length=100_000,
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
        help_text="one a line",
    )
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
        values = super().clean() or {}
        values["cells"] = self._cells(values)
        values["sheet"] = self._sheet(values)
        first, sheet = values.get("first") or 1, values["sheet"]
        if sheet is not None and first > sheet.on_a_page:
            self.add_error("first", f"This sheet has {sheet.on_a_page} labels.")
        values["first"] = first
        return values

    def _cells(self, values: dict[str, Any]) -> list[Cell]:
        typed = [line.strip() for line in values.get("codes", "").splitlines() if line.strip()]
        rows = Cell.objects.select_related("lot__cell_model")
        if typed:
            found = {cell.code: cell for cell in rows.filter(code__in=typed)}
            if unknown := [code for code in typed if code not in found]:
                more = f" and {len(unknown) - 5} more" if len(unknown) > 5 else ""
                self.add_error("codes", f"No cell has the code {', '.join(unknown[:5])}{more}.")
            cells = [found[code] for code in typed if code in found]
        else:
            cells = list(rows.filter(lot=values["lot"]).order_by("code")) if values.get("lot") else []
        if not cells and "codes" not in self.errors:
            self.add_error("codes", "Choose a lot that has cells, or write down codes.")
        if len(cells) > labels.MOST_LABELS:
            self.add_error("codes", f"At most {labels.MOST_LABELS} labels are made at once; these are {len(cells)}.")
        return cells

    def _sheet(self, values: dict[str, Any]) -> labels.Sheet | None:
        if values.get("sheet") != ROLL:
            return labels.SHEETS.get(values.get("sheet", ""))
        sides = [values.get(name) for name in ("width_um", "height_um")]
        for name, side in zip(("width_um", "height_um"), sides, strict=True):
            if side is None and name not in self.errors:
                self.add_error(name, "Say how large a label on the roll is.")
        return None if None in sides else labels.roll(*(float(side or 0) / 1000 for side in sides))
