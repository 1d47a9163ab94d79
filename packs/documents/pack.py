"""A pack on paper: what it is rated at, which cell stands where, what a limit says.

Numbers stand in the units they are stored in, and every name says which: mV, mAh, mA, µΩ, mWh.
"""

from dataclasses import dataclass
from decimal import Decimal

from packs.terms import CellFormat, Chemistry, LotOrigin, Measure, Packing, Terminals


@dataclass(frozen=True)
class Outline:
    """What the drawing of a pack is made from."""

    series: int
    parallel: int
    cell_format: CellFormat
    terminals: Terminals
    packing: Packing = Packing.ROWS
    conductor: str = "strip"


@dataclass(frozen=True)
class PackRating:
    """What a pack is rated at by the data sheet of its cells; the energy is exact."""

    arrangement: str
    cells: int
    cell_model: str
    chemistry: Chemistry
    nominal_voltage_mv: Decimal
    voltage_low_mv: Decimal
    voltage_high_mv: Decimal
    rated_capacity_mah: Decimal
    rated_energy_mwh: Decimal


@dataclass(frozen=True)
class PlacedCell:
    """One cell in its position, with what was measured of it; None where that was not measured.

    ``repairs`` says what had to be repaired in the tester files that its figures come from.
    """

    group: int
    place: int
    code: str
    origin: LotOrigin
    capacity_mah: Decimal | None
    dc_resistance_uohm: Decimal | None
    rest_voltage_mv: Decimal | None
    repairs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Group:
    """One group of cells in parallel; ``charged_mv`` and ``rest_mv`` are known once the pack was tested.

    A group that ``stays`` is one of the old pack as it was: its cells are not named, ``found_mv`` and ``before_mv`` are
    what it showed at rest when it was found and before the new groups were joined.
    """

    number: int
    cells: tuple[PlacedCell, ...]
    capacity_mah: Decimal | None
    resistance_uohm: Decimal | None
    weakest: bool
    charged_mv: Decimal | None = None
    rest_mv: Decimal | None = None
    stays: bool = False
    found_mv: Decimal | None = None
    before_mv: Decimal | None = None


@dataclass(frozen=True)
class Mixed:
    """A pack of which some groups were replaced and the others stay as old as they were, by their numbers.

    ``limiting`` are the weakest groups, none where all hold the same; ``limit_mah`` is None where that is not known, since
    nobody measured the capacity of the ``unmeasured``.
    """

    replaced: tuple[int, ...]
    stay: tuple[int, ...]
    unmeasured: tuple[int, ...]
    limiting: tuple[int, ...]
    limit_mah: Decimal | None


@dataclass(frozen=True)
class Limit:
    """What a value is held against: at least ``low``, at most ``high``, or exactly both where they are equal.

    ``warns`` marks a limit that is to be looked at, but does not stop the work.
    """

    what: str
    measure: Measure
    low: Decimal | None
    high: Decimal | None
    warns: bool = False


def repaired(groups: tuple[Group, ...]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return every repair of the tester files behind a pack's figures [any unit], once, with the codes of its cells.

    References
    ----------
    Common practice, no source.
    """
    codes: dict[str, list[str]] = {}
    for cell in (cell for group in groups for cell in group.cells):
        for repair in cell.repairs:
            codes.setdefault(repair, []).append(cell.code)
    return tuple((repair, tuple(of)) for repair, of in codes.items())


@dataclass(frozen=True)
class WayStated:
    """What was stated of peak, leads and fuse, and how flat cells are held; None or nothing where it was not.

    ``lead`` is the gauge that the section was typed as.
    """

    peak_current_ma: int | None = None
    peak_time_ms: int | None = None
    lead: str = ""
    lead_area_um2: int | None = None
    lead_length_um: int | None = None
    fuse_current_ma: int | None = None
    fuse_voltage_mv: int | None = None
    fuse_breaking_ma: int | None = None
    held: str = ""


@dataclass(frozen=True)
class CellToLevel:
    """A cell, or a whole group where ``code`` is empty, that is brought to another rest voltage before joining [mV].

    ``target_mv`` is None where cells are brought to equal charge, ``rest_mv`` where nobody measured it.
    """

    group: int
    code: str
    rest_mv: Decimal | None
    target_mv: Decimal | None
