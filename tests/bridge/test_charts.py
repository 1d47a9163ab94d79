"""The pictures of a test report: places worked out by hand from the numbers, words in the shop's own marks."""

import re
from dataclasses import replace
from decimal import Decimal

from packs.documents import CurvePoint
from shop.bridge.documents import bars, discharge
from tests import papers

REPORT = papers.test_report()
CURVE = tuple(CurvePoint(Decimal(mah), Decimal(mv)) for mah, mv in ((0, 16000), (2500, 14000), (5000, 12000)))
PROOF = replace(REPORT.proof, curve=CURVE, capacity_mah=Decimal(5080), loaded_mv=Decimal(15900))


def lines(svg: str) -> list[list[tuple[float, float]]]:
    found = re.findall(r'<polyline points="([^"]+)"', svg)
    pairs = [[pair.split(",") for pair in line.split()] for line in found]
    return [[(float(x), float(y)) for x, y in line] for line in pairs]


def points(svg: str) -> list[tuple[float, float]]:
    (line,) = lines(svg)
    return line


def test_the_forecast_falls_evenly_as_its_points_do() -> None:
    """Three points in a line at equal steps: so are their places, which are rounded to 0.1, so that steps differ by 0.2."""
    (x1, y1), (x2, y2), (x3, y3) = points(discharge(PROOF, "en"))
    assert x1 < x2 < x3
    assert y1 < y2 < y3
    assert abs((x2 - x1) - (x3 - x2)) <= 0.2 + 1e-9
    assert abs((y2 - y1) - (y3 - y2)) <= 0.2 + 1e-9


def test_what_was_measured_stands_beside_it() -> None:
    svg = discharge(PROOF, "en").replace("\u202f", " ").replace("\u2009", " ")
    assert "measured 5080 mAh" in svg
    assert "measured under load: 15.90 V" in svg
    assert "15,90" in discharge(PROOF, "de")
    nothing = discharge(replace(PROOF, capacity_mah=None, loaded_mv=None), "en")
    assert "measured under load" not in nothing


def test_the_measured_curve_stands_beside_the_forecast_drawn_through_and_named() -> None:
    """At the same charge a lower voltage lies lower; equal points of both lie on each other."""
    measured = tuple(CurvePoint(Decimal(mah), Decimal(mv)) for mah, mv in ((0, 16000), (2500, 13800), (5080, 12000)))
    svg = discharge(replace(PROOF, measured_curve=measured), "en")
    forecast, real = lines(svg)
    assert forecast[0] == real[0]
    assert forecast[1][0] == real[1][0]
    assert real[1][1] > forecast[1][1]
    assert svg.count("stroke-dasharray") == 2, "the line, and its sample beside the word"
    assert ">forecast</text>" in svg
    assert ">measured</text>" in svg
    assert "measured under load" not in svg
    (alone,) = lines(discharge(replace(PROOF, curve=(), measured_curve=measured), "en"))
    assert len(alone) == 3


def test_without_a_forecast_there_is_no_picture() -> None:
    assert discharge(replace(PROOF, curve=()), "en") == ""


def test_a_bar_is_as_high_as_its_group_holds_and_the_weakest_is_hatched() -> None:
    """Groups of 5129, 5128, 5127 and 5126 mAh, the last one marked as the weakest; half of it makes half a bar."""
    halved = (replace(REPORT.groups[0], capacity_mah=Decimal(2563)), *REPORT.groups[1:])
    found = re.findall(r'<rect [^>]*height="([\d.]+)" fill="([^"]+)"', bars(halved, PROOF, "en"))
    heights = [float(height) for height, _ in found]
    assert abs(heights[0] / heights[3] - 0.5) < 0.01
    assert [fill for _, fill in found].index("url(#hatching)") == 3
    assert bars([replace(group, capacity_mah=None) for group in REPORT.groups], PROOF, "en") == ""
