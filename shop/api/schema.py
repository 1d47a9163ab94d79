"""What the description of the API says beyond what the views say by themselves."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter

from packs.terms import Chemistry, Condition, DangerLevel, DeviceClass, DocumentKind, JobKind, Owner, Wrap
from shop.models import CountBasis, IncidentKind, ItemKind

from .once import HEADER, LONGEST_KEY

OWNERS = [(term.value, term.label) for term in Owner]
DOCUMENT_KINDS = [(term.value, term.label) for term in DocumentKind]
JOB_KINDS = [(term.value, term.label) for term in JobKind]
COUNT_BASES = [(term.value, term.label) for term in CountBasis]
ITEM_KINDS = [(term.value, term.label) for term in ItemKind]
INCIDENT_KINDS = [(term.value, term.label) for term in IncidentKind]
CHEMISTRIES = [(term.value, term.label) for term in Chemistry]
CONDITIONS = [(term.value, term.label) for term in Condition]
DANGER_LEVELS = [(term.value, term.label) for term in DangerLevel]
DEVICE_CLASSES = [(term.value, term.label) for term in DeviceClass]
WRAPS = [(term.value, term.label) for term in Wrap]
"""Lists that several fields use under names of their own; the settings give each one name."""


class TesterScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # its base registers subclasses
    """How a tester shows its key."""

    target_class = "shop.api.auth.TesterAuthentication"
    name = "testerKey"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:
        """Return the header that a tester sends."""
        words = "The word Tester, a space, and the key that a lead issued: it posts readings and nothing else."
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": words}


class ShopSchema(AutoSchema):
    """Every POST names its idempotency key; a tester's key is named only where it opens the door."""

    def get_override_parameters(self) -> list[Any]:
        """Return the header of every POST."""
        if self.method != "POST":
            return []
        words = "The same key with the same content counts once and gets the first answer again."
        pattern = {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY, "pattern": "^[!-~]+$"}
        return [OpenApiParameter(HEADER, pattern, OpenApiParameter.HEADER, required=True, description=words)]

    def get_summary(self) -> str | None:
        """Return the first line of what an operation says of itself: it stands in the list of all operations."""
        return str(self.get_description() or "").strip().partition("\n")[0].removesuffix(".") or None

    def get_auth(self) -> list[dict[str, list[str]]]:
        """Return the ways in that this operation has."""
        ways: list[dict[str, list[str]]] = super().get_auth()
        if self.method == "POST" and getattr(self.view, "testers_may_post", False):
            return ways
        return [way for way in ways if TesterScheme.name not in way]
