"""Who works here after the first day: passwords, roles, and who is not let in any more."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from packs.terms import Role
from shop.errors import ShopError
from shop.models import RoleHolding, User

from . import log
from .base import EVERYONE, moment, verb

SET = ["password", "password_once"]


@verb(*EVERYONE)
def change_password(*, password: str, by: User, now: datetime | None = None) -> User:
    """Everybody has a password that nobody else knows."""
    by.set_password(password)
    by.password_once = False
    by.save(update_fields=SET)
    log.record("password changed", by=by, at=moment(now))
    return by


@verb(Role.OWNER)
def reset_password(*, person: User, password: str, by: User, now: datetime | None = None) -> User:
    """Who forgot the password gets one from the owner that opens the door once, to set one's own."""
    person = User.objects.select_for_update().get(pk=person.pk)
    person.set_password(password)
    person.password_once = True
    person.save(update_fields=SET)
    log.record("password reset", by=by, at=moment(now), person=person.username)
    return person


@verb(Role.OWNER)
def change_roles(*, person: User, roles: Iterable[Role], by: User, now: datetime | None = None) -> User:
    """The owner says anew what somebody may do; one owner always stays."""
    person = User.objects.select_for_update().get(pk=person.pk)
    wanted = {Role(role) for role in roles}
    if not wanted:
        raise ShopError("no_role", "Choose at least one role; who leaves is barred instead.", field="roles")
    if Role.OWNER not in wanted:
        _require_another_owner(person, field="roles")
    before = person.roles
    if wanted == before:
        raise ShopError("nothing_changed", f"{person} holds these roles already.", field="roles")
    RoleHolding.objects.filter(user=person).exclude(role__in=[role.value for role in wanted]).delete()
    RoleHolding.objects.bulk_create([RoleHolding(user=person, role=role.value) for role in wanted - before])
    told: dict[str, Any] = {
        "before": sorted(role.label for role in before),
        "after": sorted(role.label for role in wanted),
    }
    log.record("roles changed", by=by, at=moment(now), person=person.username, **told)
    return User.objects.get(pk=person.pk)


@verb(Role.OWNER)
def bar_person(*, person: User, by: User, now: datetime | None = None) -> User:
    """Who left is not let in any more; what they did stays under their name."""
    person = User.objects.select_for_update().get(pk=person.pk)
    if not person.is_active:
        raise ShopError("barred_already", f"{person} is barred already.")
    _require_another_owner(person)
    person.is_active = False
    person.save(update_fields=["is_active"])
    log.record("person barred", by=by, at=moment(now), person=person.username)
    return person


@verb(Role.OWNER)
def let_in(*, person: User, by: User, now: datetime | None = None) -> User:
    """Who came back may sign in again."""
    person = User.objects.select_for_update().get(pk=person.pk)
    if person.is_active:
        raise ShopError("not_barred", f"{person} may sign in.")
    person.is_active = True
    person.save(update_fields=["is_active"])
    log.record("person let in", by=by, at=moment(now), person=person.username)
    return person


def _require_another_owner(person: User, *, field: str = "") -> None:
    """Without an owner nobody could ever add or bar anybody again."""
    owners = User.objects.filter(is_active=True, holdings__role=Role.OWNER.value)
    if owners.filter(pk=person.pk).exists() and not owners.exclude(pk=person.pk).exists():
        raise ShopError("last_owner", f"{person} is the only owner; make somebody else one first.", field=field)
