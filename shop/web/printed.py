"""Issuing a paper from a page: number and content first, and only when they are safe the PDF."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from packs.terms import DocumentKind
from shop import printing
from shop.errors import ShopError
from shop.models import IssuedDocument, User
from shop.operations import documents as operations

from .http import attempt, person, say


def issue_and_print(request: HttpRequest, issue: Callable[[], IssuedDocument], *, back: str) -> HttpResponse:
    """Issue a paper, make its PDF, and lead to it."""
    issued: list[IssuedDocument] = []

    def do() -> str:
        issued.append(issue())
        return reverse("document", args=[issued[-1].code])

    answer = attempt(request, do, back=back)
    for row in issued:
        if print_document(request, row, person(request)):
            say(request, f"{DocumentKind(row.kind).label.capitalize()} {row.code} is issued.")
    return answer


def print_document(request: HttpRequest, row: IssuedDocument, by: User) -> bool:
    """Render and store the bytes, outside any transaction of issuing; say what is missing where that fails."""
    try:
        operations.keep_bytes(document=row, pdf=printing.pdf(row.content), by=by)
    except ShopError as error:
        messages.error(request, f"{row.code} is issued and keeps its number. {error.message}")
        return False
    return True
