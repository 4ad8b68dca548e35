"""Addresses of the settings."""

from django.urls import path

from farm.web.settings import views

urlpatterns = [
    path("settings/", views.settings, name="settings"),
    path("settings/language/", views.language, name="language"),
]
