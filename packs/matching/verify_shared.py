"""An independent check of answers about several packs out of one stock, and about groups of unlike size."""

from __future__ import annotations

from collections.abc import Sequence

from packs.errors import ImpossibleValue
from packs.matching.answer import Proposal
from packs.matching.question import Question
from packs.matching.shared import SharedStock, Shares
from packs.matching.table import CellTable
from packs.matching.verify import Verified, checked, verify

_NEAR = 2e-9


def verify_together(table: CellTable, questions: Sequence[Question], answer: SharedStock) -> tuple[Verified, ...]:
    """Recompute packs out of one stock and refuse them if anything does not hold.

    Capacities [mAh].

    Raises
    ------
    packs.errors.ImpossibleValue
        As ``verify`` for each pack; a cell in two packs, or a level, bound or order that is not as stated.

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    if len(answer.proposals) != len(questions):
        raise ImpossibleValue(f"{len(answer.proposals)} packs are proposed, {len(questions)} are asked.")
    found = tuple(verify(table, asked, said) for asked, said in zip(questions, answer.proposals, strict=True))
    used = [row for proposal in answer.proposals for group in proposal.groups for row in group]
    if len(set(used)) != len(used):
        raise ImpossibleValue("A cell stands in two packs.")
    if sorted(answer.order) != list(range(len(questions))):
        raise ImpossibleValue("The order does not name every pack once.")
    _check_levels(answer, found)
    return found


def _check_levels(answer: SharedStock, found: Sequence[Verified]) -> None:
    for pack, one in enumerate(found):
        own = one.weakest_tenths / 10 / (answer.alone_mah[pack] if answer.alone_mah else 1.0)
        if answer.levels[pack] > own + _NEAR:
            raise ImpossibleValue(f"Pack {pack + 1} is stated at {answer.levels[pack]:g}, recomputed {own:g}.")
        if answer.bounds[pack] < answer.levels[pack] - _NEAR:
            raise ImpossibleValue(f"Pack {pack + 1} lies above its bound.")
    first = answer.order[0]
    beside = [level for level, place in zip(answer.levels, answer.places, strict=True) if place == answer.places[first]]
    if answer.levels[first] > min(beside):
        raise ImpossibleValue("The pack settled first is not the weakest.")
    in_turn = [answer.places[pack] for pack in answer.order]
    if in_turn != sorted(in_turn) or (answer.shares is Shares.FAIR and len(set(in_turn)) > 1):
        raise ImpossibleValue("The packs are not settled in the order given.")


def verify_uneven(table: CellTable, question: Question, parallels: Sequence[int], proposal: Proposal) -> Verified:
    """Recompute a pack whose groups have unlike parallel counts and refuse it if anything does not hold.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    Raises
    ------
    packs.errors.ImpossibleValue
        As ``verify``.

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    return checked(table, question, parallels, proposal)
