"""Cells to grades: the shop's criteria, what new cells read, and the readings that still tell something."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from statistics import median
from types import MappingProxyType

from django.utils import timezone

from packs.grading import DEFAULT, Band, CellFacts, CheckCell, Criteria, Grading, Measured, grade
from packs.terms import CellProtection, Chemistry, Criterion, Grade, Measure
from packs.units import Kind, Quantity, of, show, ureg
from shop.bridge import said
from shop.bridge.checking import Beside, Checks
from shop.bridge.possible import Bound
from shop.models import Cell, CellModel, GradeCriteria, Instrument, NewCell, Reading


def _share(most: int, least: int = 0) -> Bound:
    return Bound(kind=Kind.FRACTION, unit="percent", typed_unit="%", most=most, least=least, above=not least)


_FALL = Bound.of(Measure.SELF_DISCHARGE, most=100_000, above=True)
GRADES = (Grade.FIRST, Grade.SECOND, Grade.THIRD)
OF_A_BAND: Mapping[str, tuple[str, Bound]] = MappingProxyType(
    {
        "least_health_percent": ("Health at least", _share(120)),
        "most_resistance_percent": ("Resistance at most, of a new cell's", _share(1000, 100)),
        "most_loss_percent": ("Loss in 30 days at most", _share(100)),
        "most_beyond_lot_uv_per_day": ("Fall beyond the lot's median at most", _FALL),
    }
)
OF_THE_TEST: Mapping[str, tuple[str, Bound]] = MappingProxyType(
    {
        "rate_per_hour": (
            "Current of the capacity test",
            Bound(kind=Kind.C_RATE, unit="1/hour", typed_unit="C", most=10, above=True),
        ),
        "temperature_mdegc": ("Temperature of tests", Bound.of(Measure.TEMPERATURE, most=60_000, least=-20_000)),
        "temperature_band_k": (
            "How far from it a test still counts",
            Bound(kind=Kind.TEMPERATURE_RISE, unit="delta_degC", typed_unit="K", most=20, above=True),
        ),
        "oldest_d": (
            "How old a test may be",
            Bound(kind=Kind.TIME, unit="day", typed_unit="d", most=3650, above=True),
        ),
    }
)
"""What a set of criteria holds by its key, with its words and what it may be at all (common practice, no source)."""

BOUNDS: Mapping[str, tuple[str, Bound]] = MappingProxyType(
    {
        **{f"{one.value}_{name}": told for one in GRADES for name, told in OF_A_BAND.items()},
        **OF_THE_TEST,
    }
)


def criteria() -> Criteria:
    """Return the criteria that count: the shop's newest version, or those that count until it has one."""
    row = GradeCriteria.objects.order_by("number").last()
    return of_facts({name: Decimal(text) for name, text in row.facts.items()}, row.number) if row else DEFAULT


def of_facts(facts: Mapping[str, Decimal], version: int) -> Criteria:
    """Build one version of the criteria from its stored numbers."""
    return Criteria(
        version=version,
        bands=(_band(Grade.FIRST, facts), _band(Grade.SECOND, facts), _band(Grade.THIRD, facts)),
        rate=ureg.Quantity(float(facts["rate_per_hour"]), "1/hour"),
        temperature=of(Measure.TEMPERATURE, facts["temperature_mdegc"]),
        temperature_band=ureg.Quantity(float(facts["temperature_band_k"]), "delta_degC"),
        oldest=ureg.Quantity(float(facts["oldest_d"]), "day"),
    )


def _band(one: Grade, facts: Mapping[str, Decimal]) -> Band:
    def share(name: str) -> Quantity:
        return ureg.Quantity(float(facts[f"{one.value}_{name}_percent"]), "percent")

    beyond = of(Measure.SELF_DISCHARGE, facts[f"{one.value}_most_beyond_lot_uv_per_day"])
    return Band(one, share("least_health"), share("most_resistance"), share("most_loss"), beyond)


def facts_of(counting: Criteria) -> dict[str, Decimal]:
    """Return the numbers of a version as they are stored."""
    facts: dict[str, Decimal] = {}
    for band in counting.bands:
        for name, (_, bound) in OF_A_BAND.items():
            quantity = getattr(band, name.rpartition("_percent")[0] or "most_beyond_lot")
            facts[f"{band.grade.value}_{name}"] = _number(quantity, bound.unit)
    return facts | {
        "rate_per_hour": _number(counting.rate, "1/hour"),
        "temperature_mdegc": 1000 * _number(counting.temperature, "degC"),
        "temperature_band_k": _number(counting.temperature_band, "delta_degC"),
        "oldest_d": _number(counting.oldest, "day"),
    }


