"""Issued papers: the list, one paper, its PDF, and issuing."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from packs.terms import DocumentKind
from shop import printing
from shop.bridge import outdated
from shop.bridge.documents import check_code
from shop.errors import ShopError
from shop.models import IssuedDocument
from shop.operations import documents as operations
from shop.operations.base import LEADS
from shop.selectors import sheet
from shop.web.http import page, person, say, show
from shop.web.jobs import get_job
from shop.web.printed import issue_and_print, print_document

SHOWN = ("job__device", "container", "consignment", "issued_by")
"""What a paper is shown with."""


@page()
def documents(request: HttpRequest) -> HttpResponse:
    """Every paper that was issued, the newest first."""
    kind = _kind(request.GET["kind"]) if request.GET.get("kind") else None
    rows = IssuedDocument.objects.select_related(*SHOWN, "voiding").defer("content", "pdf")
    if kind is not None:
        rows = rows.filter(kind=kind.value)
    found = Paginator(rows, 40).get_page(request.GET.get("page"))
    return show(request, "documents/list.html", page=found, documents=found, kind=kind, kinds=list(DocumentKind))


@page()
def document(request: HttpRequest, code: str) -> HttpResponse:
    """One paper as it was issued; where its PDF is missing, why, and another try."""
    row = get_document(code)
    if request.method == "POST":
        return _print_again(request, row)
    return show(
        request,
        "documents/document.html",
        document=row,
        paper=_paper(request, row),
        behind=outdated.why(row),
        check_code=check_code(row.content_sha256),
        anew=row.kind != DocumentKind.QUOTE and person(request).holds(*sheet.BENCH),
        may_void=person(request).holds(*LEADS),
    )


@page()
def document_pdf(_request: HttpRequest, code: str) -> HttpResponse:
    """Return the stored bytes, which are the document; without them lead to the page that says what is missing."""
    row = get_document(code)
    if row.pdf is None:
        return redirect("document", code=row.code)
    answer = HttpResponse(bytes(row.pdf), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{row.code}.pdf"'
    answer["ETag"] = f'"{row.pdf_sha256}"'
    return answer


@require_POST
@page(*sheet.EVERYONE)
def issue(request: HttpRequest, number: int, kind: str) -> HttpResponse:
    """Issue a paper: number and content first, and only when they are safe the PDF."""
    job, wanted = get_job(number), _kind(kind)
    return issue_and_print(
        request,
        lambda: operations.issue(job=job, kind=wanted, by=person(request)),
        back=reverse("job", args=[job.number]),
    )


def get_document(code: str) -> IssuedDocument:
    """Return the paper with this code, or answer 404."""
    rows = IssuedDocument.objects.select_related(*SHOWN, "voiding__replaced_by", "voiding__by").defer("pdf")
    return get_object_or_404(rows.coded(code))


def _paper(request: HttpRequest, row: IssuedDocument) -> str:
    try:
        return printing.page(row.content)
    except ShopError as error:
        messages.error(request, error.message)
        return ""


def _print_again(request: HttpRequest, row: IssuedDocument) -> HttpResponse:
    if print_document(request, row, person(request)):
        say(request, f"The PDF of {row.code} is made.")
    return redirect(_address(row))


def _kind(text: str) -> DocumentKind:
    try:
        return DocumentKind(text)
    except ValueError as error:
        raise Http404 from error


def _address(row: IssuedDocument) -> str:
    return reverse("document", args=[row.code])


urlpatterns = [
    path("documents/", documents, name="documents"),
    path("documents/<str:code>.pdf", document_pdf, name="document_pdf"),
    path("documents/<str:code>/", document, name="document"),
    path("jobs/<int:number>/issue/<str:kind>/", issue, name="issue"),
]
