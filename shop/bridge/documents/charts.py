"""Two pictures of a test report as SVG: the forecast discharge beside what was measured, and the groups as bars.

Told apart by dash, hatching and words; black on white like the drawing of the pack. Sizes in the drawing's own units.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from html import escape
from math import ceil, floor, log10

from packs.documents import CurvePoint, Group, Proof
from packs.units import Kind, NumberFormat, show, ureg

WIDTH, HEIGHT, LEFT, RIGHT, TOP, FOOT = 480.0, 190.0, 52.0, 14.0, 20.0, 36.0
INK, QUIET, HAIR = "#1a1a1a", "#595959", "#dddddd"
FONT = "Source Sans 3, Noto Sans Arabic, Noto Sans Hebrew, Paper Hangul, Droid Sans Fallback"
TICKS = 5
MOST_BARS = 40


@dataclass(frozen=True)
class _Scale:
    """From values to places along one axis, with the values that are written at it."""

    low: float
    high: float
    start: float
    length: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * self.length

    @property
    def ticks(self) -> list[float]:
        rough = (self.high - self.low) / TICKS
        power = 10 ** floor(log10(rough))
        step = next(power * many for many in (1, 2, 5, 10) if power * many >= rough)
        return [step * number for number in range(ceil(self.low / step), floor(self.high / step) + 1)]


def discharge(proof: Proof, locale: str) -> str:
    """Return the forecast discharge over the charge taken, with what was measured; nothing where neither has points."""
    points, real = _places(proof.curve), _places(proof.measured_curve)
    if not points and not real:
        return ""
    # The load of the ten seconds is another current than that of a whole discharge.
    loaded = None if proof.loaded_mv is None or real else float(proof.loaded_mv) / 1000
    measured = None if proof.capacity_mah is None else float(proof.capacity_mah)
    volts = [volt for _, volt in (*points, *real)] + ([loaded] if loaded is not None else [])
    most = max([taken for taken, _ in (*points, *real)] + [measured or 0.0])
    across = _Scale(0.0, most * 1.05, LEFT, WIDTH - LEFT - RIGHT)
    room = (max(volts) - min(volts)) * 0.08 or 1.0
    up = _Scale(min(volts) - room, max(volts) + room, HEIGHT - FOOT, TOP + FOOT - HEIGHT)
    parts = [*_axes(across, up, "Charge taken [mAh]", "Pack voltage [V]", locale)]
    drawn = [(points, "forecast", ' stroke-dasharray="7 3"'), (real, "measured", "")]
    for number, (curve, words, dashes) in enumerate(one for one in drawn if one[0]):
        line = " ".join(f"{across.at(x):.1f},{up.at(y):.1f}" for x, y in curve)
        parts.append(f'<polyline points="{line}" fill="none" stroke="{INK}" stroke-width="1.6"{dashes}/>')
        if real:  # two lines that nearly lie on each other are named apart from them
            y = HEIGHT - FOOT - 24 + 14 * number
            parts.append(f'<path d="M{LEFT + 10} {y - 4}h26" stroke="{INK}" stroke-width="1.6"{dashes}/>')
            parts.append(_text(LEFT + 42, y, words, "start"))
        else:
            x, y = curve[len(curve) // 2]
            parts.append(_text(across.at(x), up.at(y) - 8, words))
    if measured is not None:
        x = across.at(measured)
        parts.append(f'<path d="M{x:.1f} {TOP}V{HEIGHT - FOOT}" stroke="{INK}" stroke-width="2"/>')
        said = show(ureg.Quantity(measured, "mAh"), Kind.CAPACITY, locale=locale)
        parts.append(_text(x - 4, TOP + 10, f"measured {said}", "end"))
    if loaded is not None:
        x, y = across.at(0.0), up.at(loaded)
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{INK}"/>')
        said = show(ureg.Quantity(loaded, "V"), Kind.VOLTAGE, locale=locale)
        foot = HEIGHT - FOOT - 9
        parts.append(f'<circle cx="{x + 12:.1f}" cy="{foot - 4:.1f}" r="3" fill="{INK}"/>')
        parts.append(_text(x + 19, foot, f"measured under load: {said}", "start"))
    return _svg("Forecast discharge beside what was measured", parts)


def _places(curve: Sequence[CurvePoint]) -> list[tuple[float, float]]:
    """Return a curve as charge [mAh] and voltage [V]; nothing of fewer than two points."""
    found = [(float(point.taken_mah), float(point.pack_mv) / 1000) for point in curve]
    return found if len(found) > 1 else []


def bars(groups: Sequence[Group], proof: Proof, locale: str) -> str:
    """Return the capacity of every group as bars, the weakest hatched, and what the pack gave; nothing where unknown."""
    known = [(group, group.capacity_mah) for group in groups if group.capacity_mah is not None]
    if not known or len(groups) > MOST_BARS:
        return ""
    values = [float(mah) for _, mah in known]
    line = None if proof.capacity_mah is None else float(proof.capacity_mah)
    up = _Scale(0.0, max([*values, line or 0.0]) * 1.12, HEIGHT - FOOT, TOP + FOOT - HEIGHT)
    across = _Scale(0.0, float(len(groups)), LEFT, WIDTH - LEFT - RIGHT)
    parts = [_HATCHING, *_axes(None, up, "Group", "Capacity [mAh]", locale)]
    wide = across.length / len(groups) * 0.62
    for group, mah in known:
        middle, top = across.at(group.number - 0.5), up.at(float(mah))
        fill = "url(#hatching)" if group.weakest else "#e4e4e4"
        parts.append(
            f'<rect x="{middle - wide / 2:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{HEIGHT - FOOT - top:.1f}" '
            f'fill="{fill}" stroke="{INK}" stroke-width="0.8"/>'
        )
    for group in groups:
        parts.append(
            _text(across.at(group.number - 0.5), HEIGHT - FOOT + 12, f"{group.number}{'*' if group.stays else ''}")
        )
    if line is not None:
        y = up.at(line)
        parts.append(
            f'<path d="M{LEFT} {y:.1f}H{WIDTH - RIGHT}" stroke="{INK}" stroke-width="1.6" stroke-dasharray="2 2"/>'
        )
        said = show(ureg.Quantity(line, "mAh"), Kind.CAPACITY, locale=locale)
        parts.append(_text(WIDTH - RIGHT, y - 5, f"the pack gave {said}", "end"))
    return _svg("Capacity of each group", parts)


_HATCHING = (
    '<defs><pattern id="hatching" width="6" height="6" patternUnits="userSpaceOnUse">'
    f'<path d="M0 6L6 0" stroke="{INK}" stroke-width="1"/></pattern></defs>'
)


def _axes(across: _Scale | None, up: _Scale, below: str, beside: str, locale: str) -> list[str]:
    parts = []
    for value in up.ticks:
        y = up.at(value)
        parts.append(f'<path d="M{LEFT} {y:.1f}H{WIDTH - RIGHT}" stroke="{HAIR}" stroke-width="0.6"/>')
        parts.append(_text(LEFT - 5, y + 3, _number(value, locale), "end"))
    for value in across.ticks if across else []:
        parts.append(_text(across.at(value) if across else 0.0, HEIGHT - FOOT + 12, _number(value, locale)))
    parts.append(
        f'<path d="M{LEFT} {TOP}V{HEIGHT - FOOT}H{WIDTH - RIGHT}" fill="none" stroke="{INK}" stroke-width="0.8"/>'
    )
    parts.append(_text((LEFT + WIDTH) / 2, HEIGHT - 6, below))
    parts.append(_text(4, 11, beside, "start"))
    return parts


def _number(value: float, locale: str) -> str:
    written = f"{Decimal(str(round(value, 6))).normalize():f}"
    return written.replace(".", NumberFormat.of_locale(locale).decimal or ".")


def _text(x: float, y: float, words: str, anchor: str = "middle") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="11" fill="{QUIET}" text-anchor="{anchor}" font-family="{FONT}">'
        f"{escape(words)}</text>"
    )


def _svg(title: str, parts: Sequence[str]) -> str:
    size = f'width="{WIDTH:g}" height="{HEIGHT:g}" viewBox="0 0 {WIDTH:g} {HEIGHT:g}"'
    return f'<svg class="chart" xmlns="http://www.w3.org/2000/svg" {size} role="img"><title>{title}</title>{"".join(parts)}</svg>'
