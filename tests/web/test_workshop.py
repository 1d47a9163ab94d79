"""Settings, people and meters: who may change what, and how it came about."""

import uuid

import pytest
from django.test import Client

from packs.terms import Role
from shop import models
from tests.factories import SettingsFactory
from tests.web.desk import errors, primary, send, sign_in, words

pytestmark = pytest.mark.django_db

SETTINGS, PEOPLE, METER = "/settings/", "/settings/people/", "/settings/meters/new/"


@pytest.fixture
def owner(client: Client) -> Client:
    SettingsFactory()
    sign_in(client, Role.OWNER)
    return client


def settings(**changes: str) -> dict[str, str]:
    given = {"name": "Lindenhof Cell Works", "address": "Mill Lane 4, Oberau", "emergency_number": "112"}
    given |= {"jurisdiction": "eu", "currency": "EUR", "time_zone": "UTC", "paper": "A4", "number_locale": "en"}
    return given | changes


def test_new_settings_count_and_the_old_ones_stay_below(owner: Client) -> None:
    token = str(uuid.uuid4())
    for _ in range(2):
        sent = send(owner, SETTINGS, form_token=token, **settings(emergency_number="911", paper="letter"))
        assert sent.url == SETTINGS
    assert models.WorkshopSettings.objects.count() == 2
    seen = words(owner.get(SETTINGS))
    assert "Emergency number: 911, was 112; Paper: Letter, was A4" in seen
    assert "The shop was opened" in seen
    assert "Emergency: 911" in seen


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"name": ""}, "name"),
        ({"currency": "euro"}, "currency"),
        ({"time_zone": "Oberau"}, "time_zone"),
        ({"number_locale": "xx-nowhere"}, "number_locale"),
        ({"jurisdiction": "moon"}, "jurisdiction"),
        ({"emergency_number": ""}, "emergency_number"),
        ({"paper": "A3"}, "paper"),
    ],
)
def test_a_setting_that_cannot_be_is_refused_beside_its_field(
    owner: Client, changes: dict[str, str], field: str
) -> None:
    answer = send(owner, SETTINGS, **settings(address="Kept Street 1", **changes))
    assert set(errors(answer)) == {field}
    assert "Kept Street 1" in answer.content.decode()
    assert models.WorkshopSettings.objects.count() == 1


def test_a_shop_in_the_union_is_not_asked_for_what_only_others_count(owner: Client) -> None:
    """Universal waste is a term of 40 CFR 273 in the United States; the Union's law knows none."""
    assert "Other universal waste" not in owner.get(SETTINGS).content.decode()
    send(owner, SETTINGS, **settings(jurisdiction="us"))
    assert "Other universal waste" in owner.get(SETTINGS).content.decode()
    send(owner, SETTINGS, **settings(jurisdiction="us", other_universal_waste_mg="40"))
    assert models.WorkshopSettings.objects.last().other_universal_waste_mg == 40_000_000  # type: ignore[union-attr]
    send(owner, SETTINGS, **settings(jurisdiction="us"))
    assert owner.get(SETTINGS).context["form"].initial["other_universal_waste_mg"] == "", "no zero in grams"


@pytest.mark.parametrize("role", [Role.COUNTER, Role.TECHNICIAN, Role.LEAD])
def test_others_read_the_settings_and_change_nothing(client: Client, role: Role) -> None:
    SettingsFactory()
    sign_in(client, role)
    answer = client.get(SETTINGS)
    assert "The owner changes these." in words(answer)
    assert "Lindenhof Cell Works" in words(answer)
    assert primary(answer) == []
    assert send(client, SETTINGS, **settings(name="Mine")).status_code == 403
    assert models.WorkshopSettings.objects.count() == 1
    assert client.get(PEOPLE).status_code == 403
    assert client.get(METER).status_code == (403 if role is Role.COUNTER else 200)
    assert ("Add a meter" in words(answer)) is (role is not Role.COUNTER)


def somebody(**changes: object) -> dict[str, object]:
    given = {"name": "Jon Adler", "username": "jon", "password": "quiet-lathe-42", "roles": ["technician", "lead"]}
    return given | changes


def test_somebody_new_can_sign_in_and_work(owner: Client) -> None:
    assert send(owner, PEOPLE, **somebody()).url == PEOPLE
    user = models.User.objects.get(username="jon")
    assert user.check_password("quiet-lathe-42")
    assert user.roles == {Role.TECHNICIAN, Role.LEAD}
    assert "Jon Adler jon technician, lead" in words(owner.get(PEOPLE))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"password": "12345"}, "password"),
        ({"password": "password1234"}, "password"),
        ({"roles": []}, "roles"),
        ({"roles": ["captain"]}, "roles"),
        ({"username": "owner"}, "username"),
        ({"username": "jon adler"}, "username"),
        ({"name": ""}, "name"),
    ],
)
def test_a_person_that_cannot_be_is_refused_beside_the_field(
    owner: Client, changes: dict[str, object], field: str
) -> None:
    answer = send(owner, PEOPLE, **somebody(**changes))
    assert set(errors(answer)) == {field}
    assert models.User.objects.count() == 1


def meter(**changes: str) -> dict[str, str]:
    return {"name": "Bench meter 1", "error_ppm": "0.5", "error_uv": "2", "calibrated_on": ""} | changes


def test_a_meter_is_known_by_how_far_it_may_be_off(owner: Client) -> None:
    assert send(owner, METER, **meter()).url == SETTINGS
    row = models.Instrument.objects.get()
    # 0.5 % is 5000 parts in a million, 2 mV are 2000 µV
    assert (row.error_ppm, row.error_uv) == (5000, 2000)
    seen = words(owner.get(SETTINGS)).replace("\u202f", " ")
    assert "Bench meter 1 off by at most 0.50 % of the reading and 2.0 mV" in seen


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"error_ppm": "a lot"}, "error_ppm"),
        ({"error_ppm": "5 mV"}, "error_ppm"),
        ({"error_uv": "2 A"}, "error_uv"),
        ({"error_uv": "-2"}, "error_uv"),
        ({"error_ppm": "-0.5"}, "error_ppm"),
        ({"name": ""}, "name"),
        ({"calibrated_on": "yesterday"}, "calibrated_on"),
    ],
)
def test_a_meter_that_cannot_be_is_refused_beside_its_field(owner: Client, changes: dict[str, str], field: str) -> None:
    answer = send(owner, METER, **meter(**changes))
    assert set(errors(answer)) == {field}
    assert not models.Instrument.objects.exists()


def test_a_meters_name_is_given_once(owner: Client) -> None:
    send(owner, METER, **meter())
    assert set(errors(send(owner, METER, **meter()))) == {"name"}
