"""Limits of the places in which batteries stand: what the owner enters, and that nothing comes where there is no room."""

from collections.abc import Mapping
from datetime import datetime

from packs.terms import Area, Bulk, Place, Role
from shop.bridge import areas
from shop.bridge.areas import Filled, Held, Room
from shop.bridge.possible import STATED
from shop.errors import ShopError
from shop.models import AreaLimit, Item, Plan, User

from . import log
from .base import moment, save, verb
from .possible import refuse

BROUGHT_TO = (Area.CUSTOMER_PACKS, Area.QUARANTINE, Area.WASTE)
"""Where what is taken in may have to stand."""


@verb(Role.OWNER)
def set_area_limit(
    *,
    area: Area,
    said_by: str,
    by: User,
    energy_mwh: int | None = None,
    mass_mg: int | None = None,
    volume_mm3: int | None = None,
    now: datetime | None = None,
) -> AreaLimit:
    """The owner enters what a kind of place may hold, and who says so; what is left empty has no limit."""
    at = moment(now)
    entered = {Bulk.ENERGY: energy_mwh, Bulk.MASS: mass_mg, Bulk.VOLUME: volume_mm3}
    given = {bulk: value for bulk, value in entered.items() if value is not None}
    refuse("impossible_value", {bulk.value: STATED[f"area_{bulk.value}"].doubt(given[bulk]) for bulk in given})
    if not said_by.strip():
        raise ShopError("source_missing", "Say where the limit comes from: whose letter, which code.", field="said_by")
    row = save(
        AreaLimit(
            area=area.value,
            energy_mwh=energy_mwh,
            mass_mg=mass_mg,
            volume_mm3=volume_mm3,
            said_by=said_by.strip(),
            at=at,
            by=by,
        )
    )
    amounts = {bulk.value: value for bulk, value in given.items()}
    log.record("limits of a place set", by=by, at=at, area=area.value, said_by=row.said_by, amounts=amounts)
    return row


def require_room(area: Area, *, more: Held | None = None) -> None:
    """Refuse what brings a place above a limit; asked after the book says where everything stands then.

    ``more`` is what comes in the same course without being asked again. What is in a tester comes back, so it has its room.
    """
    if not areas.limits_of(area):
        return
    coming = (more or Held()) + areas.coming_back(area)
    over = [one for one in areas.filled(area, more=coming) if one.room is Room.OVER]
    if over:
        raise ShopError(
            "place_full",
            f"There is no room: {area.label} would hold {' and '.join(map(areas.sentence, over))}. "
            "Nothing was moved. Make room there first; the limits are the owner's, from insurer and fire code.",
            area=area.value,
        )


def require_room_for(item: Item) -> None:
    """Refuse a device or pack that fits in no more; what has to go outside goes there in any case."""
    if item.place != Place.OUTSIDE:
        require_room(areas.area_of(item))


ASKED: Mapping[Bulk, tuple[str, str]] = {
    Bulk.ENERGY: ("rated_energy_mwh", "its rated energy, or voltage and capacity of its nameplate"),
    Bulk.MASS: ("mass_mg", "what it weighs"),
    Bulk.VOLUME: ("volume_mm3", "how much room it takes, length by width by height"),
}


def require_size_known(item: Item) -> None:
    """Ask how much comes in where a limit counts it: what nobody knows is no room; outside it may stand unknown."""
    if item.place == Place.OUTSIDE:
        return
    area = areas.area_of(item)
    limited, unknown = areas.limits_of(area), areas.of_item(item).uncounted
    asks = {
        field: f"{area.label.capitalize()} have a limit of {bulk.label}: say {what}; estimate on the high side."
        for bulk, (field, what) in ASKED.items()
        if bulk in limited and bulk in unknown
    }
    refuse("size_unknown", asks)


def still_to_place(plan: Plan) -> Held:
    """Return what else comes to the bench once the first cell of a plan is placed."""
    return areas.of_model(plan.cell_model, plan.positions.filter(placed_at__isnull=True).count())


def nearly_full(*asked: Area) -> list[tuple[Area, Filled]]:
    """Return which of the places, or of all, are nearly full or worse, by what."""
    limited = [area for area in asked or tuple(Area) if areas.limits_of(area)]
    if not limited:
        return []
    held = areas.standing()
    return [
        (area, one)
        for area in limited
        for one in areas.filled(area, held=held[area])
        if one.room in (Room.NEARLY, Room.FULL, Room.OVER)
    ]


def nearly_full_words(*asked: Area) -> list[str]:
    """Return a sentence for each place that is nearly full or worse."""
    return [
        f"{place.label.capitalize()}: {one.room.label}, {areas.sentence(one)}." for place, one in nearly_full(*asked)
    ]
