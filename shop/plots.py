"""Curves as SVG, the same on a page and on paper: told apart by dash and mark as well as by colour.

A page shows one as an image with an address of its own: the drawing carries styles, which a page may not hold.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from io import StringIO
from threading import Lock
from typing import TYPE_CHECKING

from packs.units import Kind, show, ureg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure

INK, SOFT, HAIR, SHEET = "#1c1d1c", "#55584f", "#dedad0", "#fffefb"
"""As in ``static/css/tokens.css``."""

HUES = ("#00609a", "#a84000", "#006b4f", "#8f3f6d", "#7f5700")
"""Okabe and Ito's, darkened as in ``static/css/tokens.css``."""

IN_THE_DARK = {
    INK: "#eceae3",
    SOFT: "#adaea5",
    HAIR: "#363a37",
    SHEET: "#1f2221",
    **dict(zip(HUES, ("#6dbdf2", "#ff8f55", "#36c596", "#e39dc3", "#efb13c"), strict=True)),
}
DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), "-.", (0, (8, 2, 1, 2, 1, 2)))
MARKS = ("o", "s", "^", "D", "v")
FONT = "'Source Sans 3', system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', sans-serif"
FONT_MEASURED = "DejaVu Sans"
MARKS_ON_A_LINE = 6
MANY_NAMES = 60
"""Points whose names are written in full size at most; names of more are written smaller."""
ONE_AT_A_TIME = Lock()
"""The library shares its fonts between figures and is not made for several threads at once."""
LEFT, RIGHT, BELOW, ROW = 0.75, 0.24, 0.52, 0.22
"""Room around a plot [in]; a layout that measures every word takes as long as the plot itself."""


@dataclass(frozen=True)
class Line:
    """One curve: what it shows, and its points, x and y of the same number; NaN leaves a gap."""

    label: str
    x: Sequence[float]
    y: Sequence[float]


@dataclass(frozen=True)
class Mark:
    """A level that is drawn across the whole plot, such as a limit."""

    label: str
    y: float


def line_plot(
    series: Sequence[Line],
    x_label: str,
    y_label: str,
    *,
    levels: Sequence[Mark] = (),
    y_range: tuple[float, float] | None = None,
    locale: str = "en",
    inches: tuple[float, float] = (5.0, 3.0),
) -> bytes:
    """Return curves over one axis as an SVG document; the same input gives the same bytes."""
    with ONE_AT_A_TIME:
        figure = _figure(inches)
        axes = figure.add_subplot()
        for number, line in enumerate(series):
            _draw(axes, number, line)
        for level in levels:
            axes.axhline(level.y, color=SOFT, linewidth=1.0, linestyle=(0, (1, 2)), label=level.label)
        _dress(axes, x_label, y_label, y_range)
        for axis in (axes.xaxis, axes.yaxis):
            _number(axis, locale)
        _name(figure, axes, len(series) + len(levels))
        return _svg(figure)


