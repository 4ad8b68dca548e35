"""Addresses of the pages about calendar links."""

from django.urls import path

from calendars.pages import copies, views

urlpatterns = [
    path("calendars/", views.links, name="calendar-links"),
    path("calendars/copy/", copies.copy, name="calendar-copy"),
    path("calendars/<int:pk>/", views.page, name="calendar-link"),
    path("calendars/<int:pk>/event/", copies.event, name="calendar-link-event"),
    path("calendars/<int:pk>/new-address/", views.rotate, name="calendar-link-rotate"),
    path("calendars/<int:pk>/off/", views.revoke, name="calendar-link-off"),
]
