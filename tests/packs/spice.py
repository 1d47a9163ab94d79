"""A pack as a netlist for ngspice, written from cells and strips alone, and what the simulator answers.

Which joints are neighbours and how far apart they lie is worked out here once more, so that a mistake in the links
of ``packs.layout`` or in the branches of ``packs.network`` shows.
"""

import re
import subprocess
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, sqrt
from pathlib import Path

from packs.layout import CellPlace, JointPlace, Layout
from packs.terms import Packing

Joint = tuple[int, int, str]  # group, place, end
Link = tuple[Joint, Joint]
Place = tuple[CellPlace, int]  # a cell and the side of it on which a terminal lies
Axis = Callable[[Place], tuple[int, int]]
ANSWER = re.compile(r"^@?([a-z0-9_]+)\[(?:i|current)\] = (\S+)$|^v\(([a-z0-9_]+)\) = (\S+)$")


@dataclass(frozen=True)
class Values:
    """Plain numbers in V, Ω, A and mm; cells and joints by name."""

    rest: Mapping[tuple[int, int], float]
    inside: Mapping[tuple[int, int], float]
    joint: Mapping[Joint, float]
    ohm_per_mm: float
    tab_ohm: float
    lead_ohm: float
    across: float
    down: float
    reach: float
    feeds: tuple[Joint, Joint]


def key(joint: JointPlace) -> Joint:
    return joint.group, joint.place, joint.end.value[:3]


def strip_links(layout: Layout, values: Values) -> dict[Link, float]:
    """Length in mm of the strip between each two joints that follow each other down a line or along a row."""
    found: dict[Link, float] = {}
    for strip in layout.strips:
        spots = {key(joint): _spot(layout, joint, values) for joint in strip.joints}
        places = {key(joint): (layout.cell(joint.group, joint.place), joint.side) for joint in strip.joints}
        for one, other in (*_following(places, _line, _row), *_following(places, _row, _line)):
            found[one, other] = hypot(*(a - b for a, b in zip(spots[one], spots[other], strict=True)))
    return found


def _line(place: Place) -> tuple[int, int]:
    return place[0].column, place[1]


def _row(place: Place) -> tuple[int, int]:
    return place[0].row, 0


def _following(places: Mapping[Joint, Place], same: Axis, rising: Axis) -> Iterator[Link]:
    lines: dict[tuple[int, int], list[tuple[tuple[int, int], Joint]]] = defaultdict(list)
    for name, place in places.items():
        lines[same(place)].append((rising(place), name))
    for line in lines.values():
        yield from ((one[1], other[1]) for one, other in pairwise(sorted(line)))


def _spot(layout: Layout, joint: JointPlace, values: Values) -> tuple[float, float]:
    cell = layout.cell(joint.group, joint.place)
    row = sorted({other.row for other in layout.cells}).index(cell.row)
    if layout.packing is Packing.NESTED:
        return cell.column * values.across * sqrt(0.75), (row + cell.column % 2 / 2) * values.down
    return cell.column * values.across + joint.side * values.reach, row * values.down


def netlist(layout: Layout, values: Values, *, amps: float | None) -> str:
    """The pack with a current drawn from it; None shorts it. Every resistor points the way a discharge flows."""
    lines = ["* pack"]
    for group, place in values.rest:
        name = f"{group}_{place}"
        lines.append(f"v{name} m{name} t{name}_neg dc {values.rest[group, place]!r}")
        lines.append(f"rc{name} m{name} t{name}_pos {values.inside[group, place]!r}")
        lines.append(f"rj{name}_neg s{name}_neg t{name}_neg {values.joint[group, place, 'neg']!r}")
        lines.append(f"rj{name}_pos t{name}_pos s{name}_pos {values.joint[group, place, 'pos']!r}")
    for number, ((one, other), length) in enumerate(strip_links(layout, values).items()):
        lines.append(f"rl{number} {_node(one)} {_node(other)} {length * values.ohm_per_mm!r}")
    negative, positive = map(_node, values.feeds)
    lines += [f"rtn tabn {negative} {values.tab_ohm!r}", f"rln 0 tabn {values.lead_ohm!r}"]
    lines += [f"rtp {positive} tabp {values.tab_ohm!r}", f"rlp tabp out {values.lead_ohm!r}"]
    lines.append("vload out 0 dc 0" if amps is None else f"iload out 0 dc {amps!r}")
    names = [line.split()[0] for line in lines if line.startswith("r")]
    asked = [f"print @{name}[i]" for name in names] + ["print v(out)"]
    return "\n".join([*lines, ".control", "set numdgt=15", "op", *asked, "quit", ".endc", ".end", ""])


def _node(joint: Joint) -> str:
    group, place, end = joint
    return f"s{group}_{place}_{end}"


def simulated(ngspice: str, text: str, folder: Path) -> dict[str, float]:
    """Currents by name of resistor, and voltages by name of node."""
    found = (ANSWER.match(line) for line in output(ngspice, text, folder))
    return {match[1] or match[3]: float(match[2] or match[4]) for match in found if match}


def output(ngspice: str, text: str, folder: Path) -> list[str]:
    """Lines that the simulator writes for a netlist."""
    path = folder / "netlist.cir"
    path.write_text(text)
    done = subprocess.run([ngspice, "-b", str(path)], capture_output=True, text=True, timeout=120, check=False)
    return [line.strip() for line in done.stdout.splitlines()]
