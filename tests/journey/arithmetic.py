"""What the pages and papers of the journey must say, worked out here from the data alone.

Imports nothing of the project: a fault in its formulas can't hide behind the same fault here.
"""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from itertools import combinations
from pathlib import Path

RATED_MAH, NOMINAL_MV, CHARGE_MV, DISCHARGED_MV = Decimal(2100), Decimal(3600), Decimal(4200), Decimal(3000)


@dataclass(frozen=True)
class Measured:
    """One row of the table: a cell at one age, with capacity, DC resistance and rest voltage at 50 % charge."""

    identity: str
    mah: Decimal
    mohm: Decimal
    mv: Decimal

    @property
    def code(self) -> str:
        """The cell without its age."""
        return self.identity.split("-")[0]


def cells_at_last_age(table: Path) -> dict[str, Measured]:
    """Return the twelve round cells of 2.1 Ah after 600 cycles."""
    with table.open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["batch"] == "NMC2.1" and row["id"].endswith("-600")]
    cells = [
        Measured(
            row["id"],
            Decimal(row["q_ah"]) * 1000,
            Decimal(row["r5s_dis_1c_soc50_mohm"]),
            Decimal(row["ocv50_v"]) * 1000,
        )
        for row in rows
    ]
    return {cell.code: cell for cell in cells}


def best_weakest_pair(cells: Iterable[Measured], groups: int) -> Decimal:
    """Return the largest capacity [mAh] the weakest of so many pairs of these cells can have; every choice is tried."""

    def best(left: tuple[Decimal, ...]) -> Decimal:
        if not left:
            return Decimal("Infinity")
        first, others = left[0], left[1:]
        return max(min(first + other, best(others[:place] + others[place + 1 :])) for place, other in enumerate(others))

    chosen = combinations([cell.mah for cell in cells], groups * 2)
    return max(best(some) for some in chosen)


def largest_current_on_joining(cells: Sequence[tuple[Decimal, Decimal]]) -> Decimal:
    """Return the largest current [A] that any cell of a group (mV, mΩ) can see when it joins any of the others.

    Kirchhoff's laws: cells that are joined rest at the mean of their voltages, weighted by their conductances.
    """
    currents = [Decimal(0)]
    for place, (mv, mohm) in enumerate(cells):
        others = [*cells[:place], *cells[place + 1 :]]
        for size in range(1, len(others) + 1):
            for joined in combinations(others, size):
                conductance = sum(1 / other for _, other in joined)
                bus = sum(voltage / other for voltage, other in joined) / conductance
                currents.append(abs(mv - bus) / (mohm + 1 / conductance))
    return max(currents)


def taps(groups_mv: Sequence[Sequence[Decimal]]) -> list[Decimal]:
    """Return the voltage at each tap [mV]: the mean of each group, added up from the negative end."""
    total, ladder = Decimal(0), []
    for group in groups_mv:
        total += sum(group) / len(group)
        ladder.append(total)
    return ladder


def joints_of_strips(series: int, parallel: int) -> list[int]:
    """Return the joints on each strip of a welded pack: its two outer strips hold one group, the others two."""
    return [parallel, *[2 * parallel] * (series - 1), parallel]


def side_by_side(cells: Iterable[Measured]) -> Decimal:
    """Return the resistance of cells in parallel [mΩ]."""
    return 1 / sum((1 / cell.mohm for cell in cells), Decimal(0))


def rated_energy_wh(cells: int) -> Decimal:
    """Return rated capacity times nominal voltage of so many cells [Wh]."""
    return cells * RATED_MAH * NOMINAL_MV / 1_000_000


def printed(value: Decimal, digits: int) -> str:
    """Return a number as it is printed with so many digits behind the point."""
    return f"{value.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN):f}"


def mah(value: Decimal) -> str:
    """Return a capacity [mAh] as it is printed."""
    return f"{printed(value, 0)} mAh"


def mohm(value: Decimal) -> str:
    """Return a resistance [mΩ] as it is printed."""
    return f"{printed(value, 1)} mΩ"


def volts(mv: Decimal) -> str:
    """Return a voltage [mV] as it is printed: in volts, to a millivolt below ten of them and to a hundredth above."""
    return f"{printed(mv / 1000, 3 if mv < 10_000 else 2)} V"
