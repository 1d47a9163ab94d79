"""Numbers and states as templates print them."""

from decimal import Decimal
from itertools import product
from types import SimpleNamespace

import pytest
from django.template import Context, Template
from django.utils.html import strip_tags

from packs.terms import Measure, Outcome, Severity
from packs.units import ureg
from shop.templatetags.shapes import SHAPES
from shop.templatetags.shop import finding_shape, finding_word, rate, stage_word, wide_class


def printed(tag: str, **context: object) -> str:
    return strip_tags(Template("{% load shop %}" + tag).render(Context(context))).replace("\u2009", " ")


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (3580, 3660, "3.620 V of 3.580 … 3.660 V"),
        (3580, None, "3.620 V at least 3.580 V"),
        (None, 3660, "3.620 V at most 3.660 V"),
        (0, 3660, "3.620 V of 0.0 mV … 3.660 V"),
        (None, None, "3.620 V"),
    ],
)
def test_a_number_stands_beside_its_limit(low: int | None, high: int | None, expected: str) -> None:
    tag = '{% within value low high "rest_voltage_mv" %}'
    assert printed(tag, value=Decimal(3620), low=low, high=high) == expected


def test_limits_alone_say_that_they_are_limits() -> None:
    assert printed('{% limits 3580 3660 "voltage_mv" %}') == "within 3.580 … 3.660 V"


@pytest.mark.parametrize(
    ("uohm", "expected"), [("19.3", "0.019 mΩ"), (250, "0.250 mΩ"), (9300, "9.30 mΩ"), (21_400, "21.4 mΩ")]
)
def test_resistances_of_cells_stand_in_one_unit(uohm: object, expected: str) -> None:
    """Common practice, no source: a column of cells is read in mΩ; contacts of bars stay in µΩ."""
    assert printed('{% quantity value "dc_resistance_uohm" %}', value=Decimal(str(uohm))) == expected
    assert printed('{% quantity 200 "contact_resistance_uohm" %}') == "200 µΩ"


def test_numbers_are_written_as_the_shop_writes_them() -> None:
    assert printed('{% quantity 3620 "voltage_mv" %}', number_locale="de") == "3,620 V"


@pytest.mark.parametrize("measure", Measure)
def test_what_is_not_known_is_said(measure: Measure) -> None:
    assert printed("{% quantity value measure %}", value=None, measure=measure) == "not known"
    assert printed("{% quantity value measure %}", value=0, measure=measure)[0] == "0"


@pytest.mark.parametrize(("outcome", "severity"), list(product(Outcome, Severity)))
def test_every_finding_has_a_shape_and_a_word(outcome: Outcome, severity: Severity) -> None:
    finding = SimpleNamespace(outcome=outcome, severity=severity)
    assert finding_shape(finding) in SHAPES
    assert finding_word(finding)
    assert (finding_shape(finding) == "pass") == (outcome is Outcome.PASS)
    # stored findings come back from the database as bare words
    stored = {"outcome": outcome.value, "severity": severity.value}
    assert (finding_shape(stored), finding_word(stored)) == (finding_shape(finding), finding_word(finding))


@pytest.mark.parametrize("name", ["done", "now", "ahead", "fail", "none"])
def test_every_stage_of_the_story_has_a_shape(name: str) -> None:
    assert name in SHAPES
    assert stage_word(name) or name == "ahead"


def test_shapes_differ_by_more_than_colour() -> None:
    drawings = {drawing for name, drawing in SHAPES.items() if name != "done"}
    assert len(drawings) == len(SHAPES) - 1


@pytest.mark.parametrize(
    ("width", "name"), [(340, ""), (351, "wider-than-telephone"), (721, "wider-than-tablet"), (1061, "wider-than-desk")]
)
def test_a_drawing_says_on_which_screens_there_is_more_of_it(width: int, name: str) -> None:
    assert wide_class(f'<svg class="pack-drawing" width="{width}.0" height="10">') == name


@pytest.mark.parametrize(
    ("mah", "expected"), [(9999, "9999 mAh"), (10_321, "10.321 Ah"), (10_324, "10.324 Ah"), (None, "not known")]
)
def test_capacities_that_are_compared_differ_as_soon_as_a_milliampere_hour_does(mah: int | None, expected: str) -> None:
    capacity = None if mah is None else ureg.Quantity(mah, "mAh")
    assert printed("{% compared capacity %}", capacity=capacity) == expected


@pytest.mark.parametrize(
    ("typed", "said"), [("Cuts out uphill.", "“Cuts out uphill”."), ("Cuts out", "“Cuts out”."), ("Why?", "“Why?”.")]
)
def test_what_somebody_said_ends_with_one_full_stop(typed: str, said: str) -> None:
    assert Template("{% load shop %}{{ said|quoted }}.").render(Context({"said": typed})) == said
    assert Template("{% load shop %}{{ said|unstopped }}.").render(Context({"said": "the board."})) == "the board."


def test_a_rate_is_printed_with_the_decimals_it_has() -> None:
    assert [rate(Decimal(text)) for text in ("20.00", "8.25", "0.00", "100")] == ["20", "8.25", "0", "100"]
