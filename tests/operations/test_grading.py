"""Criteria in versions, and cells of the stock graded by what stands in the book. Numbers are invented."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from packs.grading import DEFAULT
from packs.terms import CellProtection, Criterion, Grade, Measure
from shop import models
from shop.bridge import grading as bridge
from shop.bridge import said
from shop.operations import grading, stock
from tests import line
from tests.factories import MORNING, CellFactory, CellModelFactory, UserFactory
from tests.refusal import refused

pytestmark = pytest.mark.django_db

FACTS = bridge.facts_of(DEFAULT)


def state_new(**more: Any) -> models.NewCell:
    facts = {"dc_resistance_uohm": 30_000, "method": "DC pulse 10 s", "temperature_mdegc": 23_000, "source": "sheet"}
    by = UserFactory(username="technician")
    return grading.state_new_cell(cell_model=CellModelFactory(), by=by, now=MORNING, **{**facts, **more})


def read(cell: models.Cell, measure: Measure, value: float, conditions: str, method: str = "") -> None:
    by = UserFactory(username="technician")
    given = {"measure": measure, "value": Decimal(str(value)), "conditions": conditions, "method": method}
    stock.record_reading(cell=cell, **given, by=by, now=MORNING)


def a_cell(code: str, *, conditions: str = "0.2 C, 23 °C") -> models.Cell:
    cell = CellFactory(code=code, readings={})
    read(cell, Measure.CAPACITY, 2400, conditions)
    read(cell, Measure.DC_RESISTANCE, 33_000, "at 50 % charge, 23 °C", "DC pulse 10 s")
    read(cell, Measure.REST_VOLTAGE, 3620, "23 °C")
    return cell


def graded(*cells: models.Cell, days: float = 10) -> list[Any]:
    found = bridge.of_cells(cells, at=MORNING + timedelta(days=days))
    return [found[cell.pk] for cell in cells]


@pytest.mark.parametrize(
    ("carries", "volts", "words", "expected"),
    [
        (CellProtection.BOARD, 0, "23 °C", Grade.TRIPPED),
        (CellProtection.BOTH, 0, "23 °C", Grade.TRIPPED),
        (CellProtection.BOARD, 0, "at the cell itself, 23 °C", Grade.REJECTED),
        (CellProtection.BOARD, 1900, "23 °C", Grade.UNTESTED),
        (CellProtection.BOARD, 3620, "23 °C", Grade.FIRST),
        (CellProtection.BOARD, 3620, "23 °C, drifts", Grade.TRIPPED),
        (CellProtection.INTERRUPT, 3620, "drifting, 23 °C", Grade.OPEN_INSIDE),
        (CellProtection.NONE, 3620, "23 °C, drifts", Grade.UNTESTED),
        (CellProtection.NONE, 3620, "23 °C, no drift", Grade.FIRST),
    ],
)
def test_what_a_cell_carries_and_where_it_was_read_decide_what_nothing_read_means(
    carries: CellProtection, volts: int, words: str, expected: Grade
) -> None:
    state_new(protection=carries)
    cell = a_cell("P1")
    read(cell, Measure.REST_VOLTAGE, volts, words)
    (found,) = graded(cell)
    assert found.grade is expected
    assert "empty" not in " ".join(reason.words for reason in found.reasons)


def test_stored_numbers_of_the_criteria_are_the_criteria() -> None:
    assert bridge.facts_of(bridge.of_facts(FACTS, 1)) == FACTS
    assert FACTS["second_least_health_percent"] == 80
    assert FACTS["third_most_beyond_lot_uv_per_day"] == 1500
    assert FACTS["temperature_mdegc"] == 23_000


def test_a_version_counts_from_then_on_and_the_one_before_stays_written() -> None:
    """2400 of 2600 mAh are 92.3 %: grade 1 until 95 % are asked."""
    state_new()
    cell = a_cell("G1")
    assert [(one.grade, one.provisional, one.version) for one in graded(cell)] == [(Grade.FIRST, True, 0)]
    for reason in ("a pump needs more", "and more"):
        grading.set_criteria(values=FACTS | {"first_least_health_percent": Decimal(95)}, reason=reason, by=line.lead())
    assert [(one.grade, one.version) for one in graded(cell)] == [(Grade.SECOND, 2)]
    assert list(models.GradeCriteria.objects.values_list("number", "reason")) == [
        (1, "a pump needs more"),
        (2, "and more"),
    ]


@pytest.mark.parametrize(
    ("changed", "reason", "code", "field"),
    [
        ({}, " ", "reason_missing", "reason"),
        ({"first_least_health_percent": Decimal(0)}, "why", "impossible_value", "first_least_health_percent"),
        ({"oldest_d": Decimal(3651)}, "why", "impossible_value", "oldest_d"),
        ({"third_least_health_percent": Decimal(85)}, "why", "impossible_value", None),
        ({"best": Decimal(1)}, "why", "criteria_incomplete", "values"),
    ],
)
def test_what_is_refused(changed: dict[str, Decimal], reason: str, code: str, field: str | None) -> None:
    lead = line.lead()
    with refused(code, **({"field": field} if field else {})):
        grading.set_criteria(values=FACTS | changed, reason=reason, by=lead)
    assert not models.GradeCriteria.objects.exists()


@pytest.mark.parametrize(
    ("more", "code", "field"),
    [
        ({"method": " "}, "method_missing", "method"),
        ({"source": ""}, "source_missing", "source"),
        ({"dc_resistance_uohm": 0}, "impossible_value", "dc_resistance_uohm"),
        ({"dc_resistance_uohm": 30}, "unlikely_value", "dc_resistance_uohm"),
        ({"temperature_mdegc": 2_300_000}, "impossible_value", "temperature_mdegc"),
    ],
)
def test_what_a_new_cell_cannot_read(more: dict[str, Any], code: str, field: str) -> None:
    CellModelFactory()
    UserFactory(username="technician")
    with refused(code, field=field):
        state_new(**more)


def test_without_what_a_new_cell_reads_there_is_no_grade() -> None:
    (found,) = graded(a_cell("G1"))
    assert (found.grade, found.new_missing) == (Grade.UNTESTED, True)


def test_the_newest_statement_of_a_new_cell_counts() -> None:
    """33 mΩ are 110 % of 30 mΩ and 165 % of 20 mΩ."""
    state_new()
    cell = a_cell("G1")
    assert graded(cell)[0].grade is Grade.FIRST
    state_new(dc_resistance_uohm=20_000)
    assert graded(cell)[0].grade is Grade.THIRD


def test_another_temperature_or_an_old_test_is_tested_again() -> None:
    state_new()
    cold, good = a_cell("G1", conditions="0.2 C, 19.9 °C"), a_cell("G2")
    assert [one.grade for one in graded(cold, good)] == [Grade.RETEST, Grade.FIRST]
    assert [one.grade for one in graded(good, days=180.5)] == [Grade.RETEST]


def test_a_cell_that_falls_faster_than_its_lot_is_told_apart() -> None:
    """Three cells fall by 0.1 mV/day and one by 0.9: the median is 0.1, 0.8 beyond it is grade 3."""
    state_new()
    cells = [a_cell(f"G{number}") for number in range(4)]
    for cell, fall in zip(cells, (100, 100, 100, 900), strict=True):
        read(cell, Measure.SELF_DISCHARGE, fall, "charged 2 Nov, shelf 3, over 14 d")
    allowed = [
        reason.allows for one in graded(*cells) for reason in one.reasons if reason.criterion is Criterion.BEYOND_LOT
    ]
    assert allowed == [Grade.FIRST, Grade.FIRST, Grade.FIRST, Grade.THIRD]
    assert [one.provisional for one in graded(*cells)] == [False, False, False, False]


def test_cells_held_elsewhere_are_no_lot_to_compare_with() -> None:
    state_new()
    cells = [a_cell(f"G{number}") for number in range(4)]
    for number, cell in enumerate(cells):
        read(cell, Measure.SELF_DISCHARGE, 100, f"charged 2 Nov, shelf {min(number, 1)}, over 14 d")
    assert all(one.provisional for one in graded(*cells))


def test_nothing_read_of_a_cell_that_may_be_open_inside() -> None:
    cell = CellFactory(code="G1", readings={Measure.REST_VOLTAGE: 0})
    assert graded(cell)[0].grade is Grade.OPEN_INSIDE
    state_new(protection=CellProtection.NONE)
    assert graded(cell)[0].grade is Grade.REJECTED


# How a bench and our own reading of tester files write it down.
@pytest.mark.parametrize(
    ("words", "rate", "warm", "days"),
    [
        ("0.2 C, 23 °C", 0.2, 23, None),
        ("C/5 at 23,5 °C", 0.2, 23.5, None),
        ("0.52\u202fA (0.20 of rated capacity per hour), at 24.1\u202f°C", 0.2, 24.1, None),
        ("1 C, from 20 °C to 31 °C", 1, None, None),
        ("at 50 % charge, −2 °C, over 14 d", None, -2, 14),
        ("slope of the rest voltage, 24 to 216 h of a rest, ± 0.1 mV/day", None, None, 8),
        ("", None, None, None),
    ],
)
def test_what_words_say(words: str, rate: float | None, warm: float | None, days: float | None) -> None:
    found = [said.rate(words), said.temperature(words), said.held(words)]
    units = ["1/hour", "degC", "day"]
    assert [None if one is None else round(one.m_as(unit), 6) for one, unit in zip(found, units, strict=True)] == [
        rate,
        warm,
        days,
    ]
