"""A curve as an image with an address of its own."""

from collections.abc import Sequence

from django.http import Http404, HttpResponse

from shop import plots
from shop.bridge.trace_curves import CURVES

INCHES = (9.0, 2.6)
POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""The drawing holds its own styles and nothing that could run."""


def drawn(points: tuple[Sequence[float], Sequence[float]] | None, curve: str) -> HttpResponse:
    """Answer with one curve over time, or with 404 where there is none."""
    if points is None:
        raise Http404
    label, unit = CURVES[curve][0].label, CURVES[curve][1]
    y_label = f"{label[0].upper()}{label[1:]} [{unit}]"
    image = plots.line_plot([plots.Line(label, *points)], "Time [h]", y_label, inches=INCHES)
    return HttpResponse(image, content_type="image/svg+xml", headers={"Content-Security-Policy": POLICY})
