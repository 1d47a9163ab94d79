"""Addresses of the pages, gathered from the modules that answer them."""

from shop.web.views import containers as waste
from shop.web.views import (
    documents,
    examine,
    hand_over,
    home,
    importing,
    layouts,
    match,
    removed,
    sign_in,
    steps,
    stock,
    take_in,
    target,
    target_load,
    tester_files,
    testers,
    workshop,
)

urlpatterns = [
    *sign_in.urlpatterns,
    *take_in.urlpatterns,
    *home.urlpatterns,
    *examine.urlpatterns,
    *target.urlpatterns,
    *target_load.urlpatterns,
    *match.urlpatterns,
    *steps.urlpatterns,
    *removed.urlpatterns,
    *hand_over.urlpatterns,
    *tester_files.urlpatterns,
    *layouts.urlpatterns,
    *stock.urlpatterns,
    *importing.urlpatterns,
    *waste.urlpatterns,
    *documents.urlpatterns,
    *workshop.urlpatterns,
    *testers.urlpatterns,
]
