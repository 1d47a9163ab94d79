"""Rebuild, replace or recycle: a plain recommendation with its reasons."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from packs.errors import ImpossibleValue
from packs.terms import Risk, Verdict
from packs.units import rounded, show_money


@dataclass(frozen=True)
class Life:
    """What a pack costs, and how long it is expected to last.

    Attributes
    ----------
    price : Decimal
        In the currency of the estimate.
    years : Decimal
        Expected life [years].
    """

    price: Decimal
    years: Decimal

    def a_year(self) -> Decimal:
        """Price for each expected year, unrounded [currency]."""
        if not (self.years.is_finite() and self.years > 0 and self.price.is_finite() and self.price >= 0):
            raise ImpossibleValue("A pack has a price and lasts longer than nothing.")
        return self.price / self.years


@dataclass(frozen=True)
class Advice:
    """What is recommended, and why."""

    verdict: Verdict
    reasons: tuple[str, ...]


def recommend(
    rebuilt: Life,
    replacement: Life | None,
    risks: Collection[Risk],
    *,
    currency: str,
    locale: str = "en",
    repair: bool = False,
) -> Advice:
    """Return the plain recommendation: a risk says no by itself, then the cheaper expected year counts [currency].

    Without a replacement a pack that must not be rebuilt is recycled. A ``repair`` of groups is called one.

    Raises
    ------
    ImpossibleValue
        A price is below zero, or a life is not above zero.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> rebuilt, new = Life(Decimal(120), Decimal(4)), Life(Decimal(150), Decimal(4))
    >>> recommend(rebuilt, new, [], currency="EUR").verdict.label
    'rebuild it'
    >>> recommend(rebuilt, new, [Risk.POTTED], currency="EUR").verdict.label
    'buy a new one'
    """
    rebuilt_year = rebuilt.a_year()
    if risks:
        verdict = Verdict.REPLACE if replacement else Verdict.RECYCLE
        return Advice(
            verdict,
            tuple(f"{risk.label.capitalize()}: this alone speaks against it." for risk in Risk if risk in risks),
        )
    wanted, word = (Verdict.REPAIR, "repair") if repair else (Verdict.REBUILD, "rebuild")
    if replacement is None:
        return Advice(wanted, (f"No replacement is known, and nothing speaks against a {word}.",))
    new_year = replacement.a_year()
    done = "repaired" if repair else "rebuilt"
    said = _compared(done, rounded(rebuilt_year, currency), rounded(new_year, currency), currency, locale)
    return Advice(wanted if rebuilt_year < new_year else Verdict.REPLACE, said)


def _compared(done: str, rebuilt: Decimal, new: Decimal, currency: str, locale: str) -> tuple[str, ...]:
    sums = [show_money(amount, currency, locale=locale) for amount in (rebuilt, new)]
    first = f"For each year it is expected to last, the {done} pack costs {sums[0]}, a new one {sums[1]}."
    return (
        (first,)
        if rebuilt != new
        else (first, "At the same cost a new one, with its maker's warranty, is the better buy.")
    )
