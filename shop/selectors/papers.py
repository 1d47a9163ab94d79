"""Whether a paper or a file is one that this shop issued, and whether it still counts."""

import hashlib
from collections.abc import Iterable

from packs.errors import ImpossibleValue
from shop.bridge.documents import hash_begins
from shop.errors import ShopError
from shop.models import DocumentQuerySet, IssuedDocument


def by_code(code: str) -> IssuedDocument | None:
    """Return the paper with a code, or None where the shop issued none.

    Raises
    ------
    ShopError
        ``no_code``: what was typed cannot be the code of a paper.
    """
    try:
        begins = hash_begins(code)
    except ImpossibleValue as error:
        raise ShopError("no_code", str(error), field="code") from error
    return _rows().filter(content_sha256__startswith=begins).first()


def by_file(chunks: Iterable[bytes]) -> IssuedDocument | None:
    """Return the paper that a file is, byte for byte, or None."""
    found = hashlib.sha256()
    for chunk in chunks:
        found.update(chunk)
    return _rows().filter(pdf_sha256=found.hexdigest()).first()


def _rows() -> DocumentQuerySet:
    return IssuedDocument.objects.select_related("voiding__replaced_by", "job").defer("content", "pdf").order_by("pk")
