"""A client for the API that sends a fresh key with every POST."""

import itertools
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from rest_framework.test import APIClient

from packs.terms import Role
from tests.factories import UserFactory
from tests.pictures import photograph

ROOT = "/api/v1/"


class Caller:
    """Somebody who talks JSON to the shop."""

    def __init__(self, client: APIClient) -> None:
        self.client = client
        self.keys = itertools.count(1)

    def post(self, path: str, body: Any, *, key: str | None = None, expect: int = 200) -> Any:
        answer = self.client.post(
            ROOT + path, body, format="json", headers={"Idempotency-Key": key or f"key-{next(self.keys)}"}
        )
        assert answer.status_code == expect, answer.content
        return answer.json()

    def photograph(self, job: str, shows: str) -> None:
        """Send a small photograph of a job, as a telephone does."""
        file = SimpleUploadedFile("IMG_1.jpg", photograph(), content_type="image/jpeg")
        answer = self.client.post(f"{ROOT}{job}photographs/", {"file": file, "shows": shows}, format="multipart")
        assert answer.status_code == 201, answer.content

    def get(self, path: str, *, expect: int = 200, **query: Any) -> Any:
        answer = self.client.get(ROOT + path, query)
        assert answer.status_code == expect, answer.content
        return answer.json()


@pytest.fixture
def caller(db: None) -> Caller:
    client = APIClient()
    client.force_login(UserFactory(username="technician", roles=(Role.TECHNICIAN, Role.LEAD)))
    return Caller(client)
