"""Forms of goods in: what came with a lot and what its sample measured, and a lead's word on a held one."""

from django import forms

from shop.bridge.goods_in import SAMPLED

from .base import ShopForm
from .pictures import PictureField
from .possible import PossibleField


class LotCheckForm(ShopForm):
    """What came with a bought lot, and what a sample of it measured."""

    invoice = forms.CharField(label="Invoice", max_length=80, required=False)
    date_code = forms.CharField(
        label="Date code", max_length=40, required=False, help_text="as it is printed on the cells"
    )
    transport_summary = forms.CharField(
        label="Transport test summary",
        max_length=160,
        required=False,
        help_text="UN 38.3: its number or where it is kept; empty where none came",
    )
    picture = PictureField(label="Photograph of the print")
    sample = forms.CharField(
        label="Which cells were measured", max_length=160, required=False, help_text="such as 5 of 200, box 1 and 4"
    )
    mass_mg = PossibleField(SAMPLED["mass_mg"], whole=True, required=False, label="Mass, the most unlike one")
    diameter_um = PossibleField(SAMPLED["diameter_um"], whole=True, required=False, label="Diameter or thickness")
    height_um = PossibleField(SAMPLED["height_um"], whole=True, required=False, label="Height")
    capacity_mah = PossibleField(SAMPLED["capacity_mah"], required=False, label="Capacity, the most unlike one")
    dc_resistance_uohm = PossibleField(
        SAMPLED["dc_resistance_uohm"], whole=True, required=False, label="DC resistance, measured as a new cell's"
    )


class ReleaseForm(ShopForm):
    """Why a held lot is used all the same."""

    reason = forms.CharField(
        label="Why the lot is used all the same", max_length=300, help_text="Stays with the lot, with your name."
    )
