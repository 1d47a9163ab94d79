"""A sample of a bought lot beside the data sheet of its cell model."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from packs import goods_in
from packs.terms import Measure
from packs.units import Quantity, of, ureg
from shop.bridge.possible import OF_A_CELL, STATED, Bound
from shop.models import CellModel, NewCell

SAMPLED: Mapping[str, Bound] = MappingProxyType(
    {
        "mass_mg": STATED["mass_mg"],
        "diameter_um": STATED["diameter_um"],
        "height_um": STATED["height_um"],
        "capacity_mah": OF_A_CELL[Measure.CAPACITY],
        "dc_resistance_uohm": OF_A_CELL[Measure.DC_RESISTANCE],
    }
)
"""What of a sample is measured, and what it may be at all."""


def doubts(model: CellModel, sample: Mapping[str, Decimal | int]) -> list[str]:
    """Say what of a sample cannot be of cells of the model; what sheet or sample do not say is not compared."""
    new = NewCell.objects.filter(cell_model=model).order_by("pk").last()
    new_ohm = None if new is None else of(Measure.DC_RESISTANCE, new.dc_resistance_uohm)
    compared = [
        goods_in.of_mass(_of(Measure.MASS, sample.get("mass_mg")), _of(Measure.MASS, model.mass_mg)),
        goods_in.of_size("diameter or thickness", _length(sample.get("diameter_um")), _length(model.diameter_um)),
        goods_in.of_size("height", _length(sample.get("height_um")), _length(model.height_um)),
        goods_in.of_capacity(
            _of(Measure.CAPACITY, sample.get("capacity_mah")), of(Measure.CAPACITY, model.rated_capacity_mah)
        ),
        goods_in.of_resistance(_of(Measure.DC_RESISTANCE, sample.get("dc_resistance_uohm")), new_ohm),
    ]
    return [said for one in compared if (said := goods_in.doubt(one))]


def _of(measure: Measure, value: Decimal | int | None) -> Quantity | None:
    return None if value is None else of(measure, value)


def _length(value: Decimal | int | None) -> Quantity | None:
    return None if value is None else ureg.Quantity(float(value), "um")
