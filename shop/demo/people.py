"""Who works in the demo shop, and how to sign in as them."""

import secrets

from django.db import transaction

from packs.terms import Role
from shop.models import User
from shop.operations import workshop

PEOPLE = {
    "counter": ("Mira Holt", [Role.COUNTER]),
    "technician": ("Jon Adler", [Role.TECHNICIAN]),
    "lead": ("Sanna Berg", [Role.LEAD, Role.TECHNICIAN]),
    "owner": ("Tove Lind", [Role.OWNER]),
}
# Letters and digits that can't be taken for one another on a screen.
ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"


def hire(owner: User) -> None:
    """Add everyone but the owner, who opened the shop."""
    for username, (name, roles) in PEOPLE.items():
        if username != owner.username:
            workshop.add_person(username=username, password=new_password(), name=name, roles=roles, by=owner)


def named(username: str) -> User:
    """Return one of the demo shop's people."""
    return User.objects.get(username=username)


@transaction.atomic
def fresh_passwords() -> dict[str, str]:
    """Give everyone of the demo shop a new password; the old ones are worth nothing any more."""
    passwords = {username: new_password() for username in PEOPLE}
    for user in User.objects.filter(username__in=passwords):
        user.set_password(passwords[user.username])
        user.password_once = False
        user.save(update_fields=["password", "password_once"])
    return passwords


def new_password() -> str:
    """Return twelve letters and digits in groups of four, nearly 60 bits of chance."""
    return "-".join("".join(secrets.choice(ALPHABET) for _ in range(4)) for _ in range(3))
