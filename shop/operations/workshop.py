"""The workshop itself: opening it, its people, its settings."""

import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from django.db import transaction

from packs.terms import Role
from shop.errors import ShopError
from shop.models import Instrument, RoleHolding, User, WorkshopSettings

from . import log
from .base import moment, save, verb
from .possible import require_not_ahead, require_stated

CALLED = re.compile(r"\+?\d[\d ()/.-]{0,18}\d")
"""A number that can be called: at least two digits, as it is written."""


@transaction.atomic
def open_shop(
    *, owner_username: str, owner_password: str, owner_name: str = "", now: datetime | None = None, **settings: Any
) -> WorkshopSettings:
    """The first person in an empty shop owns it, and the shop has settings from its first day."""
    if User.objects.exists():
        raise ShopError("already_open", "This shop is open already; its owner adds people and changes settings.")
    owner = _add(owner_username, owner_password, owner_name, [Role.OWNER])
    return _settle(owner, moment(now), settings)


@verb(Role.OWNER)
def add_person(
    *, username: str, password: str, name: str, roles: Iterable[Role], by: User, now: datetime | None = None
) -> User:
    """The owner says who works here and what they may do."""
    person = _add(username, password, name, roles)
    log.record("person added", by=by, at=moment(now), person=username)
    return person


@verb(Role.OWNER)
def change_settings(*, by: User, now: datetime | None = None, **settings: Any) -> WorkshopSettings:
    """Settings are changed by writing new ones below the old."""
    changed = _settle(by, moment(now), settings)
    log.record("settings changed", by=by, at=changed.at)
    return changed


def _settle(by: User, at: datetime, settings: dict[str, Any]) -> WorkshopSettings:
    if not CALLED.fullmatch(str(settings.get("emergency_number", "112")).strip()):
        words = "This cannot be called: a number has digits, such as 112; spaces and + may stand between them."
        raise ShopError("invalid", words, field="emergency_number")
    return save(WorkshopSettings(by=by, at=at, **settings))


def _add(username: str, password: str, name: str, roles: Iterable[Role]) -> User:
    person = User(username=username, first_name=name)
    person.set_password(password)
    save(person)
    RoleHolding.objects.bulk_create([RoleHolding(user=person, role=Role(role).value) for role in roles])
    return person


@verb(Role.TECHNICIAN, Role.LEAD, Role.OWNER)
def add_instrument(
    *,
    name: str,
    error_ppm: int,
    error_uv: int,
    by: User,
    calibrated_on: date | None = None,
    calibrated_every_d: int | None = None,
    now: datetime | None = None,
) -> Instrument:
    """A meter is known by its name and by how far it may be off."""
    at = moment(now)
    require_stated({"error_ppm": error_ppm, "error_uv": error_uv, "calibrated_every_d": calibrated_every_d})
    if calibrated_on:
        require_not_ahead(calibrated_on, at, "This day is still to come.", field="calibrated_on")
    instrument = save(
        Instrument(
            name=name.strip(),
            error_ppm=error_ppm,
            error_uv=error_uv,
            calibrated_on=calibrated_on,
            calibrated_every_d=calibrated_every_d,
        )
    )
    log.record("instrument added", by=by, at=at, instrument=instrument.name)
    return instrument
