"""Current paths beside a circuit simulator (ngspice, Debian's package) on seeded random packs.

Every branch agrees within 1e-6 of itself and 1e-7 of the largest one; the simulator writes 15 digits.
"""

import random
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from packs.layout import (
    Feeds,
    Geometry,
    Layout,
    Spacing,
    StripSection,
    UnequalGroups,
    feed_joint,
    geometry,
    layout,
)
from packs.network import CurrentPaths, PathResistances, levelling, pack_circuit, resistance_per_length, solve_pack
from packs.terms import CellFormat, Feed, Packing, Terminals
from packs.topology import Arrangement
from packs.units import Quantity, ureg
from tests.packs.spice import Joint, Values, key, netlist, output, simulated, strip_links

pytestmark = pytest.mark.spice

PACKS = 30
SEED = 2026
# Nickel 200, 9.64e-8 Ω·m at 20 °C: Special Metals SMC-061, Table 3.
NICKEL_200 = 9.64e-8
ENDS = ("neg", "pos")


@dataclass(frozen=True)
class Case:
    """One random pack, as objects for the solver and as plain numbers for the netlist."""

    layout: Layout
    measured: Geometry
    feeds: Feeds
    values: Values
    resistances: PathResistances
    amps: float


def of(numbers: list[float], unit: str) -> Quantity:
    return ureg.Quantity(np.array(numbers), unit)


def random_layout(draw: random.Random, number: int) -> Layout:
    """The first pack is 1s1p, the last 14s8p; every third is not of round cells in rows."""
    series, parallel = {0: (1, 1), PACKS - 1: (14, 8)}.get(number, (draw.randint(1, 14), draw.randint(1, 8)))
    arrangement: Arrangement | UnequalGroups = Arrangement(series, parallel)
    if number % 6 == 1:
        arrangement = UnequalGroups(tuple(draw.randint(max(1, parallel - 2), parallel) for _ in range(series)))
    if number % 6 == 2:
        return layout(arrangement, CellFormat.PRISMATIC, Terminals.SAME_FACE)
    packing = Packing.NESTED if number % 6 == 4 else Packing.ROWS
    most_columns = draw.choice((4, 10, 14))
    return layout(arrangement, CellFormat.ROUND, Terminals.OPPOSITE_ENDS, packing=packing, most_columns=most_columns)


def random_case(number: int) -> Case:
    draw = random.Random(SEED + number)
    pack = random_layout(draw, number)
    flat = pack.terminals is Terminals.SAME_FACE
    pitch = draw.uniform(18.6, 23.0)
    across, down, reach = (
        (draw.uniform(90, 180), draw.uniform(20, 60), draw.uniform(20, 44)) if flat else (pitch, pitch, 0)
    )
    cells = [(cell.group, cell.place) for cell in pack.cells]
    width, thickness, tab_mm, lead = (
        draw.uniform(5, 10),
        draw.uniform(0.1, 0.3),
        draw.uniform(5, 20),
        draw.uniform(1e-4, 3e-3),
    )
    feeds = Feeds(draw.choice(list(Feed)), draw.choice(list(Feed)))
    fed = [(0, feeds.negative), (pack.arrangement.series, feeds.positive)]
    ohm_per_mm = NICKEL_200 / (width * thickness) * 1000
    values = Values(
        rest={cell: draw.uniform(3.0, 4.2) for cell in cells},
        inside={cell: draw.uniform(0.010, 0.080) for cell in cells},
        joint={(*cell, end): draw.uniform(0.05e-3, 0.5e-3) for cell in cells for end in ENDS},
        ohm_per_mm=ohm_per_mm,
        tab_ohm=tab_mm * ohm_per_mm,
        lead_ohm=lead,
        across=across,
        down=down,
        reach=reach,
        feeds=tuple(key(pack.joints[feed_joint(pack, node, feed)]) for node, feed in fed),  # type: ignore[arg-type]
    )
    mm = [ureg.Quantity(length, "mm") for length in (across, down, reach, width, thickness, tab_mm)]
    resistances = PathResistances(
        strip=resistance_per_length(ureg.Quantity(NICKEL_200, "ohm*m"), StripSection(mm[3], mm[4])),
        joint=of([values.joint[key(joint)] for joint in pack.joints], "ohm"),
        lead=ureg.Quantity(lead, "ohm"),
        tab_length=mm[5],
    )
    return Case(pack, geometry(pack, Spacing(*mm[:3])), feeds, values, resistances, draw.uniform(-20, 60))


def solved(case: Case, *, short: bool = False) -> CurrentPaths:
    circuit = pack_circuit(case.measured, case.resistances, case.feeds)
    response = solve_pack(
        circuit, of(list(case.values.rest.values()), "V"), of(list(case.values.inside.values()), "ohm")
    )
    return response.at(response.short_circuit_current if short else ureg.Quantity(case.amps, "A"))


