"""Paged lists that can be narrowed, and single creations through an operation."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import generics, status
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response

from shop.errors import ShopError

from .once import answer_once


class Pages(PageNumberPagination):
    """Fifty rows a page, up to five hundred if asked."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 500


class Rows(generics.ListAPIView[Any]):
    """A list. ``filters`` maps a query parameter to the column it narrows; one nobody knows is refused."""

    filters: dict[str, str] = {}
    pagination_class = Pages
    _paging = ("page", "page_size")

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        """Narrow the rows by what the address asks for."""
        asked = self.request.query_params
        if unknown := sorted(set(asked) - set(self.filters) - set(self._paging)):
            raise ShopError("unknown_filter", f"There is no filter {', '.join(unknown)}.", known=sorted(self.filters))
        for name, column in self.filters.items():
            if name in asked:
                queryset = queryset.filter(**{column: _readable(name, asked[name])})
        return queryset


class RowsAndNew(Rows):
    """A list to which something can be added."""

    takes: type[Any]

    def post(self, request: Request) -> Response:
        """Take something new in."""
        given = self.takes(data=request.data)
        given.is_valid(raise_exception=True)
        return answer_once(request, lambda: (self.made(request, given.validated_data), status.HTTP_201_CREATED))

    def made(self, request: Request, values: dict[str, Any]) -> dict[str, Any]:
        """Run the operation and return what came of it as JSON."""
        raise TypeError(f"{type(self).__name__} does not say what it makes")


def _readable(name: str, value: str) -> str:
    numeric = name == "job"
    if "\x00" in value or (numeric and not (value.isascii() and value.isdigit() and len(value) < 10)):
        raise ShopError("bad_filter", f"The filter {name} cannot be read.", filter=name)
    return value
