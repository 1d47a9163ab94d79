"""The description of the API as a page: the schema, drawn by files of our own without a line of script in the page."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe


@require_safe
@login_required
def docs(request: HttpRequest) -> HttpResponse:
    """Show what the API takes and answers."""
    return render(request, "api/docs.html")
