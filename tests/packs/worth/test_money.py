"""Money is rounded by the rule of its currency; the digits are those of ISO 4217, list one (from memory)."""

from decimal import Decimal

import pytest

from packs.errors import ImpossibleValue, ParseError
from packs.units import NumberFormat, minor_digits, parse_number, rounded, show_money

ISO_4217 = {
    "EUR": 2,
    "USD": 2,
    "GBP": 2,
    "CHF": 2,
    "JPY": 0,
    "KRW": 0,
    "CLP": 0,
    "KWD": 3,
    "BHD": 3,
    "TND": 3,
    "CLF": 4,
}


@pytest.mark.parametrize("currency", ISO_4217)
def test_a_currency_has_the_digits_of_the_standard(currency: str) -> None:
    assert minor_digits(currency) == ISO_4217[currency]


@pytest.mark.parametrize(
    ("amount", "currency", "printed"),
    [
        ("12.345", "EUR", "12.35"),
        ("12.3449", "EUR", "12.34"),
        ("12.5", "JPY", "13"),
        ("0.0005", "KWD", "0.001"),
        ("1e6", "EUR", "1000000.00"),
    ],
)
def test_halves_are_rounded_up(amount: str, currency: str, printed: str) -> None:
    assert str(rounded(Decimal(amount), currency)) == printed


def test_an_unknown_currency_is_refused() -> None:
    with pytest.raises(ImpossibleValue):
        minor_digits("XQQ")


@pytest.mark.parametrize(
    ("locale", "printed"), [("en", "EUR\xa01,240.50"), ("de", "EUR\xa01.240,50"), ("de-CH", "EUR\xa01’240.50")]
)
def test_an_amount_is_printed_as_the_shop_writes_numbers(locale: str, printed: str) -> None:
    assert show_money(Decimal("1240.5"), "EUR", locale=locale) == printed


def test_a_currency_without_decimals_prints_none() -> None:
    assert show_money(Decimal(1240), "JPY") == "JPY\xa01,240"


@pytest.mark.parametrize(("text", "read"), [("12.50", "12.50"), ("12,5", "12.5"), ("0", "0"), ("1 240.50", "")])
def test_an_amount_is_read_exactly(text: str, read: str) -> None:
    if read:
        assert str(parse_number(text, expected="an amount")) == read
    else:
        with pytest.raises(ParseError):
            parse_number(text, expected="an amount")


@pytest.mark.parametrize("text", ["-1", "1,500", "12 EUR", "nan", "inf", "1e5", "", "10000000000"])
def test_what_is_not_one_amount_is_refused(text: str) -> None:
    with pytest.raises(ParseError):
        parse_number(text, expected="an amount")


def test_the_shops_own_marks_decide() -> None:
    assert parse_number("1,500", expected="an amount", numbers=NumberFormat(",", ".")) == Decimal("1.5")
