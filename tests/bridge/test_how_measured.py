"""In which ways capacities were measured, as the words beside them tell."""

import pytest
from django.template.loader import render_to_string

from packs.terms import Measure
from packs.units import writing
from shop.bridge.how_measured import NOT_STATED, way, ways
from shop.models import Reading
from tests.factories import CellFactory


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            "discharge from 4.199 V to 2.752 V, 0.510 A (0.2 C), at 23.4 \N{DEGREE SIGN}C",
            "at 0.2\u202fC down to 2.8\u202fV",
        ),
        ("0,2 C down to 2,75 V at 25 \N{DEGREE SIGN}C", "at 0.2\u202fC down to 2.8\u202fV"),
        ("0.5 C", "at 0.5\u202fC"),
        ("down to 3.0 V", "down to 3.0\u202fV"),
        (", ", NOT_STATED),
        ("at 25 C", NOT_STATED),
    ],
)
def test_rate_and_end_are_read_from_the_words(words: str, told: str) -> None:
    """The words are those of tester files and of the fields' own hints."""
    assert way(words) == told


def test_the_shops_marks_are_written() -> None:
    with writing("de"):
        assert way("0.2 C down to 2.75 V") == "at 0,2\u202fC down to 2,8\u202fV"


@pytest.mark.django_db
def test_what_was_measured_otherwise_is_counted_and_said() -> None:
    cells = [CellFactory(code=f"H{n}") for n in range(3)]
    first = cells[0].readings.get(measure=Measure.CAPACITY.value)
    Reading.objects.create(
        cell=cells[0],
        measure=Measure.CAPACITY.value,
        value=first.value,
        conditions="0.5 C down to 3.0 V",
        measured_at=first.measured_at,
        by=first.by,
    )
    found = ways(["H0", "H1", "H2"])
    assert found == ((NOT_STATED, 2), ("at 0.5\u202fC down to 3.0\u202fV", 1))
    assert "measured differently" in render_to_string("match/measured.html", {"ways": found})
    assert "measured" not in render_to_string("match/measured.html", {"ways": found[:1]})