def _number(quantity: Quantity, unit: str) -> Decimal:
    return Decimal(repr(round(float(quantity.m_as(unit)), 6)))


@dataclass(frozen=True)
class _Told:
    """The newest readings of a cell that still tell something, by measure."""

    value: Decimal
    words: str
    method: str
    measured_at: datetime
    meter_doubt: str
    beside: Beside | None = None


def of_cells(
    cells: Iterable[Cell], *, at: datetime, locale: str = "en", counting: Criteria | None = None
) -> dict[int, Grading]:
    """Grade cells by what stands in the book, in as many queries for one as for many."""
    rows = list(cells)
    by = counting or criteria()
    told = _told([cell.pk for cell in rows], by)
    new, falls = _new_cells(rows), _falls({cell.lot_id for cell in rows})
    return {
        cell.pk: grade(
            _facts(cell, told.get(cell.pk, {}), new.get(cell.lot.cell_model_id), falls, at), by, locale=locale
        )
        for cell in rows
    }


def _beside(row: Reading, words: str, checks: Checks, counting: Criteria) -> Beside | None:
    """Return the check cell of that day, where a capacity was measured too warm or too cold to be compared as it is."""
    warm = said.temperature(words)
    if row.measure != Measure.CAPACITY or row.instrument is None or row.cell is None or warm is None:
        return None
    if abs(warm.m_as("degC") - counting.temperature.m_as("degC")) <= counting.temperature_band.m_as("delta_degC"):
        return None
    return checks.same_day(row.instrument, row.measured_at, warm, counting.temperature_band, row.cell.lot.cell_model_id)


def _told(cells: list[int], counting: Criteria) -> dict[int, dict[Measure, _Told]]:
    found: dict[int, dict[Measure, _Told]] = defaultdict(dict)
    checks = Checks.of_cells(cells)
    for row in Reading.objects.still_telling().filter(cell__in=cells).select_related("instrument", "cell__lot"):
        meter = row.instrument
        words = f"{row.method}, {row.conditions}"
        doubt = "" if meter is None else _doubt(meter, row, checks)
        beside = _beside(row, words, checks, counting)
        told = _Told(row.value, words, row.method, row.measured_at, doubt, beside)
        if row.cell_id is not None:
            found[row.cell_id][Measure(row.measure)] = told
    return found


def _doubt(meter: Instrument, row: Reading, checks: Checks) -> str:
    """Say why a meter did not count when it read something; of a tester, by the channel that the reading names."""
    out = "its calibration was overdue" if meter.overdue(timezone.localdate(row.measured_at)) else ""
    checked = checks.against(meter, row.measured_at, row.cell_id, row.conditions)
    return ", ".join(words for words in (out, checked) if words)


def _new_cells(cells: list[Cell]) -> dict[int, NewCell]:
    models = {cell.lot.cell_model_id for cell in cells}
    return {row.cell_model_id: row for row in NewCell.objects.filter(cell_model__in=models).order_by("pk")}


LOSING = frozenset({Criterion.SELF_DISCHARGE, Criterion.BEYOND_LOT})


def losing(cells: Iterable[Cell], *, locale: str = "en") -> dict[int, str]:
    """Say of cells that lose their charge at rest, beyond what the criteria allow for any grade, what tells it."""
    asked = _watched(cells)
    if not asked:
        return {}
    by, falls = criteria(), _falls({cell.lot_id for cell in asked})
    told = _told([cell.pk for cell in asked], by)
    found = {}
    for cell in asked:
        if Measure.SELF_DISCHARGE not in told.get(cell.pk, {}):
            continue
        facts = _facts(cell, told[cell.pk], None, falls, told[cell.pk][Measure.SELF_DISCHARGE].measured_at)
        reasons = grade(facts, by, locale=locale).reasons
        words = [one.words for one in reasons if one.criterion in LOSING and one.allows is Grade.BELOW]
        if words:
            found[cell.pk] = words[0]
    return found


def _watched(cells: Iterable[Cell]) -> list[Cell]:
    """Return the cells whose rest voltage was ever watched: of a large stock few, and nothing is read of the others."""
    rows = list(cells)
    watched = Reading.objects.filter(cell__in=[cell.pk for cell in rows], measure=Measure.SELF_DISCHARGE.value)
    known = set(watched.values_list("cell_id", flat=True))
    return [cell for cell in rows if cell.pk in known]


