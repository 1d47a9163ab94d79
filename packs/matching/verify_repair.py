"""An independent check of a repair: the new groups and what is said of them beside those that stay, from the table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from statistics import median

from packs.errors import ImpossibleValue
from packs.matching.question import Objective, Question
from packs.matching.repaired import Repair, StandingGroup
from packs.matching.table import CellTable
from packs.matching.verify import Verified, verify


def verify_repair(table: CellTable, question: Question, standing: Sequence[StandingGroup], answer: Repair) -> Verified:
    """Recompute the new groups of a repaired pack and refuse it if anything does not hold.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    Raises
    ------
    packs.errors.ImpossibleValue
        As ``verify``; or what is said of the whole pack, of a level or a resistance differs from the recomputed.

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    known = [group.capacity_mah for group in standing if group.capacity_mah is not None]
    asked = min(known) if known else None
    if answer.asked_mah != asked:
        raise ImpossibleValue("The capacity asked is not the least of the groups that stay.")
    enough = asked is not None and not answer.falls_short
    thrifty = replace(question, objective=Objective.USE_UP_WEAKER, required_mah=asked) if enough else question
    level = _level(standing, answer)
    found = verify(table, thrifty, answer.proposal, level_mv=level)
    weakest = Fraction(found.weakest_tenths, 10)
    weakest = weakest if asked is None else min(weakest, Fraction(str(asked)))
    if Fraction(str(answer.pack_weakest_mah)) != weakest or Fraction(str(answer.pack_bound_mah)) < weakest:
        raise ImpossibleValue("The weakest group of the pack or its bound is not as stated.")
    _check_standing(question, standing, answer)
    _check_resistances(standing, found, answer)
    return found


def _level(standing: Sequence[StandingGroup], answer: Repair) -> float | None:
    """The middle of the groups that stay [mV], and refuse another one."""
    known = [group.rest_mv for group in standing if group.rest_mv is not None]
    middle = median(known) if len(known) == len(standing) else None
    if (answer.level_mv is None) != (middle is None):
        raise ImpossibleValue("The level stated is not that of the groups that stay.")
    if middle is not None and answer.level_mv is not None and abs(answer.level_mv - middle) > 0.0006:
        raise ImpossibleValue("The level stated is not the middle of the groups that stay.")
    return answer.level_mv


def _check_standing(question: Question, standing: Sequence[StandingGroup], answer: Repair) -> None:
    """Which of the groups that stay lie too far from their middle themselves."""
    rest = {number: group.rest_mv for number, group in enumerate(standing, start=1) if group.rest_mv is not None}
    level, within = answer.level_mv, question.level_within_mv
    apart = level is not None and max(rest.values()) - min(rest.values()) > within
    far = tuple(number for number, mv in rest.items() if apart and abs(mv - (level or 0.0)) > within / 2)
    if answer.standing_to_level != far:
        raise ImpossibleValue("Of the groups that stay others lie apart than stated.")


def _check_resistances(standing: Sequence[StandingGroup], found: Verified, answer: Repair) -> None:
    known = [group.resistance_uohm for group in standing if group.resistance_uohm is not None]
    middle = median(known) if len(known) == len(standing) else None
    if middle is None:
        if answer.resistance_target_uohm is not None or answer.resistance_off_uohm:
            raise ImpossibleValue("A resistance is stated that nobody measured.")
        return
    for said, own in zip(answer.resistance_off_uohm, found.group_resistance_uohm, strict=True):
        agree = said != said if own is None else abs(said - (own - middle)) <= 0.01
        if not agree:
            raise ImpossibleValue("A new group's resistance lies elsewhere beside the others than stated.")
