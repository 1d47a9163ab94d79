"""How the tests of pages sit down at one: signed in, with a form token of their own."""

import re
import uuid
from decimal import Decimal
from html import unescape
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.utils.html import strip_tags

from packs.terms import Role, Stage
from shop import models
from tests import line
from tests.factories import UserFactory


def sign_in(client: Client, *roles: Role) -> models.User:
    """Sign somebody in who holds the roles."""
    user = UserFactory(username="-".join(role.value for role in roles), roles=roles)
    client.force_login(user)
    return user


def send(client: Client, to: str, /, **typed: Any) -> Any:
    """Send a form with a fresh token, or with the one given."""
    return client.post(to, {"form_token": str(uuid.uuid4())} | typed)


def words(answer: HttpResponse) -> str:
    """Return what a page says, spaces made plain."""
    text = unescape(re.sub(r"<[^>]+>", " ", answer.content.decode()))
    return re.sub(r"\s+", " ", text)


def primary(answer: HttpResponse) -> list[str]:
    """Return the words of every primary action on a page."""
    html = answer.content.decode()
    found = re.findall(r'<(?:a|button)[^>]*class="[^"]*\bprimary\b[^"]*"[^>]*>(.*?)</(?:a|button)>', html, re.DOTALL)
    return [unescape(strip_tags(text)).strip() for text in found]


def errors(answer: Any) -> dict[str, list[str]]:
    """Return what a form refused, by field."""
    return {name: list(messages) for name, messages in answer.context["form"].errors.items()}


def said(answer: Any) -> list[str]:
    """Return the messages that a page shows."""
    return [str(message) for message in answer.context["messages"]]


def at(job: models.Job, stage: Stage, more: str = "") -> str:
    """Return the address of a step."""
    return f"/jobs/{job.number}/steps/{stage.value}/{more}"


def stage_of(job: models.Job) -> str:
    """Return the stage a job is at by now."""
    return models.Job.objects.get(pk=job.pk).stage


def readings(job: models.Job, stage: Stage) -> dict[str, Decimal]:
    """Return what was recorded in a stage, by point."""
    return {row.point: row.value for row in models.Reading.objects.filter(job=job, stage=stage.value)}


def voltages(**changes: str) -> dict[str, str]:
    """Return the form of the rest voltages, every cell at 3.62 V."""
    return {f"v_{name.replace('.', '_')}": "3.62" for name in line.names()} | changes


def value(answer: Any, name: str) -> str:
    """Return what stands in a field of the page."""
    typed = re.search(r'value="([^"]*)"', _input(answer, name))
    return typed[1] if typed else ""


def ticked(answer: Any, name: str) -> bool:
    """Return whether a tick of the page is set."""
    return " checked" in _input(answer, name)


def _input(answer: Any, name: str) -> str:
    found = re.search(rf'<input[^>]*name="{name}"[^>]*>', answer.content.decode())
    assert found, f"there is no field {name}"
    return found[0]
