"""The root of the addresses: everything a person sees lives in `shop.web.urls`."""

from importlib.util import find_spec

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = []
if find_spec("shop.web") and find_spec("shop.web.urls"):
    urlpatterns.append(path("", include("shop.web.urls")))
