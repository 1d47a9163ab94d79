"""A workshop that was opened today, in a real browser."""

from collections.abc import Generator
from typing import Any

import pytest

from shop.models import User
from shop.operations import workshop
from tests.journey.bench import Bench

PASSWORD = "a long passphrase for tests"


@pytest.fixture
def owner(committed_db: None) -> User:
    """Open the shop; its owner is the first person in it."""
    workshop.open_shop(
        owner_username="tilda",
        owner_password=PASSWORD,
        owner_name="Tilda",
        name="Lindenhof Cell Works",
        address="Mill Lane 4, Oberau",
        jurisdiction="eu",
        emergency_number="112",
    )
    return User.objects.get()


@pytest.fixture
def technician(owner: User) -> User:
    return workshop.add_person(
        username="nell", password=PASSWORD, name="Nell", roles=["counter", "technician"], by=owner
    )


@pytest.fixture
def bench(technician: User, live_server: Any, page: Any) -> Generator[Bench]:
    """A technician is signed in; whatever the browser complains about on the way fails the test at its end."""
    bench = Bench(page, live_server.url)
    bench.sign_in(technician.username, PASSWORD)
    yield bench
    assert bench.complaints == []
