"""The root of the addresses: pages in `shop.web.urls`, the API in `shop.api.urls`."""

from django.urls import include, path

urlpatterns = [path("api/v1/", include("shop.api.urls")), path("", include("shop.web.urls"))]

handler400 = "shop.doors.bad_request"
handler404 = "shop.doors.not_found"
handler500 = "shop.doors.server_error"
