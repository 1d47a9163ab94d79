"""Frozen papers read again."""

from typing import Any

from packs.documents import Document, thaw
from packs.errors import ImpossibleValue
from shop.errors import ShopError


def thawed(content: dict[str, Any]) -> Document:
    """Return the paper with this content."""
    try:
        return thaw(content)
    except ImpossibleValue as error:
        raise ShopError("unreadable_content", "The content of this document cannot be read any more.") from error
