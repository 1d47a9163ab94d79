"""Addresses of the pages, gathered from the modules that answer them."""

from shop.web.views import containers as waste
from shop.web.views import (
    documents,
    examine,
    hand_over,
    home,
    importing,
    match,
    removed,
    sign_in,
    steps,
    stock,
    take_in,
    target,
    testers,
    workshop,
)

urlpatterns = [
    *sign_in.urlpatterns,
    *take_in.urlpatterns,
    *home.urlpatterns,
    *examine.urlpatterns,
    *target.urlpatterns,
    *match.urlpatterns,
    *steps.urlpatterns,
    *removed.urlpatterns,
    *hand_over.urlpatterns,
    *stock.urlpatterns,
    *importing.urlpatterns,
    *waste.urlpatterns,
    *documents.urlpatterns,
    *workshop.urlpatterns,
    *testers.urlpatterns,
]
