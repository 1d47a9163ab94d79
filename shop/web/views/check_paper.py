"""Checking a paper: for whoever holds one, signed in or not.

Only the holder of a paper knows its code of 60 bits or its bytes, so there is nothing to find by guessing and no need to
slow anybody down. What is told is which paper it is, when it was issued, and whether it still counts; never what it says.
"""

from django.http import HttpRequest, HttpResponse
from django.urls import path

from shop.bridge import outdated
from shop.errors import ShopError
from shop.models import IssuedDocument
from shop.selectors import papers
from shop.web.forms.papers import CodeForm, FileForm
from shop.web.http import show


def check_paper(request: HttpRequest) -> HttpResponse:
    """Say of a code, or of a file, whether it is a paper of this shop."""
    by_code = CodeForm(request.GET if "code" in request.GET else None)
    by_file = FileForm(request.POST or None, request.FILES or None) if request.method == "POST" else FileForm()
    asked, found = "", None
    if request.method == "POST":
        if by_file.is_valid():
            asked, found = "file", papers.by_file(by_file.cleaned_data["file"].chunks())
    elif by_code.is_bound and by_code.is_valid():
        asked, found = _by_code(by_code)
    return show(
        request,
        "check/page.html",
        by_code=by_code,
        by_file=by_file,
        asked=asked,
        found=found,
        behind=outdated.why(found) if found else "",
    )


def _by_code(form: CodeForm) -> tuple[str, IssuedDocument | None]:
    try:
        return "code", papers.by_code(form.cleaned_data["code"])
    except ShopError as error:
        form.refuse(error)
        return "", None


urlpatterns = [path("check/", check_paper, name="check_paper")]
