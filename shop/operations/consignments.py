"""Containers out with a carrier, and the confirmation that comes back."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db.models import Max

from packs.terms import Mode, Place
from shop.bridge import waste
from shop.errors import ShopError
from shop.models import Consignment, Container, User

from . import book, log
from .base import BENCH, moment, save, verb
from .contents import held_by, require_chemistry


@verb(*BENCH)
def consign(
    *,
    containers: Sequence[Container],
    carrier: str,
    receiver: str,
    taken_by: str,
    by: User,
    handed_over_by: str = "",
    mode: Mode = Mode.ROAD,
    statutory_number: str = "",
    now: datetime | None = None,
) -> Consignment:
    """Closed containers leave with a named carrier for a named receiver, and everything in them leaves with them."""
    at = moment(now)
    waste.require_mode(mode)
    rows = _ready(containers)
    consignment = save(
        Consignment(
            number=(Consignment.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
            carrier=carrier.strip(),
            receiver=receiver.strip(),
            mode=mode.value,
            handed_over_by=handed_over_by.strip() or str(by),
            taken_by=taken_by.strip(),
            statutory_number=statutory_number.strip(),
            left_at=at,
            by=by,
            keep_until=waste.keep_until(waste.here(at)),
        )
    )
    for container in rows:
        _send(container, consignment, by, at)
    log.record(
        "consigned",
        by=by,
        at=at,
        consignment=consignment.code,
        containers=[row.code for row in rows],
        carrier=consignment.carrier,
        receiver=consignment.receiver,
    )
    return consignment


@verb(*BENCH)
def confirm_consignment(
    *, consignment: Consignment, confirmed_on: date, confirmed_by: str, by: User, now: datetime | None = None
) -> Consignment:
    """The receiver's confirmation is written down once, with its date and who signed it."""
    at = moment(now)
    row = Consignment.objects.select_for_update().get(pk=consignment.pk)
    if row.confirmed_on is not None:
        raise ShopError("confirmed_already", f"Consignment {row.code} was confirmed already.")
    if not confirmed_by.strip():
        raise ShopError("name_missing", "Say who confirmed it.", field="confirmed_by")
    if not waste.here(row.left_at).on <= confirmed_on <= waste.here(at).on:
        raise ShopError("wrong_date", "It was confirmed between the day it left and today.", field="confirmed_on")
    row.confirmed_on, row.confirmed_by = confirmed_on, confirmed_by.strip()
    log.record("consignment confirmed", by=by, at=at, consignment=row.code, on=confirmed_on.isoformat())
    return save(row)


def _ready(containers: Sequence[Container]) -> list[Container]:
    rows = list(Container.objects.select_for_update().filter(pk__in=[row.pk for row in containers]).order_by("code"))
    if not rows:
        raise ShopError("nothing_chosen", "Choose at least one container.", field="containers")
    for row in rows:
        if row.consigned_at is not None:
            raise ShopError("container_gone", f"Container {row.code} has left the shop already.")
        if not held_by(row):
            raise ShopError("container_empty", f"Container {row.code} is empty; there is nothing to consign.")
        require_chemistry(held_by(row))
        if row.closed_at is None:
            raise ShopError("container_open", f"Container {row.code} is not closed yet: weigh and secure it first.")
    return rows


def _send(container: Container, consignment: Consignment, by: User, at: datetime) -> None:
    container.consignment, container.consigned_at = consignment, at
    save(container)
    for thing in held_by(container):
        book.move(thing, Place.CONSIGNED, by=by, at=at, container=container, note=consignment.receiver)
