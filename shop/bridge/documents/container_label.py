"""The label of a waste container."""

from collections.abc import Iterable
from decimal import Decimal

from packs import waste as rules
from packs.documents import ContainerLabel, Heading
from packs.terms import Condition
from shop.bridge import containers, waste
from shop.bridge.waste import Row, Thing, Where
from shop.models import Container

SPECIAL_WORDS = frozenset({"mark.intact", "mark.damaged"})
"""Marks whose words have a height of letters of their own."""


def container_label(container: Container, heading: Heading) -> ContainerLabel:
    """Return what stands on a container on the day its label is printed."""
    where = waste.here(heading.issued_at)
    (standing,) = containers.standing([container], heading.issued_at)
    things = _inside(container) if container.holds_cells else []
    marks = _marks(things, container, where)
    code, words = waste.universal_waste_label(container, standing.casings_closed, where)
    return ContainerLabel(
        heading=heading,
        place=where.place.label,
        takes=container.takes,
        battery=container.holds_cells,
        began=standing.began,
        leave_by=standing.leave_by,
        things=standing.things,
        names=_names(things, where),
        marks=_once(row.code for row in marks if row.rule in SPECIAL_WORDS),
        further_marks=_once(row.code for row in marks if row.rule not in SPECIAL_WORDS),
        waste_codes=_codes(things, where),
        legend=code,
        legend_words=words,
        gross_mass_mg=None if container.gross_mass_mg is None else Decimal(container.gross_mass_mg),
        never_by_air=rules.never_by_air(where.place, where.on).text,
        defers=rules.DEFERS.text,
    )


def _inside(container: Container) -> list[Thing]:
    items = container.items.select_related("job__device", "job__as_found__cell_model")
    return [*container.cells.select_related("lot__cell_model"), *items]


def _names(things: Iterable[Thing], where: Where) -> tuple[str, ...]:
    rows = (waste.carriage(waste.facts(thing), Condition(thing.condition), where).name for thing in things)
    return _once(f"{row.code} {row.name}" if row.code else row.text for row in rows)


def _codes(things: Iterable[Thing], where: Where) -> tuple[str, ...]:
    codes = (waste.waste_code(waste.facts(thing).chemistry, where) for thing in things)
    return _once(code or words for code, words in codes)


def _marks(things: Iterable[Thing], container: Container, where: Where) -> list[Row]:
    condition = Condition(container.condition)
    marks = (waste.carriage(waste.facts(thing), condition, where).marks for thing in things)
    return [row for rows in marks for row in rows if row.code]


def _once(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
