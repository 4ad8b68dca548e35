"""Addresses of the pages about app passwords. What is below /dav/ the middleware answers, before any router."""

from django.urls import path

from calendars.dav import pages

urlpatterns = [
    path("calendars/task-apps/", pages.listing, name="dav-passwords"),
    path("calendars/task-apps/<int:pk>/off/", pages.off, name="dav-password-off"),
]
