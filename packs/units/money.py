"""Amounts of money: exact decimals, rounded by the rule of their currency, printed by locale."""

from decimal import ROUND_HALF_UP, Decimal

from babel import Locale
from babel.numbers import format_currency, get_currency_precision

from packs.errors import ImpossibleValue

_KNOWN = frozenset(Locale("en").currencies)


def minor_digits(currency: str) -> int:
    """Return how many decimals a currency has [dimensionless].

    Raises
    ------
    ImpossibleValue
        There is no such currency.

    References
    ----------
    Unicode CLDR, digits of currencies.

    Examples
    --------
    >>> minor_digits("EUR"), minor_digits("JPY"), minor_digits("KWD")
    (2, 0, 3)
    """
    if currency not in _KNOWN:
        raise ImpossibleValue(f"“{currency}” is no currency; write its three letters, such as EUR.")
    return get_currency_precision(currency)


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount rounded to the smallest unit of its currency, halves away from zero [currency].

    References
    ----------
    Unicode CLDR, digits of currencies; halves upwards: common practice, no source.

    Examples
    --------
    >>> rounded(Decimal("12.345"), "EUR"), rounded(Decimal("12.5"), "JPY")
    (Decimal('12.35'), Decimal('13'))
    """
    return amount.quantize(Decimal(1).scaleb(-minor_digits(currency)), rounding=ROUND_HALF_UP)


def show_money(amount: Decimal, currency: str, *, locale: str = "en") -> str:
    r"""Return an amount as it is printed, with the letters of its currency [currency].

    References
    ----------
    Unicode CLDR, digits of currencies.

    Examples
    --------
    >>> show_money(Decimal("1240.5"), "EUR")
    'EUR\xa01,240.50'
    """
    code = locale.replace("-", "_")
    return format_currency(rounded(amount, currency), currency, format="¤¤\u00a0#,##0.00", locale=code)


def show_price(amount: Decimal, currency: str, *, locale: str = "en") -> str:
    r"""Return the price of one piece, metre or hour with every decimal it has: what it is multiplied by [currency].

    An amount that is paid is rounded; a price that is reckoned with is not.

    References
    ----------
    Unicode CLDR, digits of currencies.

    Examples
    --------
    >>> show_price(Decimal("5.3350"), "EUR"), show_price(Decimal("5.3"), "EUR"), show_price(Decimal(7), "JPY")
    ('EUR\xa05.335', 'EUR\xa05.30', 'JPY\xa07')
    """
    exact = amount.normalize().as_tuple().exponent
    digits = max(minor_digits(currency), -exact if isinstance(exact, int) else 0)
    pattern = "¤¤\u00a0#,##0" + ("." + "0" * digits if digits else "")
    return format_currency(amount, currency, format=pattern, locale=locale.replace("-", "_"), currency_digits=False)
