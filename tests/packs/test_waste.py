"""Words for removed cells, against the published rules named beside each check."""

from datetime import date
from itertools import product

import pytest

from packs.errors import MissingFact
from packs.terms import LITHIUM_ION, Chemistry, Condition
from packs.waste import (
    DEFERS,
    FORBIDDEN_BY_AIR,
    Jurisdiction,
    condition_words,
    packing_cautions,
    un_number,
    waste_code_text,
)

EU = Jurisdiction.EU


# ADR, IMDG and IATA dangerous goods lists, as quoted by an industry guide: class 9 entries 3480, 3481 and 3496.
@pytest.mark.parametrize("chemistry", sorted(LITHIUM_ION))
def test_lithium_ion_numbers(chemistry: Chemistry) -> None:
    assert (un_number(chemistry).number, un_number(chemistry).name) == ("UN3480", "LITHIUM ION BATTERIES")
    assert un_number(chemistry, in_equipment=True).number == "UN3481"
    assert un_number(chemistry, in_equipment=True).name == "LITHIUM ION BATTERIES CONTAINED IN EQUIPMENT"


def test_nickel_metal_hydride_has_a_number_at_sea_only() -> None:
    """IMDG Code, special provision 963: UN3496 applies to sea."""
    entry = un_number(Chemistry.NIMH)
    assert entry.number == "UN3496"
    assert "sea only" in entry.words


@pytest.mark.parametrize("chemistry", [Chemistry.NICD, Chemistry.UNKNOWN])
def test_no_number_is_invented(chemistry: Chemistry) -> None:
    entry = un_number(chemistry)
    assert entry.number is None
    assert entry.words


# Decision 2000/532/EC and Decision (EU) 2025/934 as corrected (OJ L 2025/90657): new codes apply from 9 December 2026.
@pytest.mark.parametrize(
    ("on", "chemistry", "code", "notice"),
    [
        (date(2025, 6, 8), Chemistry.NMC, "16 06 05", False),
        (date(2025, 6, 9), Chemistry.NMC, "16 06 05", True),
        (date(2026, 11, 9), Chemistry.NMC, "16 06 05", True),  # the date before its correction
        (date(2026, 12, 8), Chemistry.LFP, "16 06 05", True),
        (date(2026, 12, 8), Chemistry.NIMH, "16 06 05", True),
        (date(2026, 12, 9), Chemistry.LFP, "16 06 07*", False),
        (date(2026, 12, 9), Chemistry.NIMH, "16 06 08*", False),
        (date(2026, 12, 8), Chemistry.NICD, "16 06 02*", False),
        (date(2026, 12, 9), Chemistry.NICD, "16 06 02*", False),
    ],
)
def test_european_code_by_date(on: date, chemistry: Chemistry, code: str, notice: bool) -> None:
    answer = waste_code_text(EU, on, chemistry)
    assert answer.code == code
    assert ("apply from 9 December 2026" in answer.words) is notice
    assert "authority" in answer.words


@pytest.mark.parametrize("place", Jurisdiction)
def test_a_missing_date_is_refused_everywhere(place: Jurisdiction) -> None:
    with pytest.raises(MissingFact, match="date"):
        waste_code_text(place, None, Chemistry.NMC)


def test_a_missing_chemistry_is_refused_where_the_code_depends_on_it() -> None:
    with pytest.raises(MissingFact, match="chemistry"):
        waste_code_text(EU, date(2026, 12, 9), Chemistry.UNKNOWN)


@pytest.mark.parametrize("place", [place for place in Jurisdiction if place is not EU])
def test_elsewhere_the_text_defers_and_names_no_code(place: Jurisdiction) -> None:
    answer = waste_code_text(place, date(2026, 12, 9), Chemistry.NMC)
    assert answer.code is None
    assert any(word in answer.words for word in ("Ask", "ask"))
    assert ("breached casing is not" in answer.words) is (place is Jurisdiction.US)  # EPA, RCRA Online 14634


# ADR special provision 376: what cannot be diagnosed before carriage counts as damaged or defective.
def test_what_cannot_be_diagnosed_is_damaged() -> None:
    assert "diagnosed" in condition_words(Condition.DAMAGED).text
    assert "Not for an ordinary carrier" in condition_words(Condition.REACTIVE).text


@pytest.mark.parametrize(("condition", "chemistry"), list(product(Condition, Chemistry)))
def test_every_packing_list_refuses_air_and_defers(condition: Condition, chemistry: Chemistry) -> None:
    texts = packing_cautions(condition, chemistry)
    assert texts[-2:] == (FORBIDDEN_BY_AIR, DEFERS)
    assert len(texts) > 2


# ADR packing instruction P909 and special provision 376: words on the package of lithium batteries.
def test_marks_are_for_lithium_alone() -> None:
    def marked(condition: Condition, chemistry: Chemistry) -> str:
        return " ".join(str(statement) for statement in packing_cautions(condition, chemistry))

    assert "LITHIUM BATTERIES FOR DISPOSAL" in marked(Condition.INTACT, Chemistry.NMC)
    assert "DAMAGED/DEFECTIVE LITHIUM-ION BATTERIES" in marked(Condition.DAMAGED, Chemistry.NMC)
    assert "LITHIUM" not in marked(Condition.INTACT, Chemistry.NIMH)
    assert "LITHIUM" not in marked(Condition.DAMAGED, Chemistry.NIMH)


# Hydrogen fluoride safety guidance (LBNL): no sand or other silica on what may form hydrogen fluoride.
@pytest.mark.parametrize("condition", Condition)
def test_no_silica_for_leaks(condition: Condition) -> None:
    words = " ".join(str(statement) for statement in packing_cautions(condition)).lower()
    assert not {"sand", "vermiculite", "diatomaceous"} & set(words.replace(",", " ").split())


@pytest.mark.parametrize("condition", Condition)
def test_everything_said_has_a_source(condition: Condition) -> None:
    for statement in (condition_words(condition), *packing_cautions(condition, Chemistry.NMC)):
        assert str(statement.source)
        assert statement.source.evidence
