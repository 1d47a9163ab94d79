"""Addresses of the pages, gathered from the modules that answer them."""

from django.contrib.auth import views as auth_views
from django.urls import path

from shop.web.views import containers as waste
from shop.web.views import (
    documents,
    examine,
    hand_over,
    home,
    importing,
    match,
    removed,
    steps,
    stock,
    take_in,
    target,
    testers,
    workshop,
)

urlpatterns = [
    path("sign-in/", auth_views.LoginView.as_view(template_name="registration/sign_in.html"), name="sign_in"),
    path("sign-out/", auth_views.LogoutView.as_view(), name="sign_out"),
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
