"""An independent check of a proposal: everything again from the table and the question, in whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist

from packs.errors import ImpossibleValue
from packs.matching.answer import Proposal
from packs.matching.question import Question
from packs.matching.table import UNKNOWN, CellTable
from packs.matching.verify_cells import check_excluded, faults_of
from packs.matching.verify_levelling import check_levelling


@dataclass(frozen=True)
class Verified:
    """Figures recomputed: capacities in steps of 0.1 mAh, resistances [µΩ] with None where one is not known."""

    group_capacity_tenths: tuple[int, ...]
    weakest_tenths: int
    spread_tenths: int
    group_resistance_uohm: tuple[float | None, ...]


def verify(table: CellTable, question: Question, proposal: Proposal, *, level_mv: float | None = None) -> Verified:
    """Recompute a proposal and refuse it if anything in it does not hold.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    Parameters
    ----------
    table : CellTable
    question : Question
    proposal : Proposal
    level_mv : float, optional
        Where the groups rest that these come beside [mV].

    Returns
    -------
    Verified

    Raises
    ------
    packs.errors.ImpossibleValue
        Wrong number of groups or cells, a cell twice, a cell that may not be used, a limit not kept, or a stated
        figure that differs from the recomputed one.

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    return checked(table, question, [question.parallel] * question.series, proposal, level_mv)


def checked(
    table: CellTable,
    question: Question,
    sizes: Sequence[int],
    proposal: Proposal,
    level_mv: float | None = None,
) -> Verified:
    """Recompute a proposal whose groups have these many cells; otherwise as ``verify``.

    Capacities [mAh], voltages [mV], resistances [µΩ].

    References
    ----------
    Kirchhoff's laws; arithmetic, done anew.
    """
    _check_shape(table, sizes, proposal)
    chosen = [row for group in proposal.groups for row in group]
    _check_cells(table, question, chosen)
    for number, group in enumerate(proposal.groups, start=1):
        check_group(table, question, number, group)
    found = _figures(table, proposal)
    _check_figures(proposal, found)
    _check_required(question, found)
    _check_percentile(table, question, proposal)
    _check_percentile_bound(proposal)
    _check_worst_share(table, proposal)
    _check_limiting(question, proposal)
    check_excluded(table, question, proposal)
    check_levelling(table, question, proposal, level_mv)
    return found


def _check_shape(table: CellTable, sizes: Sequence[int], proposal: Proposal) -> None:
    if [len(group) for group in proposal.groups] != list(sizes):
        told = " and ".join(str(size) for size in sorted(set(sizes)))
        raise ImpossibleValue(f"The proposal is not {len(sizes)} groups of {told} cells.")
    chosen = [row for group in proposal.groups for row in group]
    if len(set(chosen)) != len(chosen):
        raise ImpossibleValue("The proposal uses a cell twice.")
    if min(chosen) < 0 or max(chosen) >= len(table.codes):
        raise ImpossibleValue("The proposal names a cell that is not in the table.")


def _check_cells(table: CellTable, question: Question, chosen: list[int]) -> None:
    codes = {table.codes[row] for row in chosen}
    missing = sorted(set(question.must_use) - codes)
    if missing:
        raise ImpossibleValue(f"Cell {missing[0]} must be used, but is not.")
    faults = faults_of(table, question)
    for row in chosen:
        if wrong := faults(row):
            raise ImpossibleValue(f"Cell {table.codes[row]} may not be used: {wrong[0].said}.")
    check_alike(table, question, chosen)


def check_alike(table: CellTable, question: Question, chosen: list[int]) -> None:
    """Refuse cells that one pack may not mix, whatever they hold [mAh].

    References
    ----------
    Arithmetic, done anew.
    """
    measured = [row for row in chosen if int(table.dcir_nohm[row]) != UNKNOWN]
    alike = [
        ("resistance methods", {table.resistance_method[row] for row in measured}),
    ]
    if not question.allow_mixed_chemistries:
        alike.append(("chemistries", {table.chemistry[row] for row in chosen}))
    if not question.allow_mixed_conditions:
        alike.append(("test conditions", {table.test_conditions[row] for row in chosen}))
    if not question.allow_mixed_models:
        alike.append(("models", {table.model[row] for row in chosen}))
    if not question.allow_mixed_lots:
        alike.append(("lots", {table.lot[row] for row in chosen}))
    for name, found in alike:
        if len(found) > 1:
            raise ImpossibleValue(f"The proposal mixes {name}: {', '.join(sorted(found))}.")


