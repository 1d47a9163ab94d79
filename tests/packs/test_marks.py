"""Numbers in sentences follow the locale that is stated around them; marks by Unicode CLDR, by way of Babel."""

import re
from decimal import Decimal

import pytest

from packs.rules import RULES, wording
from packs.units import Kind, in_marks, show, ureg, writing

MEASURING = [rule for rule in RULES.values() if rule.kind in {Kind.VOLTAGE, Kind.CURRENT, Kind.RESISTANCE}]


@pytest.mark.parametrize(("locale", "mark"), [("en", "."), ("de", ","), ("pt-BR", ",")])
def test_what_is_shown_without_a_locale_follows_the_one_around_it(locale: str, mark: str) -> None:
    with writing(locale):
        assert show(ureg.Quantity(3.62, "V")).value == f"3{mark}620"
        assert show(ureg.Quantity(3.62, "V"), locale="en").value == "3.620"
    assert show(ureg.Quantity(3.62, "V")).value == "3.620"


@pytest.mark.parametrize("rule", MEASURING, ids=lambda rule: str(rule.id))
def test_a_rule_says_its_numbers_in_the_shops_format(rule: wording.Rule) -> None:
    """The numbers are invented; their digits do not matter, their mark does."""
    value, limit = Decimal("7335461.5"), Decimal("7335400.2")
    plain = wording.texts(rule, value, (limit,), tell_apart=True)
    with writing("de"):
        written = wording.texts(rule, value, (limit,), tell_apart=True)
    assert re.search(r"\d\.\d", plain.value)
    assert written.value == plain.value.replace(".", ",")
    assert written.limits == tuple(each.replace(".", ",") for each in plain.limits)


@pytest.mark.parametrize(
    ("sentence", "written"),
    [
        ("such as 3.62 V", "such as 3,62 V"),
        ("expected is from 0 up to 1.000\u202fV", "expected is from 0 up to 1,000\u202fV"),
        ("a number such as 2.5", "a number such as 2,5"),
        ("at least 99.6 %, or 0.5 kg", "at least 99,6 %, or 0,5 kg"),
        # what was typed, positions, clauses and days are no numbers with a unit
        ("“3.7 V” cannot be read", "“3.7 V” cannot be read"),
        ("positions 1.1 to 4.2", "positions 1.1 to 4.2"),
        ("IEC 62133-2:2017, clause 7.1.2", "IEC 62133-2:2017, clause 7.1.2"),
        ("since 24.11.2026", "since 24.11.2026"),
    ],
)
def test_a_sentence_takes_the_mark_in_its_quantities_alone(sentence: str, written: str) -> None:
    assert in_marks(sentence) == sentence
    with writing("de"):
        assert in_marks(sentence) == written
