"""Who works here after the first day: passwords, roles, who is not let in any more, and one owner always. Invented."""

import pytest
from django.test import Client

from packs.terms import Role
from shop import models
from shop.operations import people
from tests.factories import SettingsFactory, UserFactory
from tests.refusal import refused
from tests.web.desk import errors, send, words

pytestmark = pytest.mark.django_db
NEW = "quiet-lathe-42"


@pytest.fixture
def owner() -> models.User:
    return UserFactory(username="tove", roles=(Role.OWNER,))


@pytest.fixture
def jon() -> models.User:
    user = UserFactory(username="jon", roles=(Role.TECHNICIAN,))
    user.set_password("old-anvil-17")
    user.save()
    return user


def test_the_last_owner_stays(owner: models.User, jon: models.User) -> None:
    with refused("last_owner", field="roles"):
        people.change_roles(person=owner, roles=[Role.LEAD], by=owner)
    with refused("last_owner"):
        people.bar_person(person=owner, by=owner)
    people.change_roles(person=jon, roles=[Role.OWNER], by=owner)
    people.bar_person(person=owner, by=owner)
    with refused("last_owner"):
        people.bar_person(person=jon, by=models.User.objects.get(pk=jon.pk))


def test_roles_are_said_anew(owner: models.User, jon: models.User) -> None:
    changed = people.change_roles(person=jon, roles=[Role.COUNTER, Role.LEAD], by=owner)
    assert changed.roles == {Role.COUNTER, Role.LEAD}
    with refused("nothing_changed"):
        people.change_roles(person=jon, roles=[Role.LEAD, Role.COUNTER], by=owner)
    with refused("no_role"):
        people.change_roles(person=jon, roles=[], by=owner)


def test_who_is_barred_is_out_at_once_and_may_come_back(owner: models.User, jon: models.User, client: Client) -> None:
    SettingsFactory()
    client.force_login(jon)
    assert client.get("/stock/").status_code == 200
    people.bar_person(person=jon, by=owner)
    assert client.get("/stock/").status_code == 302
    assert not client.login(username="jon", password="old-anvil-17")
    people.let_in(person=jon, by=owner)
    assert client.login(username="jon", password="old-anvil-17")


def test_a_one_time_password_opens_the_door_to_one_page(owner: models.User, jon: models.User, client: Client) -> None:
    SettingsFactory()
    people.reset_password(person=jon, password="borrowed-vise-9", by=owner)
    assert client.login(username="jon", password="borrowed-vise-9")
    assert client.get("/stock/").url == "/password/"
    assert "known to somebody else" in words(client.get("/password/"))
    sent = send(client, "/password/", old="borrowed-vise-9", password=NEW, again=NEW)
    assert sent.url == "/"
    assert client.get("/stock/").status_code == 200, "the session goes on"
    assert models.User.objects.get(pk=jon.pk).check_password(NEW)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"old": "guessed"}, "old"),
        ({"again": "quiet-lathe-43"}, "again"),
        ({"password": "12345", "again": "12345"}, "password"),
        ({"password": "old-anvil-17", "again": "old-anvil-17"}, "password"),
    ],
)
def test_a_password_of_ones_own_is_changed_by_who_knows_the_old_one(
    typed: dict[str, str], field: str, jon: models.User, client: Client
) -> None:
    SettingsFactory()
    client.force_login(jon)
    answer = send(client, "/password/", **{"old": "old-anvil-17", "password": NEW, "again": NEW} | typed)
    assert field in errors(answer)
    assert models.User.objects.get(pk=jon.pk).check_password("old-anvil-17")
