"""What the rows on removed cells say, against the published rules named beside each check."""

from datetime import date, timedelta
from itertools import product

import pytest

from packs.errors import MissingFact
from packs.terms import LITHIUM_ION, Chemistry, Condition
from packs.waste import (
    GRADES,
    ROWS,
    Jurisdiction,
    Margin,
    Row,
    Size,
    Sized,
    Topic,
    carriage,
    codes_left_open,
    condition_words,
    keep_until,
    limit,
    rows,
    un_number,
    waste_code,
)
from packs.waste.containers import WARN_DAYS, time_left

EU, US, UK, OTHER = Jurisdiction.EU, Jurisdiction.US, Jurisdiction.UK, Jurisdiction.OTHER
TODAY = date(2026, 11, 25)
DAYS = sorted(
    {TODAY}
    | {row.valid_from for row in ROWS if row.valid_from}
    | {row.valid_to + timedelta(days=step) for row in ROWS if row.valid_to for step in (0, 1)}
)


SMALL, LARGE, BY_LAND = Sized(Size.SMALL, ""), Sized(Size.LARGE, ""), Sized(Size.LARGE, "", by_land=True)


def asked(condition: Condition, chemistry: Chemistry, place: Jurisdiction = EU, sized: Sized = SMALL) -> str:
    found = carriage(chemistry=chemistry, condition=condition, sized=sized, place=place, on=TODAY)
    return " ".join(f"{row.code} {row.text}" for row in (*found.packing, *found.marks, *found.forbidden))


# ADR, IMDG and IATA dangerous goods lists, as quoted by an industry guide: class 9 entries 3480, 3481 and 3496.
@pytest.mark.parametrize("chemistry", sorted(LITHIUM_ION))
@pytest.mark.parametrize("place", Jurisdiction)
def test_lithium_ion_numbers(chemistry: Chemistry, place: Jurisdiction) -> None:
    alone, inside = un_number(place, TODAY, chemistry), un_number(place, TODAY, chemistry, in_equipment=True)
    assert (alone.code, alone.name) == ("UN3480", "LITHIUM ION BATTERIES")
    assert (inside.code, inside.name) == ("UN3481", "LITHIUM ION BATTERIES CONTAINED IN EQUIPMENT")


@pytest.mark.parametrize("in_equipment", [True, False])
def test_nickel_metal_hydride_has_a_number_at_sea_only(in_equipment: bool) -> None:
    """IMDG Code, special provision 963: UN3496 applies to sea."""
    entry = un_number(EU, TODAY, Chemistry.NIMH, in_equipment=in_equipment)
    assert entry.code == "UN3496"
    assert "sea only" in entry.text


@pytest.mark.parametrize("chemistry", [Chemistry.NICD, Chemistry.UNKNOWN])
def test_no_number_is_invented(chemistry: Chemistry) -> None:
    entry = un_number(EU, TODAY, chemistry)
    assert entry.code == ""
    assert entry.text


@pytest.mark.parametrize("day", [date(2026, 12, 8), date(2026, 12, 9)])
def test_cadmium_keeps_its_code(day: date) -> None:
    """Decision 2000/532/EC: 16 06 02*, before and after the change."""
    assert waste_code(EU, day, Chemistry.NICD).code == "16 06 02*"


def test_a_missing_chemistry_is_refused_where_the_code_depends_on_it() -> None:
    with pytest.raises(MissingFact, match="chemistry"):
        waste_code(EU, date(2026, 12, 9), Chemistry.UNKNOWN)


@pytest.mark.parametrize("place", [US, UK, OTHER])
def test_elsewhere_the_text_defers_and_names_no_code(place: Jurisdiction) -> None:
    found = waste_code(place, date(2026, 12, 9), Chemistry.UNKNOWN)
    assert found.code == ""
    assert "ask" in found.text.lower()
    assert ("breached casing is not" in found.text) is (place is US)  # EPA, RCRA Online 14634


# ADR special provision 376: what cannot be diagnosed before carriage counts as damaged or defective.
def test_what_cannot_be_diagnosed_is_damaged() -> None:
    assert "diagnosed" in condition_words(Condition.DAMAGED).text
    assert "Not for an ordinary carrier" in condition_words(Condition.REACTIVE).text


@pytest.mark.parametrize(("condition", "chemistry", "place"), list(product(Condition, Chemistry, Jurisdiction)))
def test_every_thing_has_packing_and_is_kept_out_of_the_air(
    condition: Condition, chemistry: Chemistry, place: Jurisdiction
) -> None:
    found = carriage(chemistry=chemistry, condition=condition, sized=SMALL, place=place, on=TODAY)
    assert len(found.packing) >= 2
    assert found.forbidden[0].rule == "forbidden.air"


