"""Which places are nearly full, said where something comes in."""

from django.http import HttpRequest

from packs.terms import Area
from shop.operations.areas import nearly_full_words
from shop.web.http import warn


def warn_of_room(request: HttpRequest, *asked: Area) -> None:
    """Say on the next page which of these places are nearly full."""
    for sentence in room_left(*asked):
        warn(request, sentence)


def room_left(*asked: Area) -> list[str]:
    """Return a sentence for each place that is nearly full or worse."""
    return nearly_full_words(*asked)