def check_group(table: CellTable, question: Question, number: int, group: tuple[int, ...]) -> None:
    """Refuse a group that does not keep the limits: ratio of resistances [µΩ], windows in [mV] and of [mAh].

    References
    ----------
    Arithmetic, done anew.
    """
    if len(group) == 1:
        return
    origins = {"lot": table.lot, "donor": table.donor}.get(question.together.value)
    if origins is not None and len({origins[row] for row in group}) > 1:
        raise ImpossibleValue(f"Group {number} mixes cells of more than one {question.together.value}.")
    ratio, window, volts = question.ratio, question.window, question.ocv_window_uv
    if ratio is not None:
        ohms = _known(number, "resistance", [int(table.dcir_nohm[row]) for row in group])
        if Fraction(max(ohms), min(ohms)) > ratio:
            raise ImpossibleValue(
                f"Group {number}: resistances of {min(ohms) / 1e6:.1f} to {max(ohms) / 1e6:.1f} mΩ exceed the ratio "
                f"{float(ratio):g}."
            )
    if volts is not None:
        rest = _known(number, "rest voltage", [int(table.ocv_uv[row]) for row in group])
        if max(rest) - min(rest) > volts:
            raise ImpossibleValue(
                f"Group {number}: rest voltages differ by {(max(rest) - min(rest)) / 1000:g} mV, above "
                f"{volts / 1000:g} mV."
            )
    if window is not None:
        _check_window(number, [int(table.capacity_tenths[row]) for row in group], window)


def _known(number: int, name: str, values: list[int]) -> list[int]:
    if UNKNOWN in values:
        raise ImpossibleValue(f"Group {number}: a cell's {name} is not known.")
    return values


def _check_window(number: int, capacities: list[int], window: Fraction) -> None:
    mean = Fraction(sum(capacities), len(capacities))
    for capacity in capacities:
        if abs(capacity - mean) > window * mean:
            raise ImpossibleValue(f"Group {number}: {capacity / 10:g} mAh lies outside the window around the mean.")


def _figures(table: CellTable, proposal: Proposal) -> Verified:
    tenths = table.capacity_tenths.tolist()
    ohms = table.dcir_nohm.tolist()
    sums = tuple(sum(tenths[row] for row in group) for group in proposal.groups)
    return Verified(
        group_capacity_tenths=sums,
        weakest_tenths=min(sums),
        spread_tenths=max(sums) - min(sums),
        group_resistance_uohm=tuple(_parallel([ohms[row] for row in group]) for group in proposal.groups),
    )


def _parallel(ohms: list[int]) -> float | None:
    if UNKNOWN in ohms:
        return None
    return float(1 / sum(Fraction(1000, ohm) for ohm in ohms))


def _check_figures(proposal: Proposal, found: Verified) -> None:
    stated = [round(value * 10) for value in proposal.group_capacity_mah]
    pairs = (
        ("group capacities", stated, list(found.group_capacity_tenths)),
        ("weakest group", round(proposal.weakest_mah * 10), found.weakest_tenths),
        ("spread", round(proposal.spread_mah * 10), found.spread_tenths),
        ("capacity used", round(proposal.used_mah * 10), sum(found.group_capacity_tenths)),
    )
    for name, said, is_so in pairs:
        if said != is_so:
            raise ImpossibleValue(f"The stated {name} is {said}, recomputed {is_so} (0.1 mAh).")
    if round(proposal.bound_mah * 10) < found.weakest_tenths:
        raise ImpossibleValue("The weakest group lies above its bound.")
    if round(proposal.least_used_mah * 10) > sum(found.group_capacity_tenths):
        raise ImpossibleValue("The cells used lie below what none can stay below.")
    _check_resistances(proposal, found.group_resistance_uohm)


def _check_required(question: Question, found: Verified) -> None:
    """Every group has the capacity asked, whatever is better beyond that."""
    if found.weakest_tenths < question.required_tenths:
        raise ImpossibleValue(f"The weakest group lies below the {question.required_mah:g} mAh required.")