def drifting(cells: Iterable[Cell], *, locale: str = "en") -> dict[int, str]:
    """Say of cells whose rest voltage falls faster than their lot's median, beyond what grade 1 allows, what tells it."""
    rows = _watched(cells)
    if not rows:
        return {}
    by, falls = criteria(), _falls({cell.lot_id for cell in rows})
    told, most = _told([cell.pk for cell in rows], by), by.bands[0].most_beyond_lot
    found = {}
    for cell in rows:
        fall = told.get(cell.pk, {}).get(Measure.SELF_DISCHARGE)
        middle = _lot_fall(cell, fall, falls)
        if fall is None or middle is None or not of(Measure.SELF_DISCHARGE, fall.value) - middle > most:
            continue
        said = [
            show(value, Kind.SELF_DISCHARGE, locale=locale)
            for value in (of(Measure.SELF_DISCHARGE, fall.value), middle)
        ]
        found[cell.pk] = f"falls by {said[0]}, the lot's median by {said[1]}"
    return found


Falls = dict[tuple[int, str], list[Decimal]]
LEAST_OTHERS = 3
"""As ``packs.grading.drop``: a median of fewer than three others is none."""


def _falls(lots: set[int]) -> Falls:
    """How fast the rest voltage of each lot falls, by the words under which it was measured: only like with like."""
    rows = Reading.objects.still_telling().filter(cell__lot__in=lots, measure=Measure.SELF_DISCHARGE.value)
    last = {
        cell: (lot, words, value)
        for cell, lot, words, value in rows.values_list("cell", "cell__lot", "conditions", "value")
    }
    found: Falls = defaultdict(list)
    for lot, words, value in last.values():
        found[lot, words.strip().casefold()].append(value)
    return found


def _facts(cell: Cell, told: Mapping[Measure, _Told], new: NewCell | None, falls: Falls, at: datetime) -> CellFacts:
    model, fall = cell.lot.cell_model, told.get(Measure.SELF_DISCHARGE)
    protection = CellProtection(new.protection) if new else CellProtection.UNKNOWN
    rested = told[Measure.REST_VOLTAGE].words if Measure.REST_VOLTAGE in told else ""
    return CellFacts(
        chemistry=Chemistry(model.chemistry),
        rated=of(Measure.CAPACITY, model.rated_capacity_mah),
        end_of_discharge=of(Measure.VOLTAGE, model.end_of_discharge_mv),
        rest_voltage=_measured(Measure.REST_VOLTAGE, told, at),
        capacity=_measured(Measure.CAPACITY, told, at),
        resistance=_measured(Measure.DC_RESISTANCE, told, at),
        new_resistance=_new(new),
        fall=_measured(Measure.SELF_DISCHARGE, told, at),
        lot_fall=_lot_fall(cell, fall, falls),
        held=said.held(fall.words) if fall else None,
        protection=protection,
        at_the_cell=protection not in WITH_BOARD or said.at_the_cell(rested),
        drifts=said.drifts(rested),
        check_cell=_check_cell(told.get(Measure.CAPACITY), model),
    )


def _check_cell(capacity: _Told | None, model: CellModel) -> CheckCell | None:
    if capacity is None or capacity.beside is None:
        return None
    rated = of(Measure.CAPACITY, model.rated_capacity_mah)
    return CheckCell(health=capacity.beside.known / rated, health_that_day=capacity.beside.read / rated)


WITH_BOARD = (CellProtection.BOARD, CellProtection.BOTH)
"""A probe on the ends of such a cell touches its board, unless somebody says that it was read at the cell itself."""


def _measured(measure: Measure, told: Mapping[Measure, _Told], at: datetime) -> Measured | None:
    one = told.get(measure)
    if one is None:
        return None
    age = ureg.Quantity((at - one.measured_at).total_seconds() / 86_400, "day")
    warm, rate = said.temperature(one.words), said.rate(one.words)
    return Measured(of(measure, one.value), one.method, rate, warm, age, not one.meter_doubt, one.meter_doubt)


def _new(row: NewCell | None) -> Measured | None:
    if row is None:
        return None
    warm = of(Measure.TEMPERATURE, row.temperature_mdegc)
    return Measured(of(Measure.DC_RESISTANCE, row.dc_resistance_uohm), row.method, temperature=warm)


def _lot_fall(cell: Cell, fall: _Told | None, falls: Falls) -> Quantity | None:
    if fall is None:
        return None
    conditions = fall.words.removeprefix(f"{fall.method}, ").strip().casefold()
    like = falls.get((cell.lot_id, conditions), [])
    if not conditions or len(like) <= LEAST_OTHERS:
        return None
    return of(Measure.SELF_DISCHARGE, median(like))


__all__ = [
    "BOUNDS",
    "GRADES",
    "OF_A_BAND",
    "OF_THE_TEST",
    "Grading",
    "criteria",
    "drifting",
    "facts_of",
    "losing",
    "of_cells",
    "of_facts",
]