@dataclass(frozen=True)
class Cloud:
    """Points of one kind: their label, x and y, and what is written beside each of them ("" for nothing)."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    names: Sequence[str] = ()


def scatter_plot(
    clouds: Sequence[Cloud],
    x_label: str,
    y_label: str,
    *,
    locale: str = "en",
    inches: tuple[float, float] = (5.0, 3.4),
) -> bytes:
    """Return points of several kinds as an SVG document: the first kind small and hollow, the others by mark and name."""
    with ONE_AT_A_TIME:
        figure = _figure(inches)
        axes = figure.add_subplot()
        size = 8.0 if sum(len(cloud.names) for cloud in clouds) <= MANY_NAMES else 5.5
        for number, cloud in enumerate(clouds):
            _dot(axes, number, cloud, size)
        _dress(axes, x_label, y_label, None)
        axes.margins(x=0.05, y=0.1)
        for axis in (axes.xaxis, axes.yaxis):
            _number(axis, locale)
        _name(figure, axes, len(clouds))
        return _svg(figure)


def _dot(axes: "Axes", number: int, cloud: Cloud, size: float) -> None:
    hue = SOFT if number == 0 else HUES[(number - 1) % len(HUES)]
    axes.plot(
        cloud.x, cloud.y, linestyle="", marker=MARKS[number % len(MARKS)], color=hue,
        markersize=3.5 if number == 0 else 6.0, label=cloud.label, markerfacecolor="none" if number == 0 else hue,
    )  # fmt: skip
    for x, y, name in zip(cloud.x, cloud.y, cloud.names, strict=False):
        axes.annotate(name, (x, y), xytext=(4, 3), textcoords="offset points", fontsize=size, color=INK)


@dataclass(frozen=True)
class Bar:
    """One bar with its name; a bar that is marked is hatched as well as coloured."""

    name: str
    height: float
    marked: bool = False


def bar_plot(
    bars: Sequence[Bar],
    x_label: str,
    y_label: str,
    *,
    levels: Sequence[Mark] = (),
    ends_at: str = "",
    locale: str = "en",
    inches: tuple[float, float] = (5.0, 3.0),
) -> bytes:
    """Return bars as an SVG document; the axis begins below the lowest, so that small differences are seen.

    With ``ends_at`` a bar stands for what lies from its name to the next one's, the last up to there: bars stand
    between their ticks.
    """
    shifted = 0.5 if ends_at else 0.0
    heights = [bar.height for bar in bars] + [level.y for level in levels]
    low, high = min(heights), max(heights)
    room = max(high - low, high / 200)
    with ONE_AT_A_TIME:
        figure = _figure(inches)
        axes = figure.add_subplot()
        for number, bar in enumerate(bars):
            hue = HUES[1] if bar.marked else HUES[0]
            axes.bar(
                number + shifted, bar.height, width=0.7, color="none", edgecolor=hue,
                hatch="////" if bar.marked else None, linewidth=1.4,
                gid=f"bar-{bar.name}{'-marked' if bar.marked else ''}",
            )  # fmt: skip
        for level in levels:
            axes.axhline(level.y, color=SOFT, linewidth=1.2, linestyle=(0, (4, 2)), label=level.label, gid="level")
        _dress(axes, x_label, y_label, (max(0.0, low - room), high + room / 2))
        names = [bar.name for bar in bars] + ([ends_at] if ends_at else [])
        axes.set_xticks(range(len(names)), names)
        _number(axes.yaxis, locale)
        _name(figure, axes, len(levels) + 1 if levels else 0)
        return _svg(figure)


def _draw(axes: "Axes", number: int, line: Line) -> None:
    """The marks of two lines that lie on each other stand apart, so that both are seen."""
    every = max(1, len(line.x) // MARKS_ON_A_LINE)
    axes.plot(
        line.x,
        line.y,
        color=HUES[number % len(HUES)],
        linestyle=DASHES[number % len(DASHES)],
        linewidth=1.8,
        marker=MARKS[number % len(MARKS)],
        markersize=4.5,
        markevery=(every * (number % 4) // 4, every),
        label=line.label,
    )


def _dress(axes: "Axes", x_label: str, y_label: str, y_range: tuple[float, float] | None) -> None:
    axes.set_facecolor("none")
    axes.set_xlabel(x_label, color=INK)
    axes.set_ylabel(y_label, color=INK)
    axes.tick_params(colors=SOFT, labelcolor=INK)
    axes.grid(color=HAIR, linewidth=0.8)
    axes.margins(x=0.02)
    for name, spine in axes.spines.items():
        spine.set_visible(name in ("left", "bottom"))
        spine.set_color(SOFT)
    if y_range is not None:
        axes.set_ylim(y_range)


def _name(figure: "Figure", axes: "Axes", names: int) -> None:
    """Name the lines above the plot, where none of them can be hidden, and leave room for what stands around it."""
    rows = (names + 1) // 2 if names > 1 else 0
    wide, high = figure.get_size_inches()
    left, right, below, above = LEFT / wide, 1 - RIGHT / wide, BELOW / high, 1 - (RIGHT + rows * ROW) / high
    figure.subplots_adjust(left=left, right=right, bottom=below, top=above)
    if rows:
        at = (0.0, 1.0 + 0.05 / (above - below) / high)
        axes.legend(
            loc="lower left", bbox_to_anchor=at, ncols=2, frameon=False, fontsize=9, labelcolor=INK, handlelength=3.2,
            borderaxespad=0.0, borderpad=0.0,
        )  # fmt: skip


def _number(axis: "Axis", locale: str) -> None:
    """Write the numbers of an axis as the shop writes numbers, with the digits that its steps ask for.

    The steps are asked for as the axis is drawn: they change with the room that is left for it.
    """

    def written(value: float, _position: object) -> str:
        ticks = axis.get_majorticklocs()
        step = float(ticks[1] - ticks[0]) if len(ticks) > 1 else 1.0
        digits = next((some for some in range(4) if abs(round(step, some) - step) < step / 1000), 4)
        return show(ureg.Quantity(value, ""), Kind.COUNT, locale=locale, digits=digits).value

    axis.set_major_formatter(written)


@cache
def _library() -> "type[Figure]":
    """Load the library at the first plot: it takes longer than the rest of the shop's start."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    mpl.rcParams.update(
        {
            "svg.hashsalt": "shop",
            "svg.fonttype": "none",
            "font.family": FONT_MEASURED,
            "font.size": 10,
            "text.parse_math": False,
            "axes.unicode_minus": True,
        }
    )
    return Figure


def _figure(inches: tuple[float, float]) -> "Figure":
    return _library()(figsize=inches, facecolor="none")


def _svg(figure: "Figure") -> bytes:
    out = StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue().replace(f"'{FONT_MEASURED}'", FONT).replace(f'"{FONT_MEASURED}"', FONT)
    return text.replace("<defs>", f"{_dark_style()}<defs>", 1).encode()


def _dark_style() -> str:
    """A picture follows the page it stands on; paper, which knows no such query, keeps the light colours."""
    rules = "".join(
        f'[style*="{what}: {light}"]{{{what}:{dark} !important}}'
        for light, dark in IN_THE_DARK.items()
        for what in ("stroke", "fill")
    )
    return f"<style>@media (prefers-color-scheme: dark){{{rules}}}</style>"
