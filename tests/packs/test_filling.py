"""How full a place is: below, at and above the share of warning and the limit."""

from decimal import Decimal

import pytest

from packs import filling
from packs.errors import ImpossibleValue
from packs.filling import Held, Room
from packs.terms import Bulk, CellFormat


@pytest.mark.parametrize(
    ("amount", "room"),
    [
        ("0", Room.CLEAR),
        ("79.999", Room.CLEAR),
        ("80", Room.NEARLY),
        ("99.999", Room.NEARLY),
        ("100", Room.FULL),
        ("100.001", Room.OVER),
    ],
)
def test_room_below_at_and_above_its_shares(amount: str, room: Room) -> None:
    """Eighty and a hundred per cent of an invented limit of 100 mWh."""
    (energy, mass, _) = filling.against(Held({Bulk.ENERGY: Decimal(amount)}), {Bulk.ENERGY: Decimal(100)})
    assert energy.room is room
    assert mass.room is Room.UNLIMITED


def test_both_together_keep_what_could_not_be_counted() -> None:
    facts = {"capacity_mah": Decimal(2600), "voltage_mv": Decimal(3600), "volume_mm3": None}
    some = filling.of_cells(10, name="A", mass_mg=46_000, **facts) + filling.of_cells(
        2, name="B", mass_mg=None, **facts
    )
    # 12 cells of 2.6 Ah at 3.6 V are 112.32 Wh; arithmetic.
    assert some.amount(Bulk.ENERGY) == 112_320
    assert some.amount(Bulk.MASS) == 460_000
    assert some.uncounted[Bulk.MASS] == ("2 cells of B",)
    assert some.uncounted[Bulk.VOLUME] == ("10 cells of A", "2 cells of B")
    assert filling.of_cells(0, name="B", mass_mg=None, **facts) == Held()
    with pytest.raises(ImpossibleValue):
        filling.of_cells(-1, name="B", mass_mg=None, **facts)


@pytest.mark.parametrize(
    ("cell_format", "sizes", "volume"),
    [
        (CellFormat.ROUND, (18_000, None, 65_000), Decimal(21060)),
        (CellFormat.ROUND, (18_000, 99_000, 65_000), Decimal(21060)),
        (CellFormat.PRISMATIC, (20_000, 70_000, 100_000), Decimal(140000)),
        (CellFormat.PRISMATIC, (20_000, None, 100_000), None),
        (CellFormat.ROUND, (None, None, 65_000), None),
        (CellFormat.ROUND, (18_000, None, None), None),
    ],
)
def test_a_cell_takes_up_the_box_around_it(
    cell_format: CellFormat, sizes: tuple[int | None, int | None, int | None], volume: Decimal | None
) -> None:
    """Geometry: width times depth times height in cubic millimetres."""
    assert filling.outer_volume(cell_format, *sizes) == volume
