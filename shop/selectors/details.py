"""What else an opened pack showed, as pages tell it."""

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from packs.terms import ContactKind, Opening, Sealing
from shop.bridge.possible import STATED
from shop.models import Job, PackDetails


class Told(NamedTuple):
    """One fact: what it is, and how it is said."""

    label: str
    said: str


def of_job(job: Job) -> PackDetails | None:
    """Return what was stated last."""
    return PackDetails.objects.filter(job=job).select_related("by", "instrument").last()


def lines(row: PackDetails, *, locale: str = "en") -> list[Told]:
    """Return what is known, without what nobody looked at."""
    return [told for told in _lines(row, locale) if told.said]


def _lines(row: PackDetails, locale: str) -> Iterator[Told]:
    yield Told("Case was shut by", "" if row.opens == Opening.UNKNOWN else Opening(row.opens).label)
    sealed = "" if row.sealing == Sealing.UNKNOWN else Sealing(row.sealing).label
    marked = f"marked {row.ip_code}" if row.ip_code else ""
    yield Told("Against water", ", ".join(part for part in (sealed, marked) if part))
    yield Told("Metal to be touched", {True: "yes", False: "none", None: ""}[row.metal])
    yield Told("Insulation to it", _insulation(row, locale))
    yield Told("Board trips at", ", ".join(_trips(row, locale)))
    for one in row.contacts:
        yield Told(f"{ContactKind(one['kind']).label.capitalize()}, {one['place']}", _read(one, locale))


def _insulation(row: PackDetails, locale: str) -> str:
    if row.insulation_kohm is None:
        return ""
    at = f" at {_shown('insulation_test_mv', row.insulation_test_mv, locale)}" if row.insulation_test_mv else ""
    meter = f", {row.instrument}" if row.instrument else ""
    return f"{_shown('insulation_kohm', row.insulation_kohm, locale)}{at}{meter}"


def _trips(row: PackDetails, locale: str) -> Iterator[str]:
    if row.board_overcharge_mv is not None:
        yield f"{_shown('board_overcharge_mv', row.board_overcharge_mv, locale)} a group on charging"
    if row.board_undervoltage_mv is not None:
        yield f"{_shown('board_undervoltage_mv', row.board_undervoltage_mv, locale)} a group on discharging"
    if row.board_current_ma is not None:
        yield _shown("board_current_ma", row.board_current_ma, locale)


def _read(contact: dict[str, object], locale: str) -> str:
    if contact["open"]:
        value = "open"
    elif contact["ohm"] is None:
        return "not read"
    else:
        value = _shown("contact_ohm", Decimal(str(contact["ohm"])), locale)
    if contact["mdegc"] is None:
        return value
    return f"{value} at {_shown('temperature_mdegc', Decimal(str(contact['mdegc'])), locale)}"


def _shown(column: str, value: Decimal | int | None, locale: str) -> str:
    return "" if value is None else STATED[column].shown(value, locale=locale)