def _check_percentile(table: CellTable, question: Question, proposal: Proposal) -> None:
    """At the stated 5th percentile all groups hold with a probability of 0.95; errors of tests add in squares."""
    weakest = min(proposal.groups, key=lambda group: sum(int(table.capacity_tenths[row]) for row in group))
    repeats = question.repeatability * sum(float(table.capacity_mah[row]) ** 2 for row in weakest) ** 0.5
    if abs(proposal.weakest_repeats_mah - repeats) > 1e-6:
        raise ImpossibleValue("The weakest group repeats to another figure than stated.")
    if question.repeatability == 0:
        return
    held = 1.0
    for group in proposal.groups:
        tenths = [float(table.capacity_mah[row]) for row in group]
        deviation = question.repeatability * sum(value**2 for value in tenths) ** 0.5
        held *= 1 - NormalDist(sum(tenths), deviation).cdf(proposal.pack_capacity_p5_mah)
    if abs(held - 0.95) > 1e-6:
        raise ImpossibleValue(f"The pack holds its stated 5th percentile with a probability of {held:.4f}, not 0.95.")


def _check_percentile_bound(proposal: Proposal) -> None:
    if proposal.pack_capacity_p5_mah > proposal.pack_capacity_p5_bound_mah + 1e-6:
        raise ImpossibleValue("The 5th percentile of the pack lies above its bound.")


def _check_resistances(proposal: Proposal, found: tuple[float | None, ...]) -> None:
    for said, is_so in zip(proposal.group_resistance_uohm, found, strict=True):
        if not _agree(said, is_so):
            raise ImpossibleValue(f"A stated group resistance is {said} µΩ, recomputed {is_so} µΩ.")
    known = [ohm for ohm in found if ohm is not None]
    spread = max(known) - min(known) if len(known) == len(found) else None
    if not _agree(proposal.resistance_spread_uohm, spread, 1e-9 * max(known, default=0.0)):
        said = proposal.resistance_spread_uohm
        raise ImpossibleValue(f"The stated spread of the resistances is {said} µΩ, recomputed {spread} µΩ.")


def _agree(said: float, is_so: float | None, within: float | None = None) -> bool:
    """Whether a figure is as recomputed, NaN standing for one that is not known."""
    if is_so is None:
        return said != said
    return abs(said - is_so) <= (1e-9 * is_so if within is None else within)


def _check_worst_share(table: CellTable, proposal: Proposal) -> None:
    """Current divides as the conductances do; loaded most is who carries most beside an even share of its group."""
    shares: dict[str, tuple[Fraction, int]] = {}
    ohms, said = table.dcir_nohm.tolist(), proposal.worst_share
    for group in proposal.groups:
        if UNKNOWN in (own := [ohms[row] for row in group]):
            shares = {}
            break
        whole = sum(Fraction(1, ohm) for ohm in own)
        shares |= {table.codes[row]: (1 / ohms[row] / whole, len(group)) for row in group}
    if said is None or not shares:
        if said is not None or shares:
            raise ImpossibleValue("The share of the cell loaded most is stated where it is not known, or left out.")
        return
    share, count = shares.get(said.code, (Fraction(0), 1))
    most = max(float(one * many) for one, many in shares.values())
    held = abs(said.share - share) <= 1e-9 and abs(said.even_share - 1 / count) <= 1e-9
    if not held or share * count < most * (1 - 1e-9):
        raise ImpossibleValue(f"Cell {said.code} does not carry most, or not as large a share as stated.")


def _check_limiting(question: Question, proposal: Proposal) -> None:
    """Only what was asked can be limiting, besides what the cells hold; or somebody's own groups."""
    asked = {
        "resistance ratio": question.ratio,
        "capacity window": question.window,
        "voltage window": question.ocv_window_uv,
        "lots or donors kept together": question.together.value or None,
    }
    limits = [name for name, limit in asked.items() if limit is not None]
    alone = proposal.limiting in ((), ("capacity of the cells",), ("dealt by hand",))
    if not alone and (set(proposal.limiting) - set(limits) or len(set(proposal.limiting)) < len(proposal.limiting)):
        raise ImpossibleValue(f"Limiting cannot be what nobody asked: {', '.join(proposal.limiting)}.")
