"""How full a place is: the energy, mass and volume of the batteries in it against what it may hold."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from packs.errors import ImpossibleValue
from packs.terms import Bulk, CellFormat, Term
from packs.topology import rated_energy_wh

WARN_SHARE = Decimal("0.8")
"""From this share of a limit on a place is nearly full; common practice, no source."""


class Room(Term):
    """How much room a place still has."""

    UNLIMITED = "unlimited", "no limit entered"
    CLEAR = "clear", "room left"
    NEARLY = "nearly", "nearly full"
    FULL = "full", "full"
    OVER = "over", "over its limit"


@dataclass(frozen=True)
class Held:
    """What stands in a place: amounts by bulk [mWh], [mg], [mm³], and in words what could not be counted."""

    amounts: Mapping[Bulk, Decimal] = field(default_factory=dict)
    uncounted: Mapping[Bulk, tuple[str, ...]] = field(default_factory=dict)

    def __add__(self, other: "Held") -> "Held":
        """Return both together."""
        return Held(
            {bulk: self.amount(bulk) + other.amount(bulk) for bulk in Bulk},
            {bulk: (*self.uncounted.get(bulk, ()), *other.uncounted.get(bulk, ())) for bulk in Bulk},
        )

    def amount(self, bulk: Bulk) -> Decimal:
        """Return how much of a bulk is counted [mWh], [mg], [mm³]."""
        return self.amounts.get(bulk, Decimal())


@dataclass(frozen=True)
class Filled:
    """One bulk of a place against its limit; ``share`` is None where no limit was entered."""

    bulk: Bulk
    amount: Decimal
    limit: Decimal | None
    uncounted: tuple[str, ...] = ()

    @property
    def share(self) -> Decimal | None:
        """How full it is [dimensionless], 1 at the limit."""
        return None if self.limit is None else self.amount / self.limit

    @property
    def room(self) -> Room:
        """How much room is left."""
        share = self.share
        if share is None:
            return Room.UNLIMITED
        if share > 1:
            return Room.OVER
        if share == 1:
            return Room.FULL
        return Room.NEARLY if share >= WARN_SHARE else Room.CLEAR


def outer_volume(
    cell_format: CellFormat, diameter_um: int | None, width_um: int | None, height_um: int | None
) -> Decimal | None:
    """Return the room that a cell takes up among others: the box around it [mm³]; None where a size is not known.

    Parameters
    ----------
    cell_format : CellFormat
        Round cells have a diameter, flat ones a width and in its place a thickness.
    diameter_um, width_um, height_um : int or None
        Sizes of the data sheet [µm].

    References
    ----------
    Geometry. That a round cell counts with the corners around it: common practice, no source; cells side by side in
    boxes leave no less.

    Examples
    --------
    >>> outer_volume(CellFormat.ROUND, 18_000, None, 65_000)
    Decimal('21060')
    """
    across = diameter_um if cell_format is CellFormat.ROUND else width_um
    if diameter_um is None or across is None or height_um is None:
        return None
    return Decimal(diameter_um) * across * height_um / 1_000_000_000


def of_cells(
    count: int,
    *,
    name: str,
    capacity_mah: Decimal,
    voltage_mv: Decimal,
    mass_mg: int | None,
    volume_mm3: Decimal | None,
) -> Held:
    """Return what cells of one model hold at their rated capacity: energy [mWh], mass [mg], volume [mm³].

    Raises
    ------
    ImpossibleValue
        Fewer than no cells.

    References
    ----------
    Arithmetic: rated energy is capacity times nominal voltage, whatever charge a cell has at the moment.

    Examples
    --------
    >>> held = of_cells(100, name="M", capacity_mah=Decimal(2500), voltage_mv=Decimal(3600), mass_mg=45_000, volume_mm3=None)
    >>> held.amount(Bulk.ENERGY), held.amount(Bulk.MASS), held.uncounted[Bulk.VOLUME]
    (Decimal('900000'), Decimal('4500000'), ('100 cells of M',))
    """
    if count < 0:
        raise ImpossibleValue(f"{count} cells cannot stand anywhere.")
    if not count:
        return Held()
    each = {
        Bulk.ENERGY: rated_energy_wh(capacity_mah, voltage_mv, 1) * 1000,
        Bulk.MASS: None if mass_mg is None else Decimal(mass_mg),
        Bulk.VOLUME: volume_mm3,
    }
    words = (f"{count} {'cell' if count == 1 else 'cells'} of {name}",)
    return Held(
        {bulk: value * count for bulk, value in each.items() if value is not None},
        {bulk: words for bulk, value in each.items() if value is None},
    )


def against(held: Held, limits: Mapping[Bulk, Decimal]) -> tuple[Filled, ...]:
    """Hold what stands in a place against its limits [mWh], [mg], [mm³]; exactly the limit is allowed.

    References
    ----------
    Arithmetic; the limits are the owner's, from insurer and fire code.

    Examples
    --------
    >>> [one.room.value for one in against(Held({Bulk.MASS: Decimal(8)}), {Bulk.MASS: Decimal(10)})]
    ['unlimited', 'nearly', 'unlimited']
    """
    return tuple(
        Filled(bulk, held.amount(bulk), limits.get(bulk), tuple(held.uncounted.get(bulk, ()))) for bulk in Bulk
    )
