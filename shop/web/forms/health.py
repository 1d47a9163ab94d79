"""Form of the pack that is tested as it is."""

from typing import Any

from django import forms

from packs.terms import Measure
from shop.operations.health import Discharge

from .readings import PointsForm


class PackTestForm(PointsForm):
    """What a pack gives as it is; whatever is left empty is named in the report as not measured."""

    asks_back = True
    method = forms.CharField(
        required=False,
        max_length=80,
        label="How the resistance was measured",
        help_text="such as DC pulse 10 s, at the leads of the pack",
    )

    def __init__(self, *args: Any, groups: int, rated: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.add_reading("capacity", Measure.CAPACITY, "Capacity delivered", limit=f"rated {rated}")
        self.add_reading("current", Measure.CURRENT, "At which current")
        self.add_reading("end", Measure.VOLTAGE, "Down to which pack voltage")
        self.add_reading("temperature", Measure.TEMPERATURE, "How warm around it")
        self.add_reading("pack_rest", Measure.REST_VOLTAGE, "Pack at rest")
        self.add_reading("resistance", Measure.DC_RESISTANCE, "DC resistance of the pack")
        self.add_points("group", [""] * groups, Measure.REST_VOLTAGE)

    def discharge(self) -> Discharge:
        """Return the discharge as it was written down."""
        return Discharge(
            capacity_mah=self.cleaned_data["capacity"],
            current_ma=self.cleaned_data["current"],
            end_mv=self.cleaned_data["end"],
            temperature_mdegc=self.cleaned_data["temperature"],
        )