def named(case: Case, paths: CurrentPaths) -> dict[str, float]:
    """Currents by the names that the netlist gives its resistors."""
    found = {
        f"rc{group}_{place}": amps for (group, place), amps in zip(case.values.rest, paths.cells.amps, strict=True)
    }
    for joint, amps in zip(case.layout.joints, paths.joints.amps, strict=True):
        group, place, end = key(joint)
        found[f"rj{group}_{place}_{end}"] = amps
    numbers = {link: number for number, link in enumerate(strip_links(case.layout, case.values))}
    for (one, other), amps in zip(link_names(case), paths.links.amps, strict=True):
        straight = (one, other) in numbers
        found[f"rl{numbers[(one, other) if straight else (other, one)]}"] = amps if straight else -amps
    for name, parts in (("t", paths.tabs), ("l", paths.leads)):
        found |= {f"r{name}n": parts.amps[0], f"r{name}p": parts.amps[1]}
    return found


def link_names(case: Case) -> list[tuple[Joint, Joint]]:
    links, joints = case.layout.links, case.layout.joints
    return [(key(joints[one]), key(joints[other])) for one, other in zip(links.first, links.second, strict=True)]


def agree(ours: dict[str, float], theirs: dict[str, float]) -> None:
    assert ours.keys() == theirs.keys()
    largest = max(abs(amps) for amps in theirs.values())
    apart = {name: abs(ours[name] - amps) - 1e-6 * abs(amps) - 1e-7 * largest for name, amps in theirs.items()}
    assert max(apart.values()) <= 0, max(apart, key=apart.__getitem__)


@pytest.mark.parametrize("number", range(PACKS))
def test_every_branch_agrees_with_the_simulator(number: int, ngspice: str, tmp_path: Path) -> None:
    case = random_case(number)
    paths = solved(case)
    theirs = simulated(ngspice, netlist(case.layout, case.values, amps=case.amps), tmp_path)
    assert paths.terminal_voltage.to("V").magnitude == pytest.approx(theirs.pop("out"), rel=1e-9)
    agree(named(case, paths), theirs)


@pytest.mark.parametrize("number", range(0, PACKS, 5))
def test_short_circuit_current_agrees_with_a_shorted_pack(number: int, ngspice: str, tmp_path: Path) -> None:
    case = random_case(number)
    theirs = simulated(ngspice, netlist(case.layout, case.values, amps=None), tmp_path)
    theirs.pop("out")
    agree(named(case, solved(case, short=True)), theirs)


def test_the_random_packs_span_what_they_should() -> None:
    packs = [random_case(number).layout for number in range(PACKS)]
    assert [str(pack.arrangement) for pack in (packs[0], packs[-1])] == ["1s1p", "14s8p"]
    assert {pack.packing for pack in packs} == set(Packing)
    assert {pack.terminals for pack in packs} == {Terminals.OPPOSITE_ENDS, Terminals.SAME_FACE}
    assert any(isinstance(pack.arrangement, UnequalGroups) for pack in packs)


def test_levelling_agrees_with_two_capacitors_and_a_resistor(ngspice: str, tmp_path: Path) -> None:
    """Two cells of 3 Ah through 1 Ω: with 0.70 V over the charge each is a capacitor of 10800 C / 0.70 V."""
    three, slope = ureg.Quantity(3, "Ah"), ureg.Quantity(0.70, "V")
    cells, inside = (ureg.Quantity(3.9, "V"), ureg.Quantity(3.7, "V")), [ureg.Quantity(30, "mΩ")] * 2
    done = levelling(cells, (three, three), slope, ureg.Quantity(1, "ohm"), resistances=inside)
    seconds = done.duration.to("s").magnitude
    farad = 10800 / 0.70
    text = f"""* levelling
c1 high 0 {farad!r} ic=3.9
c2 low 0 {farad!r} ic=3.7
r1 high middle 1.0
r2 middle low 0.06
.control
set numdgt=15
tran {seconds / 20000!r} {seconds!r} uic
let apart = high[length(high)-1] - low[length(low)-1]
let first = (high[0] - low[0]) / 1.06
print apart first
quit
.endc
.end
"""
    answers = (line.partition(" = ") for line in output(ngspice, text, tmp_path))
    theirs = {name: float(number) for name, _, number in answers if name in {"apart", "first"}}
    assert theirs["apart"] == pytest.approx(0.005, rel=1e-4)
    assert done.peak_current.to("A").magnitude == pytest.approx(theirs["first"], rel=1e-5)
