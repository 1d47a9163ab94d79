"""Numbers beside the lines of a plot are those of the lines, and a bar stands over what it counts."""

import re
from itertools import pairwise

from shop import plots


def labels(svg: bytes) -> list[str]:
    return re.findall(r">\s*([\d.\u2212]+)\s*</text>", svg.decode())


def test_lines_a_quarter_apart_are_named_by_two_digits() -> None:
    """Invented: a discharge from 4.2 to 3.0 V in a wide, low picture."""
    line = plots.Line("voltage", [0.0, 1.0, 2.0, 3.0], [4.2, 3.7, 3.4, 3.0])
    for inches in ((9.0, 2.6), (4.2, 2.4), (5.0, 3.0)):
        numbers = [float(one) for one in labels(plots.line_plot([line], "Time [h]", "Voltage [V]", inches=inches))]
        volts = [one for one in numbers if one > 2.9][1:]
        steps = {round(b - a, 6) for a, b in pairwise(volts)}
        assert len(steps) == 1, (inches, volts)


def test_a_bar_of_a_range_stands_between_its_ends() -> None:
    """Invented: one cell from 1800, two from 1900 to 2000 mAh: three ticks for two bars."""
    bars = [plots.Bar("1800", 1), plots.Bar("1900", 2)]
    shown = labels(plots.bar_plot(bars, "Capacity [mAh]", "Cells", ends_at="2000"))
    assert [one for one in shown if float(one) >= 1800] == ["1800", "1900", "2000"]
