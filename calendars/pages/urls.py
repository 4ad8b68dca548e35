"""Addresses of the pages about calendar links."""

from django.urls import path

from calendars.pages import views

urlpatterns = [
    path("calendars/", views.links, name="calendar-links"),
    path("calendars/<int:pk>/off/", views.revoke, name="calendar-link-off"),
]
