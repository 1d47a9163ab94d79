"""The root of the addresses: pages in `shop.web.urls`, the API in `shop.api.urls`."""

from django.urls import include, path

urlpatterns = [path("api/v1/", include("shop.api.urls")), path("", include("shop.web.urls"))]
