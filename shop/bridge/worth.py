"""What a rebuild is sold for and whether it makes sense, from what is offered and what the workshop reckons with."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_UP, Decimal

from packs import faultfinding, worth
from packs.terms import RemovedWay, Risk
from packs.units import rounded
from shop.models import CellModel, Prices
from shop.models.quotes import BOARD, WHAT_STAYS

from .faultfinding import Standing, Suspects

PERCENT = Decimal(100)
CENTIMETRE = Decimal("0.01")
OTHER_CONDUCTORS = "Bars, leads and connectors"


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What is offered: the pack, what goes into it and how long it takes, and what speaks for and against it.

    Costs are those of the workshop, without margin and tax.
    """

    cell_model: CellModel
    series: int
    parallel: int
    cell_cost: Decimal
    labour_minutes: int
    test_minutes: int
    life_years: Decimal
    removed: RemovedWay
    strip_um: int = 0
    wire_um: int = 0
    conductor_cost: Decimal = Decimal(0)
    board_cost: Decimal = Decimal(0)
    replacement_price: Decimal | None = None
    replacement_years: Decimal | None = None
    risks: Sequence[Risk] = ()
    expected_capacity_mah: Decimal | None = None
    stays: str = WHAT_STAYS
    limits_of_use: str = ""
    board_unknown: bool = False
    replaced: Sequence[int] = ()

    @property
    def cells(self) -> int:
        """How many cells go in: all, or those of the groups that a repair replaces."""
        return (len(self.replaced) or self.series) * self.parallel


@dataclass(frozen=True)
class Worked:
    """What an offer comes to: the estimate, the recommendation, and the fee that is due on decline."""

    estimate: worth.Estimate
    advice: worth.Advice
    examination_fee: Decimal


def work_out(
    offer: Offer, prices: Prices, *, currency: str, locale: str = "en", search: Standing | None = None
) -> Worked:
    """Return what an offer comes to; prices and offer may be unsaved. ``search`` is where the search for its fault stands.

    Raises
    ------
    packs.errors.ImpossibleValue
        An amount, a time or a life cannot be, or the currency is none.
    """
    asked = worth.estimate(_parts(offer, prices), _work(offer), _fees(prices), _rates(prices, currency))
    replacement = None
    if offer.replacement_price is not None and offer.replacement_years is not None:
        replacement = worth.Life(offer.replacement_price, offer.replacement_years)
    rebuilt = worth.Life(asked.total, offer.life_years)
    repair = bool(offer.replaced)
    found = found_by(search, offer.replaced)
    advice = worth.recommend(
        rebuilt, replacement, offer.risks, currency=currency, locale=locale, repair=repair, found=found
    )
    return Worked(asked, advice, rounded(prices.examination_fee, currency))


def found_by(search: Standing | None, replaced: Sequence[int] = ()) -> worth.Found | None:
    """Return what the readings leave as explanations; None where nothing was read, nothing is wrong, or too many stand.

    Spent cells are told however many explanations stand, with those that replacing some groups would leave in.
    """
    if search is None:
        return None
    found = _explained(search)
    if not search.spent:
        return found
    kept = tuple(number for number in search.spent if number not in replaced) if replaced else ()
    return replace(found or worth.Found(None, ()), spent=search.spent_line, kept=kept)


def _explained(search: Standing) -> worth.Found | None:
    if not search.taken or not search.suspects or not search.suspects[0].parts:
        return None
    best, beyond = search.suspects, search.others[:1]
    if any(len(one.parts) == len(best[0].parts) for one in beyond):
        return None
    may_charge = any(faultfinding.SUPERVISED in one.advice for one in best)

    def means_of(*told: Suspects) -> worth.Cause | None:
        return worth.cause([one.parts for one in told], may_charge=may_charge, spent=search.spent)

    means = means_of(*best)
    advised = [one for one in best if means and means_of(one) is means]
    return worth.Found(
        means,
        tuple(one.faults for one in best),
        tuple(dict.fromkeys(line for one in advised for line in one.advice)),
    )


def _parts(offer: Offer, prices: Prices) -> list[worth.Item]:
    cells = worth.Item(f"Cells {offer.cell_model.name}", offer.cells, offer.cell_cost)
    cut = [("Strip", offer.strip_um, prices.strip_metre), ("Wire", offer.wire_um, prices.wire_metre)]
    rest = [(OTHER_CONDUCTORS, offer.conductor_cost), (BOARD, offer.board_cost), ("Consumables", prices.consumables)]
    return [
        cells,
        *(worth.Item(label, metres(length), each, "m") for label, length, each in cut if length and each),
        *(worth.Item(label, 1, cost) for label, cost in rest if cost),
    ]


def metres(length_um: int) -> Decimal:
    """Return a length as it is sold: metres, the last centimetre begun is paid."""
    return (Decimal(length_um) / 1_000_000).quantize(CENTIMETRE, ROUND_UP)


def _work(offer: Offer) -> list[worth.Work]:
    named = {
        "Replacing groups" if offer.replaced else "Rebuilding": offer.labour_minutes,
        "Testing": offer.test_minutes,
    }
    return [worth.Work(label, minutes) for label, minutes in named.items() if minutes]


def _fees(prices: Prices) -> list[worth.Item]:
    return [worth.Item("Waste fee", 1, prices.waste_fee)] if prices.waste_fee else []


def _rates(prices: Prices, currency: str) -> worth.Rates:
    shares = (Decimal(prices.margin_percent) / PERCENT, Decimal(prices.tax_percent) / PERCENT)
    return worth.Rates(currency, Decimal(prices.labour_rate), *shares)
