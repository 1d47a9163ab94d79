"""What every page must keep: readable colours, shapes for every state, nothing that a strict policy refuses."""

import re
from itertools import product
from pathlib import Path

import pytest

from shop import plots

ROOT = Path(__file__).parents[2]
TOKENS = (ROOT / "static/css/tokens.css").read_text()
INKS = ("ink", "ink-soft", "pass", "fail", "warn", "unknown", "note", "go", "go-over")
GROUNDS = ("bench", "sheet", "slip", "well")
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2.2."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def tokens(scheme: str) -> dict[str, str]:
    light, dark = TOKENS.split("@media (prefers-color-scheme: dark)")
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", dark if scheme == "dark" else light))


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        pytest.param("#000000", "#ffffff", 21.0, id="WCAG 2.2, contrast ratio: ranges from 1 to 21"),
        pytest.param("#777777", "#ffffff", 4.47, id="W3C, Understanding SC 1.4.3, recalled: #777777 gives 4.47"),
    ],
)
def test_contrast_is_the_published_one(one: str, other: str, ratio: float) -> None:
    # the published ratio is cut after two decimals, not rounded
    assert contrast(one, other) == pytest.approx(ratio, abs=0.01)


@pytest.mark.parametrize(("scheme", "ink", "ground"), list(product(("light", "dark"), INKS, GROUNDS)))
def test_text_reads_on_every_ground(scheme: str, ink: str, ground: str) -> None:
    """WCAG 2.2, SC 1.4.3: 4.5 to 1 for text."""
    named = tokens(scheme)
    assert contrast(named[ink], named[ground]) >= 4.5


@pytest.mark.parametrize(("scheme", "ground"), list(product(("light", "dark"), GROUNDS)))
def test_edges_of_fields_can_be_seen(scheme: str, ground: str) -> None:
    """WCAG 2.2, SC 1.4.11: 3 to 1 for what shows where a control is."""
    named = tokens(scheme)
    assert contrast(named["edge"], named[ground]) >= 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_primary_button_reads(scheme: str) -> None:
    """WCAG 2.2, SC 1.4.3."""
    named = tokens(scheme)
    assert min(contrast(named["on-go"], named["go"]), contrast(named["on-go"], named["go-over"])) >= 4.5


def test_curves_wear_the_colours_of_the_page() -> None:
    """A drawing is an image of its own and cannot ask the stylesheet; what it says must stay the same."""
    light, dark = tokens("light"), tokens("dark")
    names = ("ink", "ink-soft", "hair", "sheet", "note", "fail", "pass", "unknown", "warn")
    drawn = (plots.INK, plots.SOFT, plots.HAIR, plots.SHEET, *plots.HUES)
    assert dict(zip(names, drawn, strict=True)) == {name: light[name] for name in names}
    assert {light[name]: dark[name] for name in names} == plots.IN_THE_DARK


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT / "templates")))
def test_pages_hold_nothing_a_strict_policy_refuses(template: Path) -> None:
    """CSP Level 3, default-src 'self': no inline style, script or handler."""
    text = template.read_text()
    assert not re.search(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+=|javascript:", text)
