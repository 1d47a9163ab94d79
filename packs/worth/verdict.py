"""Rebuild, replace or recycle: a plain recommendation with its reasons."""

from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from babel.numbers import format_decimal

from packs.errors import ImpossibleValue
from packs.terms import Risk, Verdict
from packs.units import rounded, show_money
from packs.worth.cause import Cause, Found

ONE_GROUP = (
    "One group alone is at fault: a repair of that group, a kind of job of its own, replaces its cells and leaves the "
    "others. New cells then stand beside old ones, the weakest group of all limits the pack, and a lead has to accept "
    "that in writing."
)
UNTOUCHED = frozenset({Risk.LOCKS_FOR_GOOD, Risk.NO_PROTECTION, Risk.POTTED})
"""Risks of opening a pack, or of another board: nothing to a board that is only off."""
_FIRST = {
    Cause.LATCHED_OFF: Verdict.CHARGE_FIRST,
    Cause.BOARD_OFF: Verdict.BOARD_FIRST,
    Cause.PART: Verdict.MEND,
}


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
    """What is recommended, and why: ``reasons`` for the customer, the deciding one first; ``notes`` for the workshop."""

    verdict: Verdict
    reasons: tuple[str, ...]
    notes: tuple[str, ...] = ()


def recommend(
    rebuilt: Life,
    replacement: Life | None,
    risks: Collection[Risk],
    *,
    currency: str,
    locale: str = "en",
    repair: bool = False,
    found: Found | None = None,
) -> Advice:
    """Return the plain recommendation: a risk says no by itself, then the cheaper expected year counts [currency].

    Without a replacement a pack that must not be rebuilt is recycled. A ``repair`` of groups is called one. What was
    ``found`` in the pack comes before price: nobody replaces cells for a board that is off, or for a joint.
    A repair that keeps spent cells is never recommended.

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
    rebuilt.a_year()
    if found and found.kept:
        verdict = Verdict.REPLACE if replacement else Verdict.RECYCLE
        return Advice(verdict, (*found.reasons, _keeps(found.kept)))
    first = _FIRST.get(found.cause) if found and found.cause else None
    if found and first and not _speaking(risks, found):
        return Advice(first, found.reasons, found.advice)
    told = _by_price(rebuilt, replacement, risks, currency, locale, repair=repair)
    return told if found is None else _with(found, told, repair=repair)


def _keeps(groups: Collection[int]) -> str:
    named = f"group{'s' if len(groups) > 1 else ''} {', '.join(map(str, sorted(groups)))}"
    return f"This repair would keep the spent cells of {named}: offer new cells for them too, or a rebuild."


def _speaking(risks: Collection[Risk], found: Found) -> set[Risk]:
    """Return the risks that speak against doing what was found, too."""
    off = found.cause in (Cause.LATCHED_OFF, Cause.BOARD_OFF)
    return set(risks) - (UNTOUCHED if off else {Risk.NO_PROTECTION})


def _with(found: Found, told: Advice, *, repair: bool) -> Advice:
    """Name what was found beside the price or the risk, and where one group alone is at fault its repair.

    What decides comes first: the one group where it turns a rebuild into a repair, else the price or the risk.
    """
    if found.cause is not Cause.GROUP or repair:
        return Advice(told.verdict, (*told.reasons, *found.reasons), found.advice)
    if told.verdict is Verdict.REBUILD:
        return Advice(Verdict.REPAIR, (*found.reasons, ONE_GROUP, *told.reasons), found.advice)
    alone = () if told.verdict is Verdict.RECYCLE else (ONE_GROUP,)
    return Advice(told.verdict, (*told.reasons, *found.reasons, *alone), found.advice)


def _by_price(
    rebuilt: Life,
    replacement: Life | None,
    risks: Collection[Risk],
    currency: str,
    locale: str,
    *,
    repair: bool,
) -> Advice:
    if risks:
        verdict = Verdict.REPLACE if replacement else Verdict.RECYCLE
        return Advice(
            verdict,
            tuple(f"{risk.label.capitalize()}: this alone speaks against it." for risk in Risk if risk in risks),
        )
    wanted, word = (Verdict.REPAIR, "repair") if repair else (Verdict.REBUILD, "rebuild")
    if replacement is None:
        return Advice(wanted, (f"No replacement is known, and nothing speaks against a {word}.",))
    done = "repaired" if repair else "rebuilt"
    said = _compared(done, rebuilt, replacement, currency, locale)
    return Advice(wanted if rebuilt.a_year() < replacement.a_year() else Verdict.REPLACE, said)


def _compared(done: str, rebuilt: Life, new: Life, currency: str, locale: str) -> tuple[str, ...]:
    """Say the price of each expected year of both, and what it was reckoned from: price and years as assumed."""
    years = [rounded(life.a_year(), currency) for life in (rebuilt, new)]
    sums = [show_money(amount, currency, locale=locale) for amount in years]
    over = [_over(life, currency, locale) for life in (rebuilt, new)]
    first = (
        f"For each year it is expected to last, the {done} pack costs {sums[0]} ({over[0]}), "
        f"a new one {sums[1]} ({over[1]})."
    )
    return (
        (first,)
        if years[0] != years[1]
        else (first, "At the same cost a new one, with its maker's warranty, is the better buy.")
    )


def _over(life: Life, currency: str, locale: str) -> str:
    years = format_decimal(life.years.normalize(), locale=locale.replace("-", "_"))
    return f"{show_money(life.price, currency, locale=locale)} over {years} {'year' if life.years == 1 else 'years'}"
