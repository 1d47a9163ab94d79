"""A curve as an image with an address of its own."""

from collections.abc import Sequence

from django.http import Http404, HttpRequest, HttpResponse

from shop import plots
from shop.bridge.trace_curves import CURVES

INCHES = (9.0, 2.6)
NARROW = (4.2, 2.4)
"""For a telephone, where the letters of a wide drawing would be too small to read."""

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""The drawing holds its own styles and nothing that could run."""


def svg(image: bytes) -> HttpResponse:
    """Answer with a drawing as an image of its own."""
    return HttpResponse(image, content_type="image/svg+xml", headers={"Content-Security-Policy": POLICY})


def inches_for(request: HttpRequest, wide: tuple[float, float]) -> tuple[float, float]:
    """Return how large a drawing is that the page asks for: ``wide``, or as a telephone shows it."""
    return NARROW if "narrow" in request.GET else wide


def drawn(
    points: tuple[Sequence[float], Sequence[float]] | None, curve: str, locale: str, *, narrow: bool
) -> HttpResponse:
    """Answer with one curve over time, or with 404 where there is none."""
    if points is None:
        raise Http404
    label, unit = CURVES[curve][0].label, CURVES[curve][1]
    y_label = f"{label[0].upper()}{label[1:]} [{unit}]"
    inches = NARROW if narrow else INCHES
    image = plots.line_plot([plots.Line(label, *points)], "Time [h]", y_label, inches=inches, locale=locale)
    return svg(image)
