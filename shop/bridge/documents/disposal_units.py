"""What a disposal note says of things alike that went the same way."""

from collections.abc import Iterable
from decimal import Decimal
from itertools import groupby

from packs.documents import DisposalUnit
from packs.terms import Condition, Contents
from shop.bridge import waste
from shop.bridge.waste import Facts, Thing, Where
from shop.models import Cell, CountBasis, Item


def units(things: Iterable[Thing], route: str, where: Where) -> list[DisposalUnit]:
    """Return cells of one type together, and every item by itself."""
    cells = sorted((thing for thing in things if isinstance(thing, Cell)), key=_type)
    alike = [_cells(list(run), route, where) for _, run in groupby(cells, key=_type)]
    return [*alike, *(_item(thing, route, where) for thing in things if isinstance(thing, Item))]


def _type(cell: Cell) -> tuple[str, int]:
    return cell.lot.cell_model.name, cell.lot.cell_model_id


def _cells(cells: list[Cell], route: str, where: Where) -> DisposalUnit:
    one, many = waste.facts(cells[0]), len(cells)
    return _unit(
        f"{cells[0].lot.cell_model.name} cells",
        one,
        route,
        where,
        count=many,
        count_words=CountBasis.KNOWN.label,
        energy_mwh=_times(one.energy_mwh, many),
        mass_mg=_times(one.mass_mg, many),
        codes=tuple(sorted(cell.code for cell in cells)),
    )


def _times(value: Decimal | None, many: int) -> Decimal | None:
    return None if value is None else value * many


def _item(item: Item, route: str, where: Where) -> DisposalUnit:
    known = waste.facts(item)
    return _unit(
        item.description,
        known,
        route,
        where,
        count=item.cell_count if item.contents is Contents.CELLS else 0,
        count_words=CountBasis(item.count_basis).label if item.contents is Contents.CELLS else "",
        energy_mwh=known.energy_mwh if item.contents is Contents.CELLS else Decimal(0),
        mass_mg=known.mass_mg,
        contents=item.contents,
    )


def _unit(
    what: str,
    known: Facts,
    route: str,
    where: Where,
    *,
    count: int | None,
    count_words: str,
    energy_mwh: Decimal | None,
    mass_mg: Decimal | None,
    codes: tuple[str, ...] = (),
    contents: Contents = Contents.CELLS,
) -> DisposalUnit:
    un, code = _transport(known, where, contents), _code(known, where, contents)
    return DisposalUnit(
        what=what,
        chemistry=known.chemistry,
        route=route,
        count=count,
        count_words=count_words,
        rated_energy_mwh=energy_mwh,
        energy_words=known.energy_words,
        mass_mg=mass_mg,
        un_number=un[0],
        un_name=un[1],
        un_words=un[2],
        waste_code=code[0],
        waste_words=code[1],
        codes=codes,
        size_words=known.size(where).words if contents is Contents.CELLS else "",
        battery=contents is Contents.CELLS,
        on=where.on,
    )


def _transport(known: Facts, where: Where, contents: Contents) -> tuple[str, str, str]:
    if contents is not Contents.CELLS:
        return "", "", waste.NO_BATTERY
    row = waste.carriage(known, Condition.INTACT, where).name
    return row.code, row.name, row.text


def _code(known: Facts, where: Where, contents: Contents) -> tuple[str, str]:
    if contents is not Contents.CELLS:
        return "", waste.CHARACTERISE[contents]
    return waste.waste_code(known.chemistry, where)