# ADR packing instruction P909 and special provision 376: words on the package of lithium batteries.
def test_marks_are_for_lithium_alone() -> None:
    assert "LITHIUM BATTERIES FOR DISPOSAL" in asked(Condition.INTACT, Chemistry.NMC)
    assert "DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES" in asked(Condition.DAMAGED, Chemistry.NMC)
    assert "LITHIUM" not in asked(Condition.INTACT, Chemistry.NIMH)
    assert "LITHIUM" not in asked(Condition.DAMAGED, Chemistry.NIMH)


def test_the_size_decides_the_packing() -> None:
    """ADR P909(2) up to 20 and 100 Wh, P909(1) or P903 above."""
    assert "P909(2)" in asked(Condition.INTACT, Chemistry.NMC)
    assert "P909(1)" not in asked(Condition.INTACT, Chemistry.NMC)
    assert "P909(2)" not in asked(Condition.INTACT, Chemistry.NMC, sized=LARGE)
    assert "P909(1)" in asked(Condition.INTACT, Chemistry.NMC, sized=LARGE)
    assert "AIRCRAFT AND VESSEL" in asked(Condition.INTACT, Chemistry.NMC, US, BY_LAND)
    assert "AIRCRAFT AND VESSEL" not in asked(Condition.INTACT, Chemistry.NMC, US)
    assert "AIRCRAFT AND VESSEL" not in asked(Condition.INTACT, Chemistry.NMC, US, LARGE)


# Hydrogen fluoride safety guidance (LBNL): no sand or other silica on what may form hydrogen fluoride.
@pytest.mark.parametrize(("condition", "place"), list(product(Condition, Jurisdiction)))
def test_no_silica_for_leaks(condition: Condition, place: Jurisdiction) -> None:
    words = asked(condition, Chemistry.NMC, place).lower()
    assert not {"sand", "vermiculite", "diatomaceous"} & set(words.replace(",", " ").split())


@pytest.mark.parametrize(("place", "until"), [(US, date(2029, 11, 25)), (UK, date(2029, 11, 25)), (EU, None)])
def test_how_long_the_note_is_kept(place: Jurisdiction, until: date | None) -> None:
    """England: register kept 3 years (gov.uk). United States: 3 years of a large handler (40 CFR 273.39, from memory)."""
    assert keep_until(TODAY, place) == until


def test_a_warning_comes_before_the_last_day() -> None:
    """Sixty days before: common practice, no source."""
    last = date(2027, 3, 1)
    assert time_left(last, last - WARN_DAYS - timedelta(days=1)) is Margin.CLEAR
    assert time_left(last, last - WARN_DAYS) is Margin.NEAR
    assert time_left(last, last - timedelta(days=1)) is Margin.NEAR
    assert time_left(last, last) is Margin.REACHED
    assert time_left(None, last) is Margin.NONE


# --- what holds for every row


@pytest.mark.parametrize(("place", "day"), list(product(Jurisdiction, DAYS)))
def test_one_row_of_a_rule_counts_on_a_day(place: Jurisdiction, day: date) -> None:
    standing = [row.rule for row in ROWS if row.holds(place, day)]
    assert len(standing) == len(set(standing))


def test_no_day_falls_between_two_rows_of_a_rule() -> None:
    for row in ROWS:
        if row.valid_to is not None and (after := later(row)):
            assert min(each.valid_from for each in after if each.valid_from) == row.valid_to + timedelta(days=1)


def later(row: Row) -> list[Row]:
    """Rows that say something on the same topic of the same things from a later day on."""
    return [
        each
        for each in ROWS
        if (each.topic, each.places) == (row.topic, row.places)
        and (each.rule == row.rule or (row.topic is Topic.CODE and each.chemistries & row.chemistries))
        and each.valid_from is not None
        and each.valid_from > (row.valid_to or date.max)
    ]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.rule} {row.valid_from}")
def test_every_row_says_something_and_how_well_it_is_known(row: Row) -> None:
    assert row.text
    assert row.places
    assert row.grade in GRADES.values()
    assert (row.limit is None) == (row.unit == "")
    assert row.confirm is (row.grade == "from memory, not checked")


@pytest.mark.parametrize("place", Jurisdiction)
def test_every_place_leaves_something_to_local_codes(place: Jurisdiction) -> None:
    assert len(codes_left_open(place, TODAY)) >= 4
    assert rows(place, TODAY, Topic.RECORDS)
    assert limit("packing.gross", place, TODAY) == 30
