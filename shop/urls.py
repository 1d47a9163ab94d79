"""The root of the addresses: everything a person sees lives in `shop.web.urls`."""

from django.urls import include, path

urlpatterns = [path("", include("shop.web.urls"))]
