"""The form of what a kind of place may hold."""

from django import forms

from .base import ShopForm
from .possible import PossibleField
from .readings import due


class AreaLimitForm(ShopForm):
    """Energy, mass and volume as insurer and fire code name them; what is empty has no limit."""

    energy_mwh = PossibleField.stated(
        "area_energy_mwh", required=False, label="Energy, at most", help_text="such as 20 kWh"
    )
    mass_mg = PossibleField.stated("area_mass_mg", required=False, label="Mass, at most", help_text="such as 300 kg")
    volume_mm3 = PossibleField.stated(
        "area_volume_mm3", required=False, label="Volume, at most", help_text="such as 500 L, 0.5 m³ or 20 ft³"
    )
    said_by = due(
        forms.CharField(
            required=False,
            max_length=300,
            label="Where the limit comes from",
            help_text="such as: the insurer's letter of 3 March, the fire code of the town",
        )
    )
