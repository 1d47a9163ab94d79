"""Paged lists that can be narrowed, and single creations through an operation."""

from typing import Any

from django.db.models import QuerySet
from drf_spectacular.utils import OpenApiParameter
from rest_framework import generics, status
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from shop.errors import ShopError

from .given import read
from .once import answer_once
from .serializers.answers import Refusal

REFUSALS = dict.fromkeys((400, 401, 403, 404, 406, 409, 413, 415), Refusal)


def narrowed_by(*names: str) -> list[OpenApiParameter]:
    """Return the query parameters of a list as the schema tells them."""
    return [OpenApiParameter(name, int if name == "job" else str) for name in names]


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


class Made:
    """What is posted is read by ``takes``; ``made`` runs the operation, once for each idempotency key."""

    takes: type[Any]
    done: int = status.HTTP_201_CREATED

    def take(self, request: Request, **where: Any) -> Response:
        """Read what was sent, do it, and tell what came of it; ``where`` stands in the address."""
        values = read(self.takes, request.data)
        return answer_once(request, lambda: (self.made(request, values, **where), self.done))

    def made(self, request: Request, values: dict[str, Any], **where: Any) -> Any:
        """Run the operation and return what came of it as JSON."""
        raise TypeError(f"{type(self).__name__} does not say what it makes")


class RowsAndNew(Made, Rows):
    """A list to which something can be added."""


class New(Made, APIView):
    """An address that takes something in and lists nothing."""


def _readable(name: str, value: str) -> str:
    numeric = name == "job"
    if "\x00" in value or (numeric and not (value.isascii() and value.isdigit() and len(value) < 10)):
        raise ShopError("bad_filter", f"The filter {name} cannot be read.", filter=name)
    return value
