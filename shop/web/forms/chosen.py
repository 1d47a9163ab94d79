"""Cells chosen by their lot or by their codes."""

from typing import Any

from django import forms

from shop.models import Cell, Lot

from .base import ShopForm


class ChosenCellsForm(ShopForm):
    """Cells of a lot or by their codes, at most ``most`` of them; ``what`` is made of them at once."""

    most = 500
    what = "cells are taken"

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

    def clean(self) -> dict[str, Any]:
        """Find the cells."""
        values = super().clean() or {}
        values["cells"] = self._cells(values)
        return values

    def name_of(self, field: str) -> str:
        """What is wrong with cells is said beside their codes."""
        return "codes" if field == "cells" else super().name_of(field)

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
        if len(cells) > self.most:
            self.add_error("codes", f"At most {self.most} {self.what} at once; these are {len(cells)}.")
        return cells
